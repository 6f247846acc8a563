/** Propagation of distributions, conformity, and the tables of quantiles to ten digits. */
import { conformityProbability, guardBand } from "../math/conformity";
import { chiSquaredQuantile, fQuantile, normalQuantile, tQuantile } from "../math/distributions";
import { grubbsLimit } from "../math/outliers";
import { monteCarlo, propagate } from "../math/propagate";
import type { Random } from "../math/random";
import type { Check, Pair } from "./index";
import { computed, printed } from "./line-checks";

/** Within an absolute distance: Monte Carlo figures scatter. */
const near = (name: string, value: number, expected: number, by: number): Pair => ({
  name,
  value,
  expected,
  within: expected === 0 ? by : by / Math.abs(expected),
});

const trials = { most: 400_000, block: 20_000, digits: 3 };
const unitRectangular = (random: Random) => Math.sqrt(12) * (random.uniform() - 0.5);

function sumOfFour(id: string, title: string, where: string, one: (random: Random) => number, half: number): Check {
  return {
    id,
    title,
    source: `JCGM 101:2008, ${where}; exact end from SciPy 1.10`,
    run: () => {
      const r = monteCarlo((random) => one(random) + one(random) + one(random) + one(random), { seed: 4, ...trials });
      const law = propagate((x) => x.reduce((s, v) => s + v, 0), [0, 0, 0, 0], [1, 1, 1, 1]);
      return [
        near("mean", r.mean, 0, 0.02),
        near("standard uncertainty", r.standard, 2, 0.01),
        near("lower end, 95 %", r.lower, -half, 0.02),
        near("upper end, 95 %", r.upper, half, 0.02),
        computed("law of propagation", law.standard, 2, 1e-9),
        printed("its upper end", normalQuantile(0.975) * law.standard, 3.92, 2),
      ];
    },
  };
}

export const chanceChecks: Check[] = [
  sumOfFour("jcgm101-normal", "sum of four normal inputs", "9.2.2, table 2", (r) => r.normal(), 3.919927969),
  sumOfFour("jcgm101-rectangular", "sum of four rectangular inputs", "9.2.3, table 3", unitRectangular, 3.879406741),
  {
    id: "npl-log",
    title: "logarithm of a rectangular input: the shortest interval is not the one of equal tails",
    source: "NPL Report DEM-ES-011 (2006), table 9.2; exact ends from SciPy 1.10",
    run: () => {
      const r = monteCarlo((random) => Math.log(0.1 + random.uniform()), { seed: 4, ...trials });
      const law = propagate(([x]) => Math.log(x!), [0.6], [1 / Math.sqrt(12)]);
      return [
        printed("first order, y", law.value, -0.511, 3),
        printed("first order, u", law.standard, 0.481, 3),
        printed("first order, upper end", law.value + normalQuantile(0.975) * law.standard, 0.432, 3),
        near("mean", r.mean, -0.6649002929158383, 0.005),
        near("standard uncertainty", r.standard, 0.606226697429301, 0.005),
        near("shortest, lower", r.shortest.lower, -1.8971199848858813, 0.015),
        near("shortest, upper", r.shortest.upper, 0.09531017980432495, 0.001),
        near("equal tails, lower", r.lower, -2.0794415416798357, 0.01),
        near("equal tails, upper", r.upper, 0.07232066157962609, 0.003),
      ];
    },
  },
  {
    id: "jcgm106",
    title: "chance of conforming to one upper limit",
    source: "JCGM 106:2012, clause 7, breakdown voltage of a Zener diode (printed digits)",
    run: () => [
      printed("probability", conformityProbability(-5.47, 0.05, { upper: -5.4 }), 0.92, 2),
      computed("recomputed", conformityProbability(-5.47, 0.05, { upper: -5.4 }), 0.9192433407662289, 1e-12),
      computed("at the guard band", conformityProbability(-5.4 - guardBand(0.05, 0.95), 0.05, { upper: -5.4 }), 0.95),
    ],
  },
  {
    id: "quantiles-ten-digits",
    title: "quantiles of normal, t, chi-squared and F to eight digits",
    source: "NIST/SEMATECH e-Handbook 1.3.6.7; recomputed with SciPy 1.10 and mpmath",
    run: () => [
      ...each(normal, (p) => normalQuantile(Number(p))),
      ...each(t975, (f) => tQuantile(0.975, Number(f))),
      ...each(t95, (f) => tQuantile(0.95, Number(f))),
      ...each(t995, (f) => tQuantile(0.995, Number(f))),
      ...each(chi95, (f) => chiSquaredQuantile(0.95, Number(f))),
      ...each(chi05, (f) => chiSquaredQuantile(0.05, Number(f))),
      ...each(f95, (f) => fQuantile(0.95, Number(f.split(",")[0]), Number(f.split(",")[1]))),
    ],
  },
  {
    id: "grubbs-table-long",
    title: "critical values of the Grubbs statistic, every printed size",
    source: "Grubbs and Beck (1972) Technometrics 14, 847-854; recomputed from the t distribution",
    run: () => [
      // The t form is the first Bonferroni bound: above the printed figures by up to 0.0025 at 100 values.
      ...Object.entries(grubbsPrinted).map(([n, v]) =>
        near(`one-sided, n = ${n}`, grubbsLimit(Number(n), 0.05, 1), v, Number(n) <= 30 ? 0.0007 : 0.003),
      ),
      ...each(grubbsOneSided, (n) => grubbsLimit(Number(n), 0.05, 1)),
      ...each(grubbsTwoSided, (n) => grubbsLimit(Number(n), 0.05, 2)),
    ],
  },
];

