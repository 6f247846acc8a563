/** Rows that stand out, neighbours that err alike, local lines, a broken line: against published values. */
import { fitPiecewise } from "../math/breakpoints";
import { durbinWatson, durbinWatsonBounds, durbinWatsonChance } from "../math/durbin-watson";
import { leastSquares } from "../math/least-squares";
import { loess, tricube } from "../math/loess";
import { rowDiagnostics } from "../math/standing-out";
import { hetzel } from "./data";
import { duncan, loessExample, plantRkw, wampler1, wampler3, wampler5 } from "./data-regression";
import type { Check, Pair } from "./index";
import { computed, printed } from "./line-checks";

const column = (rows: number[][], k: number) => rows.map((r) => r[k]!);

function wampler(number: 1 | 3 | 5, y: number[], errors: number[], sd: number): Check {
  return {
    id: `strd-wampler${number}`,
    title: `polynomial of degree 5, NIST StRD Wampler${number}`,
    source: `NIST Statistical Reference Datasets, Linear Regression, Wampler${number}`,
    run: () => {
      const x = y.map((_, i) => i);
      const fit = leastSquares(
        [0, 1, 2, 3, 4, 5].map((k) => x.map((v) => v ** k)),
        y,
      );
      return [
        ...fit.coefficients.map((v, k) => computed(`B${k}`, v, 1, 1e-12)),
        ...fit.standardErrors.map((v, k) => computed(`standard error of B${k}`, v, errors[k]!, 1e-12)),
        computed("residual sd", fit.residualSd, sd, 1e-12),
      ];
    },
  };
}

const errors3 = [
  2152.3262467817, 2363.55173469681, 779.343524331583, 101.47550755035, 5.64566512170752, 0.112324854679312,
];

