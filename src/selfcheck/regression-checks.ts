/** Straight lines, polynomials and breakpoints against published values. */
import { fitPiecewise } from "../math/breakpoints";
import { durbinWatson } from "../math/durbin-watson";
import { leastSquares } from "../math/least-squares";
import { hetzel, longley, noInt1, norris, pontius, stagnant, thermometer, twoBreaks } from "./data";
import type { Check, Pair } from "./index";

const column = (rows: number[][], k: number) => rows.map((r) => r[k]!);
const ones = (rows: number[][]) => rows.map(() => 1);

function strd(
  title: string,
  columns: number[][],
  y: number[],
  coefficients: number[],
  errors: number[],
  sd: number,
): Check {
  return {
    id: `strd-${title.toLowerCase()}`,
    title: `least squares, NIST StRD ${title}`,
    source: `NIST Statistical Reference Datasets, Linear Regression, ${title}`,
    run: () => {
      const fit = leastSquares(columns, y);
      // Nine digits of coefficients and eight of their errors, as the sets suggest.
      return [
        ...coefficients.map(
          (expected, i): Pair => ({ name: `B${i}`, value: fit.coefficients[i]!, expected, within: 1e-9 }),
        ),
        ...errors.map(
          (expected, i): Pair => ({
            name: `standard error of B${i}`,
            value: fit.standardErrors[i]!,
            expected,
            within: 1e-8,
          }),
        ),
        { name: "residual sd", value: fit.residualSd, expected: sd, within: 1e-8 },
      ];
    },
  };
}

function segmented(
  id: string,
  title: string,
  source: string,
  rows: number[][],
  k: number,
  at: number[],
  errors: number[],
  sse: number,
): Check {
  return {
    id,
    title,
    source,
    run: () => {
      const fit = fitPiecewise(column(rows, 0), column(rows, 1), k);
      if (!fit) return [{ name: "fit", value: Number.NaN, expected: 1, within: 0 }];
      const x = column(rows, 0);
      const range = Math.max(...x) - Math.min(...x);
      return [
        ...at.map(
          (expected, i): Pair => ({
            name: `breakpoint ${i + 1}`,
            value: fit.breakpoints[i]!.at,
            expected,
            within: (1e-4 * range) / Math.abs(expected),
          }),
        ),
        ...errors.map(
          (expected, i): Pair => ({
            name: `its standard error ${i + 1}`,
            value: fit.breakpoints[i]!.standardError ?? Number.NaN,
            expected,
            within: 1e-3,
          }),
        ),
        { name: "sum of squares", value: fit.sse, expected: sse, within: 1e-6 },
      ];
    },
  };
}

