import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { risingPairs, theilSen } from "../../src/math/theil-sen";

test("the counted distribution: 4 points have 1, 3, 5, 6, 5, 3, 1 of 24 orders", () => {
  expect([...risingPairs(4)].map((p) => Math.round(24 * p))).toEqual([1, 3, 5, 6, 5, 3, 1]);
  expect(risingPairs(9).reduce((s, p) => s + p, 0)).toBeCloseTo(1, 12);
});

test("a straight sheet gives its line, one wild point leaves it", () => {
  const x = [0, 1, 2, 3, 4, 5, 6, 7];
  const y = x.map((v) => 2 + 3 * v);
  expect(theilSen(x, y)).toMatchObject({ slope: 3, intercept: 2, lower: 3, upper: 3 });
  y[5] = 200;
  const r = theilSen(x, y);
  expect(r.slope).toBe(3);
  expect(r.intercept).toBe(2);
});

test("7 points without equal x: the interval runs between the 4th slopes from either end, 96.9 %", () => {
  // P(at most 3 of 21 pairs rise) among 7! orders: (1 + 6 + 20 + 49)/5040.
  const x = [1, 2, 3, 4, 5, 6, 7];
  const y = [2.1, 2.9, 4.4, 4.8, 6.3, 6.9, 8.5];
  const slopes = x.flatMap((v, i) => x.slice(i + 1).map((w, j) => (y[i + 1 + j]! - y[i]!) / (w - v)));
  slopes.sort((a, b) => a - b);
  const r = theilSen(x, y);
  expect(r.slopes).toBe(21);
  expect(r.coverage).toBeCloseTo(1 - (2 * 76) / 5040, 12);
  expect([r.lower, r.upper]).toEqual([slopes[3], slopes[17]]);
});

test("too few points for the coverage asked: no end is claimed", () => {
  const r = theilSen([1, 2, 3], [1, 2, 2.5]);
  expect([r.lower, r.upper]).toEqual([null, null]);
  expect(() => theilSen([1, 1], [1, 2])).toThrow("two different x");
});

describe("laws", () => {
  test("follows scaling and shifting of either axis", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom(-8, -0.5, 0.25, 4),
        fc.integer({ min: -50, max: 50 }),
        fc.constantFrom(-2, -0.125, 0.5, 16),
        fc.integer({ min: -50, max: 50 }),
        (seed, p, q, r, s) => {
          const random = createRandom(seed);
          const x = Array.from({ length: 9 }, (_, i) => i + 0.3 * random.uniform());
          const y = x.map((v) => 1 + 2 * v + random.normal());
          const one = theilSen(x, y);
          const two = theilSen(
            x.map((v) => p * v + q),
            y.map((v) => r * v + s),
          );
          const by = r / p;
          expect(two.slope).toBeCloseTo(one.slope * by, 8);
          expect(two.intercept).toBeCloseTo(one.intercept * r + s - one.slope * by * q, 7);
          const ends = [one.lower! * by, one.upper! * by].sort((a, b) => a - b);
          expect(two.lower).toBeCloseTo(ends[0]!, 7);
          expect(two.upper).toBeCloseTo(ends[1]!, 7);
        },
      ),
      { seed: 31, numRuns: 80 },
    );
  });

  test.each([
    ["normal", (u: () => number, z: () => number) => z() + 0 * u()],
    ["wild one time in ten", (u: () => number, z: () => number) => z() * (u() < 0.1 ? 20 : 1)],
  ])("the interval covers as it says, errors %s", (_, error) => {
    const random = createRandom(17);
    const trials = 3000;
    let covered = 0;
    let told = 0;
    for (let n = 0; n < trials; n++) {
      const x = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
      const r = theilSen(
        x,
        x.map((v) => 5 - 2 * v + error(random.uniform, random.normal)),
      );
      told = r.coverage;
      if (r.lower! <= -2 && r.upper! >= -2) covered++;
    }
    expect(told).toBeGreaterThanOrEqual(0.95);
    expect(Math.abs(covered / trials - told)).toBeLessThan(0.013);
  });

  test("more than 50 points: the normal approximation covers as well", () => {
    const random = createRandom(18);
    let covered = 0;
    for (let n = 0; n < 400; n++) {
      const x = Array.from({ length: 60 }, (_, i) => Math.floor(i / 2));
      const r = theilSen(
        x,
        x.map((v) => v + 3 * random.normal()),
      );
      if (r.lower! <= 1 && r.upper! >= 1) covered++;
    }
    expect(covered / 400).toBeGreaterThan(0.92);
    expect(covered / 400).toBeLessThan(0.98);
  });
});