export const fitChecks: Check[] = [
  wampler(1, wampler1, [0, 0, 0, 0, 0, 0], 0),
  wampler(3, wampler3, errors3, 2360.14502379268),
  wampler(
    5,
    wampler5,
    [21523262.467817, 23635517.3469681, 7793435.24331583, 1014755.0755035, 56456.6512170752, 1123.24854679312],
    23601450.2379268,
  ),
  {
    id: "duncan",
    title: "studentised residuals, leverage, Cook's distance and Bonferroni limit, 45 occupations",
    source: "Fox and Weisberg (2019), outlier test on Duncan (1961); recomputed with R 4.2",
    run: () => {
      const fit = leastSquares([duncan.map(() => 1), column(duncan, 0), column(duncan, 1)], column(duncan, 2));
      const d = rowDiagnostics(fit);
      const rows: [number, number, number, number][] = [
        [0, 0.303899943, 0.050928322, 0.001688452],
        [5, 3.134518584, 0.173058165, 0.56637974],
        [8, -2.397022399, 0.054393561, 0.098984564],
        [15, -1.704032416, 0.194541648, 0.223641222],
        [16, 2.043804636, 0.04325517, 0.058523458],
        [26, 0.808922055, 0.26908963, 0.080968075],
        [44, -0.475971707, 0.0705812, 0.005842395],
      ];
      return [
        { name: "row that stands out most", value: d.worst!.row, expected: 5, within: 0 },
        printed("its studentised residual", d.worst!.studentised, 3.134519, 6),
        printed("its p", d.worst!.p, 0.0031772, 7),
        printed("Bonferroni p", d.worst!.bonferroniP, 0.14297, 5),
        ...rows.flatMap(([i, t, h, c]): Pair[] => [
          printed(`studentised ${i}`, d.studentised[i]!, t, 9),
          printed(`leverage ${i}`, d.leverage[i]!, h, 9),
          printed(`Cook ${i}`, d.cooksDistance[i]!, c, 9),
        ]),
      ];
    },
  },
  {
    id: "durbin-watson-chance",
    title: "Durbin-Watson: exact chance, growth of money supply",
    source: "Hetzel (1981) in Krämer and Sonnberger (1986), p. 137; R lmtest",
    run: () => {
      const design = [hetzel.map(() => 1), column(hetzel, 1)];
      const fit = leastSquares(design, column(hetzel, 0));
      const d = durbinWatson(fit.residuals);
      const p = durbinWatsonChance(design, d);
      return [
        printed("statistic", d, 2.9046, 4),
        printed("chance of a smaller one", p, 0.9839, 4),
        computed("statistic recomputed", d, 2.904606519896275, 1e-12),
        computed("chance recomputed", p, 0.9838701951359432, 1e-8),
      ];
    },
  },
  {
    id: "durbin-watson-table",
    title: "Durbin-Watson bounds at 5 %",
    source: "Durbin and Watson (1951) Biometrika 38, 159-178; Savin and White (1977); recomputed by Imhof's integral",
    run: () =>
      (
        [
          [10, 1, 0.87913, 1.31971],
          [15, 1, 1.07696, 1.36055],
          [15, 2, 0.94554, 1.54318],
          [20, 1, 1.2015, 1.41073],
          [20, 2, 1.1004, 1.53668],
          [25, 1, 1.28791, 1.45372],
          [30, 1, 1.35204, 1.48936],
          [30, 2, 1.28374, 1.56661],
          [40, 1, 1.44214, 1.54436],
          [50, 1, 1.50345, 1.58486],
          [100, 1, 1.65404, 1.69439],
          [100, 5, 1.571, 1.78039],
        ] as const
      ).flatMap(([n, k, lower, upper]): Pair[] => {
        const bounds = durbinWatsonBounds(n, k);
        return [
          { name: `dL, n = ${n}, k = ${k}`, value: bounds.lower, expected: lower, within: 6e-6 },
          { name: `dU, n = ${n}, k = ${k}`, value: bounds.upper, expected: upper, within: 6e-6 },
        ];
      }),
  },
  {
    id: "loess",
    title: "local lines through seven points",
    source: "NIST/SEMATECH e-Handbook 4.1.4.4 (printed digits)",
    run: () => {
      const x = column(loessExample, 0);
      const y = column(loessExample, 1);
      const fitted = [
        20.59302, 107.1603, 139.7674, 174.263, 207.2334, 216.6616, 220.5445, 229.8607, 229.8347, 229.4301, 226.6045,
        220.3904, 172.348, 163.8417, 161.849, 160.3351, 160.192, 161.0556, 227.34, 227.8985, 231.5586,
      ];
      const reach = x[6]! - x[0]!;
      const weights = [1, 0.90334913, 0.75988974, 0.42621714, 0.08686171, 0.01072308, 0];
      return [
        // x is printed to seven digits, so the eighth of a weight is not told by it.
        ...weights.map((w, i) => printed(`weight ${i + 1}`, tricube((x[i]! - x[0]!) / reach), w, 7)),
        ...fitted.map((v, i) => printed(`fitted ${i + 1}`, loess(x, y, 7, x[i]!), v, i === 0 ? 5 : 4)),
      ];
    },
  },
  {
    id: "segmented-plant",
    title: "one breakpoint, growth of a plant organ",
    source: "Muggeo (2008) R News 8(1), 20-25; exhaustive search over data gaps (Hudson 1966)",
    run: () => {
      const x = column(plantRkw, 0);
      const fit = fitPiecewise(x, column(plantRkw, 1), 1)!;
      const [a, b, c] = fit.coefficients as [number, number, number];
      return [
        computed("breakpoint", fit.breakpoints[0]!.at, 469.1006201933517, (1e-6 * (750.2 - 141.6)) / 469.1),
        computed("its standard error", fit.breakpoints[0]!.standardError ?? Number.NaN, 13.614342627999108, 1e-3),
        computed("sum of squares", fit.sse, 0.04347075516383326, 1e-9),
        computed("intercept", a, -0.20886986687167874, 1e-4),
        computed("slope before", b, 0.00226190156999745, 1e-4),
        computed("slope after", b + c, 0.00038245963444038644, 1e-3),
      ];
    },
  },
];
