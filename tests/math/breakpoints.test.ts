import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { fitAt, fitPiecewise, piecewiseValue, whitener } from "../../src/math/breakpoints";

/** Muggeo (2008), R News 8(1), 20-25: plant growth, group RKW. */
const plant = [
  [141.6, 0.12],
  [141.6, 0.12],
  [141.6, 0.11],
  [183.2, 0.19],
  [212.8, 0.27],
  [227.0, 0.28],
  [242.4, 0.35],
  [271.5, 0.38],
  [297.4, 0.46],
  [312.3, 0.51],
  [331.4, 0.58],
  [342.4, 0.59],
  [346.3, 0.6],
  [356.6, 0.57],
  [371.6, 0.64],
  [408.8, 0.68],
  [408.8, 0.72],
  [419.5, 0.73],
  [434.4, 0.78],
  [464.5, 0.84],
  [492.6, 0.85],
  [521.7, 0.83],
  [550.5, 0.86],
  [550.3, 0.88],
  [565.4, 0.88],
  [588.0, 0.95],
  [602.9, 0.95],
  [623.7, 0.93],
  [639.6, 0.92],
  [647.9, 0.97],
  [672.6, 0.86],
  [680.6, 1.0],
  [709.7, 0.85],
  [709.7, 0.97],
  [750.2, 0.9],
  [750.2, 1.02],
  [750.2, 0.95],
] as const;
/** Bacon and Watts (1971), Biometrika 58, 525-534: stagnant band height. */
const stagnant = [
  [-1.39, 1.12],
  [-1.39, 1.12],
  [-1.08, 0.99],
  [-1.08, 1.03],
  [-0.94, 0.92],
  [-0.8, 0.9],
  [-0.63, 0.81],
  [-0.63, 0.83],
  [-0.25, 0.65],
  [-0.25, 0.67],
  [-0.12, 0.6],
  [-0.12, 0.59],
  [0.01, 0.51],
  [0.11, 0.44],
  [0.11, 0.43],
  [0.11, 0.43],
  [0.25, 0.33],
  [0.25, 0.3],
  [0.34, 0.25],
  [0.34, 0.24],
  [0.44, 0.13],
  [0.59, -0.01],
  [0.7, -0.13],
  [0.7, -0.14],
  [0.85, -0.3],
  [0.85, -0.33],
  [0.99, -0.46],
  [0.99, -0.43],
  [1.19, -0.65],
] as const;
/** Synthetic fill run with two breakpoints; global optimum by exhaustive search over the gaps (Hudson 1966). */
const twoBreaks = [
  [0.5, 70.01],
  [0.591, 68.03],
  [0.674, 64.93],
  [0.774, 61.53],
  [0.863, 59.1],
  [0.959, 55.88],
  [1.042, 54.43],
  [1.131, 50.94],
  [1.237, 45.61],
  [1.323, 42.93],
  [1.419, 39.61],
  [1.514, 36.04],
  [1.589, 32.7],
  [1.692, 28.95],
  [1.778, 24.75],
  [1.868, 21.08],
  [1.967, 18.61],
  [2.043, 17.04],
  [2.147, 13.99],
  [2.226, 10.55],
  [2.319, 9.57],
  [2.423, 6.09],
  [2.509, 4.88],
  [2.61, 2.04],
] as const;
const columns = (rows: readonly (readonly [number, number])[]) =>
  [rows.map((r) => r[0]), rows.map((r) => r[1])] as const;

