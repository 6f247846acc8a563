/** Samples and groups: mean, spread, lag correlation, analysis of variance, change of level, Allan deviation. */
import {
  allanDeviation,
  averages,
  modifiedAllanDeviation,
  overlappingAllanDeviation,
  timeDeviation,
} from "../math/allan";
import { groupOf, oneWay } from "../math/anova";
import { lowPass, whiteNoiseAfter } from "../math/filter";
import { levelShifts, shiftInterval } from "../math/level-shift";
import { lagCorrelation, momentsOf } from "../math/moments";
import { ewmaExample, gumH5, lew, mavro, nile, nineFrequencies, siRstv } from "./data-series";
import type { Check, Pair } from "./index";
import { computed, printed } from "./line-checks";

const strdSource = (kind: string, set: string) => `NIST Statistical Reference Datasets, ${kind}, ${set}`;

function univariate(set: string, values: number[], mean: number, sd: number, r1: number, within: number): Check {
  return {
    id: `strd-${set.toLowerCase()}`,
    title: `mean, standard deviation and lag correlation, NIST StRD ${set}`,
    source: strdSource("Univariate Summary Statistics", set),
    run: () => {
      const m = momentsOf(values);
      return [
        computed("mean", m.mean, mean, 1e-15),
        computed("standard deviation", m.sd, sd, within),
        computed("lag-1 correlation", lagCorrelation(values, 1), r1, within),
      ];
    },
  };
}

/** The set's own rule: 1.2, then 1.1 and 1.3 in turn five hundred times, on an offset. */
const turns = (offset: number) => [
  offset + 1.2,
  ...Array.from({ length: 1000 }, (_, i) => offset + (i % 2 ? 1.3 : 1.1)),
];
/** Nine groups of 21: each a middle, then a tenth below and above it in turn; on an offset, written with one decimal. */
const simonLesage = (offset: number) =>
  [1.4, 1.3, 1.5, 1.3, 1.5, 1.3, 1.5, 1.3, 1.5].map((middle) =>
    Array.from({ length: 21 }, (_, i) => Number((offset + middle + (i === 0 ? 0 : i % 2 ? -0.1 : 0.1)).toFixed(1))),
  );

function anova(
  set: string,
  groups: number[][],
  [between, within, f, r2, sd]: [number, number, number, number, number],
  near: number,
): Check {
  return {
    id: `strd-${set.toLowerCase()}`,
    title: `one-way analysis of variance, NIST StRD ${set}`,
    source: strdSource("Analysis of Variance", set),
    run: () => {
      const a = oneWay(groups.map(groupOf));
      return [
        { name: "degrees between", value: a.between.freedom, expected: groups.length - 1, within: 0 },
        { name: "degrees within", value: a.within.freedom, expected: groups.flat().length - groups.length, within: 0 },
        computed("squares between", a.between.squares, between, near),
        computed("squares within", a.within.squares, within, near),
        computed("F", a.f!, f, near),
        computed("R-squared", a.rSquared, r2, near),
        computed("repeatability", a.repeatability, sd, near),
      ];
    },
  };
}

