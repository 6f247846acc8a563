/** Locked, free and flat pieces: against the plain fit at the same knots, the global search, and a grid. */
import { describe, expect, test } from "vitest";
import { fitAt, fitPiecewise, piecewiseValue, whitener } from "../../src/math/breakpoints";
import { fitLocked } from "../../src/math/locked-knots";
import { createRandom } from "../../src/math/random";

const random = createRandom(11);
const x = Array.from({ length: 24 }, (_, i) => 0.5 + 0.15 * i);
const truth = (v: number) => 10 * v + 8 * Math.max(0, v - 1.4) - 14 * Math.max(0, v - 2.9);
const y = x.map((v) => truth(v) + 0.2 * random.normal());
/** Sums of pours: neighbours share errors. */
const covariance = x.map((_, i) => x.map((__, j) => 0.01 * (1 + Math.min(i, j)) + (i === j ? 0.02 : 0)));
const plain = whitener(null, x.length);
const l = whitener(covariance, x.length);

describe("fitLocked", () => {
  test("with all knots locked it is least squares at those knots, and they stay", () => {
    for (const weights of [plain, l]) {
      const fit = fitLocked(x, y, weights, { locked: [1.4, 2.9], free: 0, flat: [] })!;
      const same = fitAt(x, y, weights, [1.4, 2.9]);
      expect(fit.sse).toBeCloseTo(same.sse, 9);
      expect(fit.knots.map((k) => [k.at, k.locked])).toEqual([
        [1.4, true],
        [2.9, true],
      ]);
      for (const v of [0.2, 0.5, 1.4, 2, 3.3, 4.5])
        expect(fit.value(v)).toBeCloseTo(piecewiseValue(same.coefficients, [1.4, 2.9], v), 8);
      expect(fit.fitted[7]).toBeCloseTo(fit.value(x[7]!), 12);
    }
  });

  test("with none locked it finds what the global search finds", () => {
    for (const k of [1, 2]) {
      const fit = fitLocked(x, y, l, { locked: [], free: k, flat: [] })!;
      const best = fitPiecewise(x, y, k, covariance)!;
      expect(fit.sse / best.sse).toBeLessThan(1 + 1e-6);
      fit.knots.forEach((knot, i) => {
        expect(knot.at).toBeCloseTo(best.breakpoints[i]!.at, 2);
      });
    }
  });

  test("beside a locked knot the free one is no worse than any place on a fine grid, and its interval holds the truth", () => {
    const fit = fitLocked(x, y, l, { locked: [1.4], free: 1, flat: [] })!;
    const found = fit.knots.find((k) => !k.locked)!;
    for (let at = 1.75; at < 3.7; at += 0.003)
      expect(fit.sse).toBeLessThanOrEqual(fitAt(x, y, l, [1.4, at]).sse + 1e-9);
    expect(Math.abs(found.at - 2.9)).toBeLessThan(0.1);
    expect(found.lower).toBeLessThanOrEqual(2.9);
    expect(found.upper).toBeGreaterThanOrEqual(2.9 - 0.1);
    expect(found.upper - found.lower).toBeLessThan(0.6);
    expect(fit.knots.find((k) => k.locked)!.at).toBe(1.4);
  });

  test("a flat piece has no slope, the others are fitted as if it were so, and no knot is looked for inside it", () => {
    const held = x.map((v) => 5 * Math.min(v, 2) + 7 * Math.max(0, v - 3) + 0.05 * random.normal());
    const fit = fitLocked(x, held, plain, { locked: [2, 3], free: 0, flat: [1] })!;
    expect(fit.slopes[1]).toBe(0);
    expect(fit.value(2)).toBeCloseTo(fit.value(3), 12);
    expect(fit.slopes[0]).toBeCloseTo(5, 0);
    expect(fit.slopes[2]).toBeCloseTo(7, 0);
    // What is left over is orthogonal to both ramps: least squares under the constraint.
    const rest = held.map((v, i) => v - fit.fitted[i]!);
    const ramps = [(v: number) => Math.min(v, 2), (v: number) => Math.max(0, v - 3), () => 1];
    for (const ramp of ramps) expect(x.reduce((s, v, i) => s + ramp(v) * rest[i]!, 0)).toBeCloseTo(0, 8);
    const more = fitLocked(x, held, plain, { locked: [2, 3], free: 1, flat: [1] })!;
    const found = more.knots.find((k) => !k.locked)!;
    expect(found.at <= 2 || found.at >= 3).toBe(true);
  });

  test("refuses what the points cannot carry", () => {
    expect(fitLocked([1, 2, 3], [1, 2, 3], whitener(null, 3), { locked: [1.5, 1.6], free: 0, flat: [] })).toBeNull();
    expect(fitLocked([1, 2, 3], [1, 2, 4], whitener(null, 3), { locked: [], free: 2, flat: [] })).toBeNull();
    expect(() => fitLocked(x, y, plain, { locked: [], free: 3, flat: [] })).toThrow(
      "fitLocked: looks for 0 to 2 knots",
    );
  });
});
