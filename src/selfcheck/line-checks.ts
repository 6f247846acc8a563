/** Lines with known, correlated, two-sided and unknown errors, and the way back from a reading, against published values. */
import { lackOfFit } from "../math/anova";
import { tQuantile } from "../math/distributions";
import { inverseLine } from "../math/inverse-line";
import { leastSquares } from "../math/least-squares";
import { fitBothAxes, fitLine, onLine, type StraightLine } from "../math/straight-line";
import { pontius } from "./data";
import { cadmium, massart } from "./data-regression";
import type { Check, Pair } from "./index";

const column = (rows: number[][], k: number) => rows.map((r) => r[k]!);
/** Within half a unit of the last printed digit. */
export const printed = (name: string, value: number, expected: number, decimals: number): Pair => ({
  name,
  value,
  expected,
  within: expected === 0 ? 0.5 * 10 ** -decimals : (0.5000001 * 10 ** -decimals) / Math.abs(expected),
});
/** To the ten or so digits of an independent recomputation. */
export const computed = (name: string, value: number, expected: number, within = 1e-9): Pair => ({
  name,
  value,
  expected,
  within,
});

function ofLine(line: StraightLine, figures: Record<string, number>): Pair[] {
  const has: Record<string, number> = {
    a: line.intercept,
    b: line.slope,
    "u(a)": Math.sqrt(line.interceptVariance),
    "u(b)": Math.sqrt(line.slopeVariance),
    "cov(a, b)": line.covariance,
    "chi-squared": line.chiSquared ?? Number.NaN,
    s: line.residualSd ?? Number.NaN,
  };
  return Object.entries(figures).map(([name, expected]) => computed(`${name} recomputed`, has[name]!, expected));
}

const ten = Array.from({ length: 10 }, (_, i) => i + 1);
/** Two groups of five; each shares an error. */
const grouped = ten.map((_, i) =>
  ten.map((__, j) => (i < 5 !== j < 5 ? 0 : i === j ? (i < 5 ? 2 : 5) : i < 5 ? 1 : 4)),
);

