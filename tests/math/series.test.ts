/** Series and neighbours: Durbin–Watson, change of level, Allan deviation, local lines, conformity. */
import { describe, expect, test } from "vitest";
import { allanDeviation, modifiedAllanDeviation, overlappingAllanDeviation } from "../../src/math/allan";
import { conformityProbability, guardBand } from "../../src/math/conformity";
import { chanceBelowZero, durbinWatson, durbinWatsonBounds, durbinWatsonChance } from "../../src/math/durbin-watson";
import { leastSquares } from "../../src/math/least-squares";
import { levelShifts, placeProbability, shiftInterval } from "../../src/math/level-shift";
import { loess, tricube } from "../../src/math/loess";
import { createRandom } from "../../src/math/random";

describe("Durbin–Watson", () => {
  test("Imhof's integral: two terms have a closed form, and a χ² of one degree its own", () => {
    // z₁² < c·z₂²: the ratio is the tangent of a uniform angle.
    for (const c of [0.1, 1, 7])
      expect(chanceBelowZero([1, -c])).toBeCloseTo((2 / Math.PI) * Math.atan(Math.sqrt(c)), 7);
    expect(chanceBelowZero([1, 2, 3])).toBeCloseTo(0, 8);
    expect(chanceBelowZero([-1, -2, -3])).toBeCloseTo(1, 8);
  });
  test("the exact chance is uniform when residuals are independent", () => {
    const random = createRandom(8);
    const x = Array.from({ length: 12 }, (_, i) => i);
    const design = [x.map(() => 1), x, x.map((v) => v * v)];
    let low = 0;
    let high = 0;
    const trials = 600;
    for (let t = 0; t < trials; t++) {
      const fit = leastSquares(
        design,
        x.map(() => random.normal()),
      );
      const p = durbinWatsonChance(design, durbinWatson(fit.residuals));
      if (p < 0.1) low++;
      if (p > 0.9) high++;
    }
    expect(Math.abs(low / trials - 0.1)).toBeLessThan(0.037);
    expect(Math.abs(high / trials - 0.1)).toBeLessThan(0.037);
  });
  test("at its bounds the exact chance lies on either side of the level, whatever the design", () => {
    const { lower, upper } = durbinWatsonBounds(15, 1);
    const random = createRandom(2);
    for (let t = 0; t < 10; t++) {
      const design = [Array(15).fill(1) as number[], Array.from({ length: 15 }, () => random.normal())];
      expect(durbinWatsonChance(design, lower)).toBeLessThanOrEqual(0.05 + 1e-7);
      expect(durbinWatsonChance(design, upper)).toBeGreaterThanOrEqual(0.05 - 1e-7);
    }
  });
});

describe("change of level", () => {
  test("never worse than every pair of places tried one by one", () => {
    const random = createRandom(12);
    for (let t = 0; t < 20; t++) {
      const values = Array.from({ length: 14 }, (_, i) => (i > 8 ? 2 : 0) + random.normal());
      const rest = (part: number[]) => {
        const m = part.reduce((s, v) => s + v, 0) / part.length;
        return part.reduce((s, v) => s + (v - m) ** 2, 0);
      };
      let best = Number.POSITIVE_INFINITY;
      for (let a = 2; a <= 10; a++)
        for (let b = a + 2; b <= 12; b++)
          best = Math.min(best, rest(values.slice(0, a)) + rest(values.slice(a, b)) + rest(values.slice(b)));
      expect(levelShifts(values, 2, 2).byCount[2]!.squares).toBeCloseTo(best, 9);
    }
  });
  test("the interval of its place: the closed form is that of the walks, and holds 95 of 100 in a long series", () => {
    const random = createRandom(4);
    const h = 0.02;
    const walks = 1500;
    for (const phi of [0.5, 2]) {
      const places = Array.from({ length: walks }, () => {
        let [best, place] = [0, 0];
        for (const side of [-1, 1]) {
          let walk = 0;
          for (let s = h; s < 60; s += h) {
            walk += Math.sqrt((side > 0 ? phi : 1) * h) * random.normal() - h / 2;
            if (walk > best) [best, place] = [walk, side * s];
            if (walk < best - 20) break;
          }
        }
        return place;
      });
      for (const x of [-6, -1, 0, 0.5, 3])
        expect(Math.abs(places.filter((v) => v <= x).length / walks - placeProbability(x, phi))).toBeLessThan(0.04);
    }
    const share = (n: number, least: number, shift: number) => {
      let held = 0;
      for (let t = 0; t < 400; t++) {
        const values = Array.from({ length: n }, (_, i) => (i <= 0.4 * n ? 0 : shift) + random.normal());
        const end = levelShifts(values, 1, least).byCount[1]!.ends[0]!;
        const r = shiftInterval(values, end)!;
        if (r.lower <= Math.floor(0.4 * n) && Math.floor(0.4 * n) <= r.upper) held++;
      }
      return held / 400;
    };
    expect(share(300, 30, 0.8)).toBeGreaterThan(0.92);
    // Short series: shift and spread are themselves estimated, and the interval is too narrow.
    expect(share(60, 8, 1.25)).toBeLessThan(0.94);
    expect(share(60, 8, 1.25)).toBeGreaterThan(0.85);
    expect(shiftInterval([1, 1, 2, 2], 1)).toBeNull();
  });
  test("a level far from zero gives the same places, a short series fewer counts", () => {
    const values = [0, 0.1, -0.1, 0, 3, 3.1, 2.9, 3, 1, 1.1, 0.9, 1];
    const near = levelShifts(values, 4, 2);
    expect(near.chosen).toBe(2);
    expect(near.byCount[2]!.ends).toEqual([3, 7]);
    expect(
      levelShifts(
        values.map((v) => v + 1e7),
        4,
        2,
      ).byCount[2]!.ends,
    ).toEqual([3, 7]);
    expect(levelShifts([1, 2, 3, 4, 5], 4, 2).byCount).toHaveLength(2);
    expect(() => levelShifts([1], 1, 2)).toThrow("segments of 2");
  });
});

