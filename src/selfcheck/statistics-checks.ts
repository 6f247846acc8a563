/** Outlier tests and distribution tables against published values. */
import { chiSquaredQuantile, fQuantile, normalQuantile, tQuantile } from "../math/distributions";
import { generalisedEsd, grubbsLimit, largestDeviate } from "../math/outliers";
import { effectiveSamples } from "../math/plateaus";
import { rosner, spectrometer } from "./data";
import type { Check, Pair } from "./index";

export const outlierChecks: Check[] = [
  {
    id: "gesd-rosner",
    title: "generalised ESD on Rosner's 54 values: three outliers",
    source: "Rosner (1983) Technometrics 25, 165-172; NIST/SEMATECH e-Handbook 1.3.5.17.3",
    run: () => {
      const r = generalisedEsd(rosner, 10, 0.05);
      const statistics = [
        3.118906, 2.942973, 3.179424, 2.810181, 2.81558, 2.848172, 2.279327, 2.310366, 2.101581, 2.067178,
      ];
      const limits = [3.158794, 3.15143, 3.14389, 3.136165, 3.128247, 3.120128, 3.111796, 3.103243, 3.094456, 3.085425];
      return [
        { name: "outliers", value: r.count, expected: 3, within: 0 },
        ...statistics.map(
          (expected, i): Pair => ({ name: `R${i + 1}`, value: r.statistics[i]!, expected, within: 4e-7 }),
        ),
        ...limits.map((expected, i): Pair => ({ name: `limit ${i + 1}`, value: r.limits[i]!, expected, within: 4e-7 })),
      ];
    },
  },
  {
    id: "grubbs",
    title: "Grubbs test on eight spectrometer readings",
    source: "NIST/SEMATECH e-Handbook 1.3.5.17.1; Tietjen and Moore (1972) Technometrics 14, 583-597",
    run: () => [
      { name: "G", value: largestDeviate(spectrometer).statistic, expected: 2.468765, within: 4e-7 },
      { name: "limit, one-sided 5 %", value: grubbsLimit(8, 0.05, 1), expected: 2.031652, within: 4e-7 },
    ],
  },
  {
    id: "grubbs-table",
    title: "critical values of the Grubbs statistic",
    source: "Grubbs and Beck (1972) Technometrics 14, 847-854 (printed to three decimals)",
    run: () =>
      (
        [
          [4, 1.463],
          [5, 1.672],
          [6, 1.822],
          [8, 2.032],
          [10, 2.176],
          [15, 2.409],
          [20, 2.557],
          [30, 2.745],
        ] as const
      ).map(([n, expected]) => ({ name: `n = ${n}`, value: grubbsLimit(n, 0.05, 1), expected, within: 5e-4 })),
  },
];

export const tableChecks: Check[] = [
  {
    id: "distributions",
    title: "quantiles of normal, t, chi-squared and F",
    source: "NIST/SEMATECH e-Handbook 1.3.6.7 (printed digits)",
    run: () => [
      ...(
        [
          [0.95, 1.645],
          [0.975, 1.96],
          [0.995, 2.576],
        ] as const
      ).map(([p, expected]) => ({ name: `z ${p}`, value: normalQuantile(p), expected, within: 3e-4 })),
      ...(
        [
          [1, 12.706],
          [2, 4.303],
          [5, 2.571],
          [10, 2.228],
          [30, 2.042],
          [120, 1.98],
        ] as const
      ).map(([f, expected]) => ({ name: `t 0.975, ${f}`, value: tQuantile(0.975, f), expected, within: 3e-4 })),
      ...(
        [
          [1, 3.841],
          [5, 11.07],
          [10, 18.307],
          [100, 124.342],
        ] as const
      ).map(([f, expected]) => ({
        name: `chi-squared 0.95, ${f}`,
        value: chiSquaredQuantile(0.95, f),
        expected,
        within: 2e-4,
      })),
      ...(
        [
          [1, 10, 4.965],
          [2, 10, 4.103],
          [3, 20, 3.098],
          [5, 5, 5.05],
          [10, 10, 2.978],
        ] as const
      ).map(([a, b, expected]) => ({
        name: `F 0.95, ${a}, ${b}`,
        value: fQuantile(0.95, a, b),
        expected,
        within: 2e-4,
      })),
    ],
  },
  {
    id: "effective-samples",
    title: "effective samples of an AR(1) series",
    source: "closed form n / (1 + 2Σ(1 − k/n)φᵏ)",
    run: () =>
      (
        [
          [100, 0.9, 5.813937327479347],
          [41, 0.5, 14.126050420167852],
          [1000, 0.99, 5.580330524471944],
          [50, -0.3, 91.64859002169196],
        ] as const
      ).map(([n, phi, expected]) => ({
        name: `n ${n}, φ ${phi}`,
        value: effectiveSamples(n, (k) => phi ** k),
        expected,
        within: 1e-10,
      })),
  },
];