export const regressionChecks: Check[] = [
  strd(
    "Norris",
    [ones(norris), column(norris, 1)],
    column(norris, 0),
    [-0.262323073774029, 1.00211681802045],
    [0.232818234301152, 0.000429796848199937],
    0.884796396144373,
  ),
  strd(
    "Pontius",
    [ones(pontius), column(pontius, 1), column(pontius, 1).map((v) => v * v)],
    column(pontius, 0),
    [0.000673565789473684, 7.32059160401003e-7, -3.16081871345029e-15],
    [0.000107938612033077, 1.57817399981659e-10, 4.86652849992036e-17],
    0.000205177424076185,
  ),
  strd("NoInt1", [column(noInt1, 1)], column(noInt1, 0), [2.07438016528926], [0.0165289256198347], 3.56753034006338),
  strd(
    "Longley",
    [ones(longley), ...[1, 2, 3, 4, 5, 6].map((k) => column(longley, k))],
    column(longley, 0),
    [
      -3482258.63459582, 15.0618722713733, -0.035819179292591, -2.02022980381683, -1.03322686717359,
      -0.0511041056535807, 1829.15146461355,
    ],
    [
      890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.22607320006937,
      455.478499142212,
    ],
    304.854073561965,
  ),
  {
    id: "iso28037-6",
    title: "line with equal known uncertainties, ISO/TS 28037 clause 6",
    source: "ISO/TS 28037:2010, clause 6.3 (printed digits)",
    run: () => {
      const x = [1, 2, 3, 4, 5, 6];
      const y = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1];
      const fit = leastSquares(
        [x.map(() => 1), x],
        y,
        x.map(() => 0.5),
      );
      const [a, b] = fit.coefficients as [number, number];
      const chi2 = fit.residuals.reduce((s, r) => s + (r / 0.5) ** 2, 0);
      const inverse = (10.5 - a) / b;
      const u =
        Math.sqrt(
          0.25 + fit.covariance[0]![0]! + inverse ** 2 * fit.covariance[1]![1]! + 2 * inverse * fit.covariance[0]![1]!,
        ) / b;
      return [
        { name: "a", value: a, expected: 1.867, within: 3e-4 },
        { name: "b", value: b, expected: 1.757, within: 3e-4 },
        { name: "u(a)", value: fit.standardErrors[0]!, expected: 0.465, within: 1.2e-3 },
        { name: "u(b)", value: fit.standardErrors[1]!, expected: 0.12, within: 4.2e-3 },
        { name: "cov(a, b)", value: fit.covariance[0]![1]!, expected: -0.05, within: 1e-9 },
        { name: "chi-squared", value: chi2, expected: 1.665, within: 3e-4 },
        { name: "x at y = 10.5", value: inverse, expected: 4.913, within: 1.1e-4 },
        { name: "its uncertainty", value: u, expected: 0.322, within: 1.6e-3 },
      ];
    },
  },
  {
    id: "gum-h3",
    title: "calibration line of a thermometer, GUM H.3",
    source: "JCGM 100:2008, Annex H.3 (printed digits)",
    run: () => {
      const t = column(thermometer, 0).map((v) => v - 20);
      const fit = leastSquares([t.map(() => 1), t], column(thermometer, 1));
      const c = fit.covariance;
      const predicted = fit.coefficients[0]! + 10 * fit.coefficients[1]!;
      const u = Math.sqrt(c[0]![0]! + 100 * c[1]![1]! + 20 * c[0]![1]!);
      return [
        { name: "y1", value: fit.coefficients[0]!, expected: -0.1712, within: 3e-4 },
        { name: "u(y1)", value: fit.standardErrors[0]!, expected: 0.0029, within: 0.018 },
        { name: "y2", value: fit.coefficients[1]!, expected: 0.00218, within: 2.3e-3 },
        { name: "u(y2)", value: fit.standardErrors[1]!, expected: 0.00067, within: 7.5e-3 },
        { name: "r", value: c[0]![1]! / Math.sqrt(c[0]![0]! * c[1]![1]!), expected: -0.93, within: 5.4e-3 },
        { name: "s", value: fit.residualSd, expected: 0.0035, within: 0.015 },
        { name: "correction at 30", value: predicted, expected: -0.1494, within: 4e-4 },
        { name: "its uncertainty", value: u, expected: 0.0041, within: 0.013 },
      ];
    },
  },
  {
    id: "durbin-watson-hetzel",
    title: "Durbin-Watson statistic, growth of money supply",
    source: "Hetzel (1981) in Krämer and Sonnberger (1986)",
    run: () => {
      const fit = leastSquares([ones(hetzel), column(hetzel, 1)], column(hetzel, 0));
      return [
        { name: "intercept", value: fit.coefficients[0]!, expected: 0.007322, within: 1e-4 },
        { name: "slope", value: fit.coefficients[1]!, expected: 0.324858, within: 2e-6 },
        { name: "Durbin-Watson", value: durbinWatson(fit.residuals), expected: 2.9046, within: 2e-5 },
      ];
    },
  },
  segmented(
    "segmented-stagnant",
    "one breakpoint, stagnant band heights",
    "Bacon and Watts (1971) Biometrika 58, 525-534; R segmented 1.6-2",
    stagnant,
    1,
    [0.03591199563],
    [0.021886058],
    0.0093813626976197,
  ),
  segmented(
    "segmented-two-breaks",
    "two breakpoints, least possible sum of squares",
    "R segmented 1.6-2 and exhaustive search over data gaps (Hudson 1966)",
    twoBreaks,
    2,
    [1.079887408, 1.900501876],
    [0.058292111, 0.038924067],
    5.3117899749253,
  ),
];