describe("fitPiecewise on published data", () => {
  test("plant growth (Muggeo 2008): break at 469.1006 ± 13.6143", () => {
    const fit = fitPiecewise(...columns(plant), 1)!;
    expect(fit.breakpoints[0]!.at).toBeCloseTo(469.1006, 2);
    expect(fit.breakpoints[0]!.standardError).toBeCloseTo(13.6143, 2);
    expect(fit.sse).toBeCloseTo(0.04347075516383, 9);
  });
  test("stagnant band height (Bacon and Watts 1971): break at 0.035912 ± 0.021886", () => {
    const fit = fitPiecewise(...columns(stagnant), 1)!;
    expect(fit.breakpoints[0]!.at).toBeCloseTo(0.035912, 5);
    expect(fit.breakpoints[0]!.standardError).toBeCloseTo(0.021886, 5);
    expect(fit.sse).toBeCloseTo(0.009381362697619, 10);
    expect(fit.coefficients[1]).toBeCloseTo(-0.4220768, 5);
  });
  test("two breaks at 1.07989 and 1.90050, never worse than a grid of 160 places (5.31305)", () => {
    const fit = fitPiecewise(...columns(twoBreaks), 2)!;
    expect(fit.breakpoints.map((b) => b.at)[0]).toBeCloseTo(1.0798874, 3);
    expect(fit.breakpoints.map((b) => b.at)[1]).toBeCloseTo(1.9005019, 3);
    expect(fit.sse).toBeCloseTo(5.3117899749, 5);
    expect(fit.breakpoints[0]!.standardError).toBeCloseTo(0.05829, 3);
  });
});

const run = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 20 }), fc.integer({ min: -100, max: 100 })), {
    minLength: 9,
    maxLength: 16,
  })

  .map((rows) => {
    let x = 0;
    return rows.map(([dx, e], i) => {
      x += dx;
      return [x, 2 * x + (i > rows.length / 2 ? 3 : 0) * (i - rows.length / 2) * 10 + e / 10] as const;
    });
  });

describe("fitPiecewise, laws", () => {
  test("one break is never worse than any of 300 places", () => {
    fc.assert(
      fc.property(run, (rows) => {
        const [x, y] = columns(rows);
        const fit = fitPiecewise([...x], [...y], 1)!;
        const sorted = [...x].sort((a, b) => a - b);
        const [from, to] = [sorted[1]!, sorted[sorted.length - 2]!];
        for (let i = 0; i <= 300; i++) {
          const at = from + ((to - from) * i) / 300;
          const { sse } = fitAt([...x], [...y], whitener(null, x.length), [at]);
          expect(fit.sse).toBeLessThanOrEqual(sse * (1 + 1e-3) + 1e-9);
        }
      }),
      { numRuns: 25, seed: 7 },
    );
  });
  test("follows scaling and shifting of either axis", () => {
    fc.assert(
      fc.property(
        run,
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        fc.double({ min: -50, max: 50, noNaN: true }),
        (rows, a, b) => {
          const [x, y] = columns(rows);
          const fit = fitPiecewise([...x], [...y], 1)!;
          const moved = fitPiecewise(
            x.map((v) => a * v + b),
            y.map((v) => 3 * v - 7),
            1,
          )!;
          expect(moved.sse).toBeCloseTo(9 * fit.sse, 3);
        },
      ),
      { numRuns: 25, seed: 8 },
    );
  });
  test("does not mind the order of the points", () => {
    const [x, y] = columns(twoBreaks);
    const back = fitPiecewise([...x].reverse(), [...y].reverse(), 1)!;
    const fit = fitPiecewise([...x], [...y], 1)!;
    expect(back.breakpoints[0]!.at).toBeCloseTo(fit.breakpoints[0]!.at, 6);
  });
  test("too few points carry no breakpoint", () => {
    expect(fitPiecewise([0, 1, 2], [0, 1, 3], 1)).toBeNull();
  });
  test("unequal lengths are the caller's mistake", () => {
    expect(() => fitPiecewise([0, 1, 2, 3], [0, 1, 3], 1)).toThrow("fitPiecewise");
  });
  test("an exact broken line is found, and drawn through its corner", () => {
    const x = [0, 1, 2, 3, 4, 5, 6, 7];
    const y = x.map((v) => 1 + 2 * v + 5 * Math.max(0, v - 3.5));
    const fit = fitPiecewise(x, y, 1)!;
    expect(fit.breakpoints[0]!.at).toBeCloseTo(3.5, 5);
    expect(piecewiseValue(fit.coefficients, [3.5], 7)).toBeCloseTo(32.5, 4);
  });
});