function each(table: Record<string, number>, value: (key: string) => number): Pair[] {
  return Object.entries(table).map(([key, expected]) => computed(key, value(key), expected, 1e-8));
}

const normal: Record<string, number> = {
  "0.9": 1.281551565545,
  "0.95": 1.644853626951,
  "0.975": 1.95996398454,
  "0.99": 2.326347874041,
  "0.995": 2.575829303549,
  "0.999": 3.090232306168,
  "0.9999": 3.719016485456,
  "0.999999": 4.753424308817,
};
const t975: Record<string, number> = {
  "1": 12.7062047364,
  "2": 4.3026527299,
  "3": 3.1824463053,
  "4": 2.7764451052,
  "5": 2.5705818366,
  "6": 2.4469118488,
  "8": 2.306004135,
  "10": 2.228138852,
  "12": 2.1788128297,
  "15": 2.1314495456,
  "20": 2.0859634473,
  "30": 2.0422724563,
  "40": 2.021075383,
  "60": 2.0002978211,
  "120": 1.9799304051,
};
const t95: Record<string, number> = {
  "1": 6.3137515148,
  "2": 2.9199855804,
  "5": 2.0150483727,
  "10": 1.8124611228,
  "20": 1.7247182429,
  "30": 1.6972608944,
};
const t995: Record<string, number> = {
  "1": 63.6567411629,
  "2": 9.9248432009,
  "5": 4.0321429836,
  "10": 3.1692726672,
  "20": 2.8453397098,
  "30": 2.7499956536,
};
const chi95: Record<string, number> = {
  "1": 3.8414588207,
  "2": 5.9914645471,
  "3": 7.8147279033,
  "4": 9.4877290368,
  "5": 11.0704976935,
  "8": 15.5073130559,
  "10": 18.3070380533,
  "20": 31.4104328442,
  "30": 43.7729718257,
  "50": 67.5048065495,
  "100": 124.342113404,
};
const chi05: Record<string, number> = {
  "1": 0.00393214,
  "2": 0.1025865888,
  "5": 1.1454762261,
  "10": 3.9402991361,
  "30": 18.492660982,
  "100": 77.929465165,
};
const f95: Record<string, number> = {
  "1,10": 4.9646027437,
  "2,10": 4.1028210151,
  "3,20": 3.0983912121,
  "5,5": 5.0503290576,
  "10,10": 2.9782370161,
  "18,20": 2.1511244271,
  "1,120": 3.920124409,
};
const grubbsPrinted: Record<string, number> = {
  "3": 1.153,
  "4": 1.463,
  "5": 1.672,
  "6": 1.822,
  "7": 1.938,
  "8": 2.032,
  "9": 2.11,
  "10": 2.176,
  "15": 2.409,
  "20": 2.557,
  "25": 2.663,
  "30": 2.745,
  "50": 2.956,
  "100": 3.207,
};
const grubbsOneSided: Record<string, number> = {
  "3": 1.153118061423,
  "4": 1.46250000008,
  "5": 1.671385669491,
  "6": 1.822119642343,
  "7": 1.93813471626,
  "8": 2.03165200155,
  "9": 2.109561788614,
  "10": 2.176068394194,
  "15": 2.409038419954,
  "20": 2.556581334411,
  "25": 2.662873129492,
  "30": 2.745131724449,
  "50": 2.956974847149,
  "100": 3.209520308236,
};
const grubbsTwoSided: Record<string, number> = {
  "3": 1.154304851344,
  "4": 1.48125,
  "5": 1.715037312107,
  "6": 1.887145117792,
  "7": 2.019968507681,
  "8": 2.126645087196,
  "9": 2.215004223326,
  "10": 2.28995408448,
  "15": 2.548307768834,
  "20": 2.708245645436,
  "25": 2.821681237734,
  "30": 2.908473059723,
  "50": 3.128247334331,
  "100": 3.384082902288,
};