describe("Allan deviation", () => {
  test("white noise falls as the root of the averaging, drift rises with it", () => {
    const random = createRandom(30);
    const white = Array.from({ length: 40_000 }, () => random.normal());
    for (const of of [allanDeviation, overlappingAllanDeviation]) {
      expect(of(white, 1)).toBeCloseTo(1, 1);
      expect(of(white, 16) / of(white, 1)).toBeCloseTo(0.25, 1);
    }
    expect(modifiedAllanDeviation(white, 16) / modifiedAllanDeviation(white, 1)).toBeLessThan(0.25);
    const ramp = white.map((_, i) => 0.5 * i);
    expect(allanDeviation(ramp, 8)).toBeCloseTo((0.5 * 8) / Math.SQRT2, 9);
    expect(overlappingAllanDeviation(ramp, 8)).toBeCloseTo((0.5 * 8) / Math.SQRT2, 6);
  });
  test("too short a record throws", () => {
    expect(() => allanDeviation([1, 2, 3], 2)).toThrow("no two averages");
    expect(() => overlappingAllanDeviation([1, 2, 3], 2)).toThrow("no two averages");
    expect(() => modifiedAllanDeviation([1, 2, 3], 2)).toThrow("too few");
  });
});

describe("local lines", () => {
  test("a straight sheet stays straight, equal x give their mean", () => {
    const x = [0, 1, 2, 4, 7, 8, 9];
    for (const at of [0, 3.3, 9])
      expect(
        loess(
          x,
          x.map((v) => 5 - 2 * v),
          4,
          at,
        ),
      ).toBeCloseTo(5 - 2 * at, 9);
    expect(loess([1, 1, 1], [2, 3, 7], 3, 1)).toBe(4);
    expect(tricube(1)).toBe(0);
    expect(() => loess([1, 2], [1, 2], 3, 1)).toThrow("window of 3");
  });
});

test("conformity: both limits, a far tail, and a value that is known exactly", () => {
  expect(conformityProbability(0, 1, { lower: -1.959964, upper: 1.959964 })).toBeCloseTo(0.95, 6);
  expect(conformityProbability(10, 1, { upper: 0 })).toBeGreaterThan(0);
  expect(conformityProbability(10, 1, { upper: 0 }) / 7.619853e-24).toBeCloseTo(1, 5);
  expect(conformityProbability(-10, 1, { lower: 0 }) / 7.619853e-24).toBeCloseTo(1, 5);
  expect(conformityProbability(1, 0, { upper: 1 })).toBe(1);
  expect(conformityProbability(1.1, 0, { upper: 1 })).toBe(0);
  expect(guardBand(0.05, 0.95)).toBeCloseTo(0.0822, 4);
});