export const sampleChecks: Check[] = [
  univariate("Lew", lew, -177.435, 277.332168044316, -0.307304800605679, 1e-14),
  univariate("Mavro", mavro, 2.001856, 0.000429123454003053, 0.937989183438248, 2e-13),
  univariate("NumAcc1", [10000001, 10000003, 10000002], 10000002, 1, -0.5, 1e-15),
  univariate("NumAcc2", turns(0), 1.2, 0.1, -0.999, 1e-14),
  // A tenth on a million is stored to nine digits: no method has more.
  univariate(
    "NumAcc3",
    turns(999999).map((v) => Number(v.toFixed(1))),
    1000000.2,
    0.1,
    -0.999,
    1e-9,
  ),
  anova("SiRstv", siRstv, [0.0511462616, 0.21663656, 1.18046237440255, 0.190999039051129, 0.104076068334656], 1e-11),
  anova("SmLs01", simonLesage(0), [1.68, 1.8, 21, 0.482758620689655, 0.1], 1e-13),
  // The same on a million: a tenth is stored to nine digits there.
  anova("SmLs04", simonLesage(1e6), [1.68, 1.8, 21, 0.482758620689655, 0.1], 1e-8),
  {
    id: "gum-h5",
    title: "spread between and within days, GUM H.5",
    source: "JCGM 100:2008, Annex H.5 (printed digits); recomputed with SciPy 1.10 from the group figures",
    run: () => {
      const groups = gumH5.map(([mean, sd]) => ({ n: 5, mean: mean!, sd: sd! }));
      const a = oneWay(groups);
      const sdOfMeans = momentsOf(groups.map((g) => g.mean)).sd;
      return [
        printed("mean", a.mean, 10.000097, 6),
        printed("sd of the daily means", sdOfMeans, 57e-6, 6),
        printed("pooled sd within days", a.repeatability, 85e-6, 6),
        // The guide forms F from the two rounded figures above.
        printed("F from rounded figures", (5 * 57 ** 2) / 85 ** 2, 2.25, 2),
        computed("sd of the daily means recomputed", sdOfMeans, 5.708950088365963e-5, 1e-8),
        computed("pooled sd recomputed", a.repeatability, 8.488698369008054e-5, 1e-12),
        computed("F recomputed", a.f!, 2.2615192699945696, 1e-8),
        computed("p recomputed", a.p!, 0.037396825143055215, 1e-7),
        { name: "degrees between", value: a.between.freedom, expected: 9, within: 0 },
        { name: "degrees within", value: a.within.freedom, expected: 40, within: 0 },
      ];
    },
  },
  {
    id: "nile",
    title: "one change of level in the annual flow of the Nile, after 1898",
    source: "Cobb (1978) Biometrika 65, 243-251; Zeileis et al. (2002) J. Stat. Software 7(2)",
    run: () => {
      const found = levelShifts(nile, 5, 15);
      const end = found.byCount[1]!.ends[0]!;
      const interval = shiftInterval(nile, end)!;
      const mean = (part: number[]) => momentsOf(part).mean;
      return [
        { name: "number of changes", value: found.chosen, expected: 1, within: 0 },
        { name: "last year before it", value: 1871 + end, expected: 1898, within: 0 },
        { name: "interval of that year, from", value: 1871 + interval.lower, expected: 1895, within: 0 },
        { name: "to", value: 1871 + interval.upper, expected: 1902, within: 0 },
        computed("mean before", mean(nile.slice(0, end + 1)), 1097.75, 1e-12),
        computed("mean after", mean(nile.slice(end + 1)), 849.9722222222222, 1e-12),
        ...[2835157, 1597457, 1552924, 1538097, 1507888, 1659994].map((expected, k) =>
          printed(`sum of squares, ${k} changes`, found.byCount[k]!.squares, expected, 0),
        ),
        ...[1318, 1270, 1276, 1285, 1292, 1311].map((expected, k) =>
          printed(`BIC, ${k} changes`, found.byCount[k]!.bic, expected, 0),
        ),
      ];
    },
  },
  {
    id: "allan-9",
    title: "Allan deviations of nine frequencies",
    source: "NIST Special Publication 1065 (2008), p. 107 (printed digits)",
    run: () =>
      (
        [
          [1, 91.22945, 91.22945, 91.22945, 52.67135, 100.977],
          [2, 115.8082, 85.95287, 74.78849, 86.35831, 102.6039],
        ] as const
      ).flatMap(([m, plain, overlapping, modified, time, sd]): Pair[] => [
        computed(`Allan, ${m}`, allanDeviation(nineFrequencies, m), plain, 1e-7),
        computed(`overlapping, ${m}`, overlappingAllanDeviation(nineFrequencies, m), overlapping, 1e-7),
        computed(`modified, ${m}`, modifiedAllanDeviation(nineFrequencies, m), modified, 1e-7),
        computed(`time deviation, ${m}`, timeDeviation(nineFrequencies, m, 1), time, 1e-7),
        computed(`standard deviation, ${m}`, momentsOf(averages(nineFrequencies, m)).sd, sd, 1e-6),
      ]),
  },
  {
    id: "ewma",
    title: "exponentially weighted moving average and its limits",
    source: "NIST/SEMATECH e-Handbook 6.3.2.4 (printed digits); recomputed with NumPy",
    run: () => {
      const smooth = lowPass(Float64Array.from([50, ...ewmaExample]), 0.3).subarray(1);
      const reach = 3 * 2.0539 * whiteNoiseAfter(0.3);
      const printedValues = [
        50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
        50.73, 51.23, 51.94, 51.99,
      ];
      return [
        ...printedValues.map((expected, i) => printed(`value ${i + 1}`, smooth[i]!, expected, 2)),
        computed("last value recomputed", smooth[19]!, 51.988243258645, 1e-13),
        printed("upper limit", 50 + reach, 52.5884, 4),
        // The handbook cuts the lower limit off instead of rounding it: 47.4115.
        computed("lower limit recomputed", 50 - reach, 47.411568261873384, 1e-12),
      ];
    },
  },
];
