import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { normalQuantile } from "../../src/math/distributions";
import { monteCarlo, propagate, selectSmallest } from "../../src/math/propagate";

describe("law of propagation", () => {
  test("a weighted sum of independent inputs adds in quadrature, shares by variance", () => {
    const p = propagate(([a, b]) => 3 * a! - 2 * b!, [1, 2], [0.1, 0.2]);
    expect(p.value).toBeCloseTo(-1, 12);
    expect(p.standard).toBeCloseTo(0.5, 9);
    expect(p.shares[0]).toBeCloseTo(0.36, 8);
    expect(p.shares[1]).toBeCloseTo(0.64, 8);
  });
  test("a difference of fully correlated inputs has no uncertainty", () => {
    const covariance = [
      [0.04, 0.04],
      [0.04, 0.04],
    ];
    expect(propagate(([a, b]) => a! - b!, [5, 3], covariance).standard).toBeCloseTo(0, 6);
  });
  test("y = ln x, x rectangular from 0.1 to 1.1, first order: −0.511 ± 0.481 (NPL DEM-ES-011, table 9.2)", () => {
    const p = propagate(([x]) => Math.log(x!), [0.6], [1 / Math.sqrt(12)]);
    expect(p.value).toBeCloseTo(-0.511, 3);
    expect(p.standard).toBeCloseTo(0.481, 3);
  });
});

describe("Monte Carlo", () => {
  test("four rectangular inputs of unit deviation: u 2.0 and ± 3.88 (JCGM 101:2008, 9.2.3)", () => {
    const w = 2 * Math.sqrt(3);
    const r = monteCarlo(
      (random) => w * (random.uniform() + random.uniform() + random.uniform() + random.uniform() - 2),
      { seed: 3, digits: 3 },
    );
    expect(Math.abs(r.standard - 2)).toBeLessThan(0.01);
    expect(Math.abs(r.lower + 3.88)).toBeLessThan(0.02);
    expect(Math.abs(r.upper - 3.88)).toBeLessThan(0.02);
  });
  test("y = ln x, x rectangular: the shortest interval is −1.895 to 0.095, not the one of equal tails (NPL DEM-ES-011, table 9.2)", () => {
    const r = monteCarlo((random) => Math.log(0.1 + random.uniform()), { seed: 5, digits: 3 });
    expect(Math.abs(r.mean + 0.665)).toBeLessThan(0.01);
    expect(Math.abs(r.shortest.lower + 1.8971)).toBeLessThan(0.02);
    expect(Math.abs(r.shortest.upper - 0.0953)).toBeLessThan(0.005);
    expect(Math.abs(r.lower + 2.0794)).toBeLessThan(0.03);
  });
  test("6.5 ± 0.76 L over 0.32 ± 0.06 L/km lies from 13.5 to 33.5 km, and propagation says 11.5 to 29.1", () => {
    const r = monteCarlo((random) => (6.5 + 0.76 * random.normal()) / (0.32 + 0.06 * random.normal()), {
      seed: 7,
      most: 400_000,
      digits: 3,
    });
    expect(Math.abs(r.lower - 13.5)).toBeLessThan(0.2);
    expect(Math.abs(r.upper - 33.5)).toBeLessThan(0.3);
    const law = propagate(([v, c]) => v! / c!, [6.5, 0.32], [0.76, 0.06]);
    const k = normalQuantile(0.975);
    expect(law.value - k * law.standard).toBeCloseTo(11.5, 1);
    expect(law.value + k * law.standard).toBeCloseTo(29.1, 1);
  });
  test("the same seed gives the same interval, another seed another", () => {
    const run = (seed: number) => monteCarlo((random) => random.normal(), { seed });
    expect(run(11)).toEqual(run(11));
    expect(run(11).lower).not.toBe(run(12).lower);
  });
});

test("selectSmallest finds what sorting finds", () => {
  fc.assert(
    fc.property(fc.array(fc.double({ noNaN: true }), { minLength: 1, maxLength: 60 }), fc.nat(), (values, at) => {
      const k = at % values.length;
      const sorted = Float64Array.from(values).sort();
      expect(selectSmallest(Float64Array.from(values), k)).toBeCloseTo(sorted[k]!, 12);
    }),
  );
});
