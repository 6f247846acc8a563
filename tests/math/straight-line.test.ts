import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import {
  type ErrorsOfY,
  fitBothAxes,
  fitEffectiveVariance,
  fitLine,
  onLine,
  type StraightLine,
  smallSampleFactor,
} from "../../src/math/straight-line";
import { cholesky, forward } from "../../src/math/triangular";

/** Points about y = 2 + 3x with what is stated of their errors. */
function points(seed: number, n = 8) {
  const random = createRandom(seed);
  const x = Array.from({ length: n }, (_, i) => i + 0.4 * random.uniform());
  const ux = x.map(() => 0.02 + 0.05 * random.uniform());
  const uy = x.map(() => 0.05 + 0.2 * random.uniform());
  const y = x.map((v, i) => 2 + 3 * (v + ux[i]! * random.normal()) + uy[i]! * random.normal());
  return { x, y, ux, uy };
}
/** Covariance of n pours in a row, and a reading error of each. */
const pours = (n: number) =>
  Array.from({ length: n }, (_, i) =>
    Array.from({ length: n }, (__, j) => 0.01 * Math.min(i + 1, j + 1) + (i === j ? 0.004 : 0)),
  );
const close = (a: number, b: number, size: number, digits = 1e-8) =>
  expect(Math.abs(a - b)).toBeLessThanOrEqual(digits * (Math.abs(size) + 1e-300));

/** The line of `one` with x·p + q and y·r + s in place of x and y is the line of `two`. */
function follows(one: StraightLine, two: StraightLine, p: number, q: number, r: number, s: number, stated: boolean) {
  const slope = (one.slope * r) / p;
  const ua = Math.sqrt(two.interceptVariance);
  close(two.slope, slope, Math.sqrt(two.slopeVariance));
  close(two.intercept, r * one.intercept + s - slope * q, ua);
  close(two.slopeVariance, one.slopeVariance * (r / p) ** 2, two.slopeVariance);
  // The uncertainty of the line at the same place is the same, whatever the axes are.
  const at = onLine(one, 3.3).standard * Math.abs(r);
  close(onLine(two, p * 3.3 + q).standard, at, Math.max(at, Math.sqrt(two.interceptVariance) * 1e-3), 1e-6);
  if (stated) close(two.chiSquared!, one.chiSquared!, two.chiSquared! + 1e-9, 1e-7);
  else close(two.residualSd!, one.residualSd! * Math.abs(r), two.residualSd!);
}

const axes = fc.record({
  seed: fc.integer({ min: 1, max: 1e6 }),
  p: fc.oneof(fc.double({ min: 1e-3, max: 1e3, noNaN: true }), fc.double({ min: -1e3, max: -1e-3, noNaN: true })),
  q: fc.double({ min: -100, max: 100, noNaN: true }),
  r: fc.oneof(fc.double({ min: 1e-3, max: 1e3, noNaN: true }), fc.double({ min: -1e3, max: -1e-3, noNaN: true })),
  s: fc.double({ min: -100, max: 100, noNaN: true }),
});

