import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { groupOf, oneWay, sdInterval } from "../../src/math/anova";
import { curveThrough } from "../../src/math/monotone-cubic";
import { createRandom } from "../../src/math/random";
import { unknownSpread } from "../../src/math/unknown-spread";

const identity = (n: number) =>
  Array.from({ length: n }, (_, i) => Array.from({ length: n }, (__, j) => (i === j ? 1 : 0)));
const nothing = (n: number) => identity(n).map((row) => row.map(() => 0));

describe("a spread beside a known one", () => {
  test("with nothing known it is the analysis of variance, interval and all", () => {
    const groups = [
      [1, 3, 2.5],
      [5, 7, 6.2],
      [3, 5, 4.4],
    ];
    const a = oneWay(groups.map(groupOf));
    const values = groups.flat();
    const own = groups.map((_, g) => values.map((__, i) => (Math.floor(i / 3) === g ? 1 : 0)));
    const s = unknownSpread(values, own, nothing(9), identity(9))!;
    const interval = sdInterval(a.within.meanSquare, 6);
    expect(s.freedom).toBe(6);
    expect(s.sd).toBeCloseTo(a.repeatability, 9);
    expect(s.lower).toBeCloseTo(interval.lower, 9);
    expect(s.upper).toBeCloseTo(interval.upper, 9);
  });

  test("values that the known part explains leave nothing, and no degree of freedom says nothing", () => {
    const s = unknownSpread([0.1, -0.1, 0.05, 0], [[1, 1, 1, 1]], identity(4), identity(4))!;
    expect([s.sd, s.lower]).toEqual([0, 0]);
    expect(
      unknownSpread(
        [1, 2],
        [
          [1, 1],
          [0, 1],
        ],
        nothing(2),
        identity(2),
      ),
    ).toBeNull();
  });

  test("follows the unit of the values", () => {
    const values = [3, 1, 4, 1, 5, 9];
    const known = identity(6).map((row, i) => row.map((v, j) => v + 0.2 * Math.min(i, j)));
    const one = unknownSpread(values, [[1, 1, 1, 1, 1, 1]], known, identity(6))!;
    const ml = unknownSpread(
      values.map((v) => 1000 * v),
      [[1, 1, 1, 1, 1, 1]],
      known.map((row) => row.map((v) => 1e6 * v)),
      identity(6),
    )!;
    expect(one.sd).toBeGreaterThan(1);
    for (const k of ["sd", "lower", "upper"] as const) expect(ml[k]).toBeCloseTo(1000 * one[k], 5);
  });

  test.each([0.3, 1, 3])("its interval holds a true spread of %d in 95 of 100 beside pours that add up", (truth) => {
    const random = createRandom(Math.round(10 * truth));
    const n = 10;
    const known = Array.from({ length: n }, (_, i) => Array.from({ length: n }, (__, j) => Math.min(i, j) + 1));
    const trials = 1500;
    let inside = 0;
    for (let t = 0; t < trials; t++) {
      let sum = 0;
      const values = Array.from({ length: n }, () => {
        sum += random.normal();
        return sum + truth * random.normal();
      });
      const s = unknownSpread(values, [Array(n).fill(1) as number[]], known, identity(n))!;
      if (s.lower <= truth && truth <= s.upper) inside++;
    }
    expect(inside / trials).toBeGreaterThan(0.935);
    expect(inside / trials).toBeLessThan(0.965);
  });
});

describe("a curve through points", () => {
  test("goes through them, keeps to a straight line, and says nothing outside", () => {
    const x = [0, 1, 3, 4, 7];
    const c = curveThrough(x, [2, 4, 5, 9, 9]);
    expect(x.map((v) => c.at(v))).toEqual([2, 4, 5, 9, 9]);
    expect([c.at(-0.1), c.at(7.1), c.weights(8)]).toEqual([null, null, null]);
    const line = curveThrough(
      x,
      x.map((v) => 3 - 2 * v),
    );
    for (const v of [0.4, 2, 5.5]) expect(line.at(v)).toBeCloseTo(3 - 2 * v, 12);
    expect(c.weights(2)).toEqual([0, 0.5, 0.5, 0, 0]);
    expect(() => curveThrough([0, 0], [1, 2])).toThrow("rise");
  });
  test("never passes the points beside it", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 3, maxLength: 9 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (y, share) => {
          const x = y.map((_, i) => i + (i % 2) * 0.4);
          const at = share * x[x.length - 1]!;
          const k = Math.min(y.length - 2, x.filter((v) => v <= at).length - 1);
          const value = curveThrough(x, y).at(at)!;
          expect(value).toBeGreaterThanOrEqual(Math.min(y[k]!, y[k + 1]!) - 1e-9);
          expect(value).toBeLessThanOrEqual(Math.max(y[k]!, y[k + 1]!) + 1e-9);
        },
      ),
      { seed: 51, numRuns: 300 },
    );
  });
});