export const lineChecks: Check[] = [
  {
    id: "iso28037-6-line",
    title: "line with equal known uncertainties, forward and inverse",
    source: "ISO/TS 28037:2010, clause 6.3; recomputed with SciPy 1.10",
    run: () => {
      const line = fitLine([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], {
        known: "each",
        standard: Array(6).fill(0.5) as number[],
      });
      const back = inverseLine(line, 10.5, 0.5, 1.96);
      const ahead = onLine(line, 3.5);
      return [
        ...ofLine(line, {
          a: 1.86666666667,
          b: 1.75714285714,
          "u(a)": 0.465474668126,
          "u(b)": 0.119522860933,
          "chi-squared": 1.66476190476,
        }),
        printed("x at y = 10.5", back.x!, 4.913, 3),
        printed("its uncertainty", back.standard!, 0.322, 3),
        computed("y at x = 3.5", ahead.value, 8.01666666666666),
        computed("its uncertainty", Math.hypot(ahead.standard, 0.2 * line.slope), 0.40640953173245453),
      ];
    },
  },
  {
    id: "iso28037-7",
    title: "line with uncertainties in both axes",
    source: "ISO/TS 28037:2010, clause 7.4 (printed digits); recomputed with SciPy 1.10",
    run: () => {
      const line = fitBothAxes([1.2, 1.9, 2.9, 4.0, 4.7, 5.9], [3.4, 4.4, 7.2, 8.5, 10.8, 13.5], {
        known: "each",
        x: Array(6).fill(0.2) as number[],
        y: [0.2, 0.2, 0.2, 0.4, 0.4, 0.4],
      });
      return [
        printed("a", line.intercept, 0.5788, 4),
        printed("b", line.slope, 2.1597, 4),
        printed("u(a)", Math.sqrt(line.interceptVariance), 0.4764, 4),
        printed("u(b)", Math.sqrt(line.slopeVariance), 0.1355, 4),
        printed("cov(a, b)", line.covariance, -0.0577, 4),
        printed("chi-squared", line.chiSquared!, 2.743, 3),
        ...ofLine(line, {
          a: 0.578822122149,
          b: 2.1596565674,
          "u(a)": 0.476420629622,
          "u(b)": 0.135547927468,
          "cov(a, b)": -0.0577169390985,
          "chi-squared": 2.74267678973,
        }),
      ];
    },
  },
  {
    id: "iso28037-9",
    title: "line with correlated y",
    source: "ISO/TS 28037:2010, clause 9 (printed digits); recomputed with SciPy 1.10",
    run: () => {
      const line = fitLine(ten, [1.3, 4.1, 6.9, 7.5, 10.2, 12.0, 14.5, 17.1, 19.5, 21.0], {
        known: "all",
        covariance: grouped,
      });
      return [
        printed("a", line.intercept, -0.6456, 4),
        printed("b", line.slope, 2.2014, 4),
        printed("u(a)", Math.sqrt(line.interceptVariance), 1.2726, 4),
        printed("u(b)", Math.sqrt(line.slopeVariance), 0.2015, 4),
        printed("chi-squared", line.chiSquared!, 2.07395, 5),
        { name: "degrees of freedom", value: line.freedom, expected: 8, within: 0 },
        ...ofLine(line, {
          a: -0.645563909774,
          b: 2.20135338346,
          "u(a)": 1.27261497405,
          "u(b)": 0.201498148278,
          "cov(a, b)": -0.166917293233,
          "chi-squared": 2.07395488722,
        }),
      ];
    },
  },
  {
    id: "iso28037-e",
    title: "line with unknown equal uncertainty",
    source: "ISO/TS 28037:2010, Annex E (printed digits, before its factor); recomputed with SciPy 1.10",
    run: () => {
      const line = fitLine([1, 2, 3, 4, 5, 6], [3.014, 5.225, 7.004, 9.061, 11.201, 12.762]);
      const back = inverseLine(line, 10.5, line.residualSd!, 1.96);
      return [
        printed("a", line.intercept, 1.172, 3),
        printed("b", line.slope, 1.964, 3),
        printed("u(a)", Math.sqrt(line.interceptVariance), 0.159, 3),
        printed("u(b)", Math.sqrt(line.slopeVariance), 0.041, 3),
        printed("cov(a, b)", line.covariance, -0.006, 3),
        ...ofLine(line, {
          a: 1.172,
          b: 1.96357142857,
          "u(a)": 0.158875093196,
          "u(b)": 0.0407953578792,
          "cov(a, b)": -0.00582491428571,
          s: 0.170659226028,
        }),
        computed("x at y = 10.5", back.x!, 4.75052746453),
        computed("its uncertainty", back.standard!, 0.0974053216108),
      ];
    },
  },
  {
    id: "eurachem-a5",
    title: "calibration line and the concentration of a sample, cadmium",
    source: "EURACHEM/CITAC Guide CG 4 (2012), example A5 (printed digits); recomputed with SciPy 1.10",
    run: () => {
      const line = fitLine(column(cadmium, 0), column(cadmium, 1));
      const back = inverseLine(line, (0.0712 + 0.0716) / 2, line.residualSd! / Math.SQRT2, tQuantile(0.975, 13));
      return [
        printed("intercept", line.intercept, 0.0087, 4),
        printed("its uncertainty", Math.sqrt(line.interceptVariance), 0.0029, 4),
        printed("slope", line.slope, 0.241, 4),
        printed("its uncertainty", Math.sqrt(line.slopeVariance), 0.005, 4),
        printed("residual sd", line.residualSd!, 0.005486, 6),
        printed("concentration", back.x!, 0.26, 3),
        printed("its uncertainty", back.standard!, 0.018, 3),
        computed("concentration recomputed", back.x!, 0.260165975104),
        computed("its uncertainty recomputed", back.standard!, 0.0178446111256),
      ];
    },
  },
  {
    id: "massart-inverse",
    title: "x from y with Wald and Fieller limits",
    source: "Massart et al. (1997), chapter 8, p. 175; R chemCal 0.2.3; Fieller limits recomputed with SciPy 1.10",
    run: () => {
      const line = fitLine(column(massart, 0), column(massart, 1));
      const t = tQuantile(0.975, line.freedom);
      return (
        [
          [15, 1, 6.09381, 1.767278, 4.906751, 0.966872479438, 10.8374358738],
          [90, 1, 43.93983, 1.767747, 4.908053, 39.1952254123, 49.0684300986],
          [90, 5, 43.93983, 1.141204, 3.168489, null, null],
        ] as const
      ).flatMap(([y, of, x, standard, half, lower, upper]): Pair[] => {
        const back = inverseLine(line, y, line.residualSd! / Math.sqrt(of), t);
        const set = back.agreeing;
        return [
          printed(`x at ${y}, mean of ${of}`, back.x!, x, 5),
          printed("its uncertainty", back.standard!, standard, 6),
          printed("half-width", t * back.standard!, half, 6),
          ...(lower === null
            ? []
            : [
                computed("g", back.g, 0.0100354719703),
                computed("Fieller, lower", set.kind === "between" ? set.lower : Number.NaN, lower),
                computed("Fieller, upper", set.kind === "between" ? set.upper : Number.NaN, upper),
              ]),
        ];
      });
    },
  },
  {
    id: "load-cell",
    title: "lack of fit of a line and of a parabola, load cell",
    source: "NIST/SEMATECH e-Handbook 4.6.1 and 4.5.2 (printed digits); recomputed with 50 digits",
    run: () => {
      const load = column(pontius, 1);
      const y = column(pontius, 0);
      const ones = load.map(() => 1);
      const line = leastSquares([ones, load], y);
      const parabola = leastSquares([ones, load, load.map((v) => v * v)], y);
      const [a, b, c] = parabola.coefficients as [number, number, number];
      const at = (2 * (a - 1.239722)) / (-b - Math.sqrt(b * b - 4 * c * (a - 1.239722)));
      const first = lackOfFit(load, y, line.residuals, 2)!;
      const second = lackOfFit(load, y, parabola.residuals, 3)!;
      return [
        printed("intercept", line.coefficients[0]!, 0.00615, 5),
        printed("its uncertainty", line.standardErrors[0]!, 0.0007132, 7),
        printed("slope", line.coefficients[1]!, 7.221e-7, 10),
        printed("its uncertainty", line.standardErrors[1]!, 3.969e-10, 13),
        printed("F of the line", first.f, 214.75, 2),
        computed("F of the line recomputed", first.f, 214.74692365390877),
        { name: "its degrees of freedom", value: first.freedom[0], expected: 18, within: 0 },
        { name: "of the replicates", value: first.freedom[1], expected: 20, within: 0 },
        printed("F of the parabola", second.f, 0.8107, 4),
        computed("F of the parabola recomputed", second.f, 0.8107239003096023),
        computed("its p", second.p, 0.666172944808458),
        printed("load at 1.239722", at, 1705106, 0),
        computed("load recomputed", at, 1705105.5688517254),
      ];
    },
  },
];