describe("a line follows its axes", () => {
  test.each(["nothing", "each", "all"] as const)("errors of y known: %s", (known) => {
    fc.assert(
      fc.property(axes, ({ seed, p, q, r, s }) => {
        const { x, y, uy } = points(seed);
        const errors = (by: number): ErrorsOfY =>
          known === "nothing"
            ? { known }
            : known === "each"
              ? { known, standard: uy.map((u) => u * Math.abs(by)) }
              : { known, covariance: pours(x.length).map((row) => row.map((v) => v * by * by)) };
        const one = fitLine(x, y, errors(1));
        const two = fitLine(
          x.map((v) => p * v + q),
          y.map((v) => r * v + s),
          errors(r),
        );
        follows(one, two, p, q, r, s, known !== "nothing");
      }),
      { seed: 11, numRuns: 80 },
    );
  });

  test("errors of both axes, with a covariance between them", () => {
    fc.assert(
      fc.property(axes, ({ seed, p, q, r, s }) => {
        const { x, y, ux, uy } = points(seed);
        const square = (u: number[], by: number) => u.map((v, i) => u.map((_, j) => (i === j ? (v * by) ** 2 : 0)));
        const between = (by: number) => ux.map((v, i) => ux.map((_, j) => (i === j ? 0.4 * v * uy[i]! * by : 0)));
        const lineOn = (a: number, b: number, c: number, d: number) =>
          fitBothAxes(
            x.map((v) => a * v + b),
            y.map((v) => c * v + d),
            { known: "all", x: square(ux, a), y: square(uy, c), between: between(a * c) },
          );
        const one = lineOn(1, 0, 1, 0);
        const two = lineOn(p, q, r, s);
        expect(one.settled && two.settled).toBe(true);
        follows(one, two, p, q, r, s, true);
      }),
      { seed: 12, numRuns: 60 },
    );
  });

  test("errors of both axes: x and y may change places", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        const { x, y, ux, uy } = points(seed);
        const one = fitBothAxes(x, y, { known: "each", x: ux, y: uy });
        const two = fitBothAxes(y, x, { known: "each", x: uy, y: ux });
        close(two.slope, 1 / one.slope, two.slope);
        close(two.intercept, -one.intercept / one.slope, Math.sqrt(two.interceptVariance), 1e-7);
        close(two.chiSquared!, one.chiSquared!, one.chiSquared!, 1e-7);
      }),
      { seed: 13, numRuns: 60 },
    );
  });
});

describe("ways to the same line", () => {
  test("a diagonal covariance is a list of standard uncertainties, and exact x is a line in y alone", () => {
    const { x, y, uy } = points(3);
    const list = fitLine(x, y, { known: "each", standard: uy });
    const matrix = fitLine(x, y, {
      known: "all",
      covariance: uy.map((u, i) => uy.map((_, j) => (i === j ? u * u : 0))),
    });
    const both = fitBothAxes(x, y, { known: "each", x: x.map(() => 0), y: uy });
    for (const line of [matrix, both]) {
      close(line.slope, list.slope, list.slope, 1e-12);
      close(line.intercept, list.intercept, list.intercept, 1e-11);
      close(line.covariance, list.covariance, list.covariance, 1e-11);
      close(line.chiSquared!, list.chiSquared!, list.chiSquared!, 1e-11);
    }
  });

  test("no line near the distance regression has a smaller sum of squared distances", () => {
    const { x, y, ux, uy } = points(7);
    const line = fitBothAxes(x, y, { known: "each", x: ux, y: uy });
    const squares = (a: number, b: number) =>
      x.reduce((s, v, i) => s + (y[i]! - a - b * v) ** 2 / (uy[i]! ** 2 + (b * ux[i]!) ** 2), 0);
    close(squares(line.intercept, line.slope), line.chiSquared!, line.chiSquared!, 1e-9);
    for (const [da, db] of [
      [1e-4, 0],
      [-1e-4, 0],
      [0, 1e-4],
      [0, -1e-4],
      [1e-4, -1e-4],
    ] as const)
      expect(squares(line.intercept + da, line.slope + db)).toBeGreaterThan(line.chiSquared!);
  });

  test("nor with errors that are shared between points and between the axes", () => {
    const { x, y, ux, uy } = points(9);
    const shared = (u: number[], by: number) => u.map((v, i) => u.map((w, j) => (i === j ? v * v : by * v * w)));
    const ofX = shared(ux, 0.5);
    const ofY = shared(uy, 0.3);
    const between = ux.map((v, i) => uy.map((w, j) => (i === j ? 0.3 * v * w : 0)));
    const line = fitBothAxes(x, y, { known: "all", x: ofX, y: ofY, between });
    expect(line.settled).toBe(true);
    // What is left over once the true x are chosen best for a line: eᵀ V⁻¹ e with V the covariance of y − bx.
    const squares = (a: number, b: number) => {
      const l = cholesky(
        ofY.map((row, i) => row.map((v, j) => v + b * b * ofX[i]![j]! - b * (between[i]![j]! + between[j]![i]!))),
      )!;
      return forward(
        l,
        y.map((v, i) => v - a - b * x[i]!),
      ).reduce((s, v) => s + v * v, 0);
    };
    const least = squares(line.intercept, line.slope);
    for (const [da, db] of [
      [1e-4, 0],
      [-1e-4, 0],
      [0, 1e-4],
      [0, -1e-4],
      [2e-4, -1e-4],
    ] as const)
      expect(squares(line.intercept + da, line.slope + db)).toBeGreaterThan(least);
    close(line.chiSquared!, least, least, 1e-6);
  });

  test("effective variance stays within a tenth of a standard uncertainty of it while x errs little", () => {
    for (let seed = 1; seed <= 40; seed++) {
      const { x, y, ux, uy } = points(seed);
      const quick = fitEffectiveVariance(x, y, ux, uy);
      const full = fitBothAxes(x, y, { known: "each", x: ux, y: uy });
      expect(quick.settled).toBe(true);
      expect(Math.abs(quick.slope - full.slope)).toBeLessThan(0.1 * Math.sqrt(full.slopeVariance));
    }
  });

  test("a shared error of a group moves the intercept, not the slope", () => {
    const x = [1, 2, 3, 4, 5];
    const y = [2.1, 3.9, 6.2, 7.8, 10.1];
    const independent = x.map((_, i) => x.map((__, j) => (i === j ? 0.01 : 0)));
    const alone = fitLine(x, y, { known: "all", covariance: independent });
    const shared = fitLine(x, y, { known: "all", covariance: independent.map((row) => row.map((v) => v + 0.25)) });
    close(shared.slope, alone.slope, 1, 1e-10);
    close(shared.slopeVariance, alone.slopeVariance, alone.slopeVariance, 1e-9);
    close(shared.interceptVariance, alone.interceptVariance + 0.25, 1, 1e-9);
  });
});

test("stated errors of both axes cover the slope in 95 of 100 sheets", () => {
  const random = createRandom(5);
  const trials = 2000;
  let covered = 0;
  for (let t = 0; t < trials; t++) {
    const truth = Array.from({ length: 10 }, (_, i) => i);
    const ux = truth.map((_, i) => 0.1 + 0.02 * i);
    const uy = truth.map((_, i) => 0.3 - 0.02 * i);
    const x = truth.map((v, i) => v + ux[i]! * random.normal());
    const y = truth.map((v, i) => 1 + 2 * v + uy[i]! * random.normal());
    const line = fitBothAxes(x, y, { known: "each", x: ux, y: uy });
    if (Math.abs(line.slope - 2) <= 1.96 * Math.sqrt(line.slopeVariance)) covered++;
  }
  expect(covered / trials).toBeGreaterThan(0.935);
  expect(covered / trials).toBeLessThan(0.965);
});

test("the factor of few points, and what cannot be fitted throws", () => {
  expect(smallSampleFactor(6)).toBeCloseTo(Math.SQRT2, 12);
  expect(smallSampleFactor(4)).toBeNull();
  expect(() => fitLine([1, 1], [2, 3])).toThrow("two different x");
  expect(() => fitLine([1, 2, 3], [2, 3])).toThrow("3 x for 2 y");
  expect(() =>
    fitLine([1, 2], [2, 3], {
      known: "all",
      covariance: [
        [1, 2],
        [2, 1],
      ],
    }),
  ).toThrow("not positive definite");
  expect(() => fitBothAxes([1, 2, 3], [2, 4, 6], { known: "each", x: [0, 0, 0], y: [0, 0, 0] })).toThrow(
    "not positive definite",
  );
});
