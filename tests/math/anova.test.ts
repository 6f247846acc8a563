import { describe, expect, test } from "vitest";
import { betweenInterval, groupOf, lackOfFit, oneWay, sdInterval } from "../../src/math/anova";
import { fQuantile } from "../../src/math/distributions";
import { createRandom } from "../../src/math/random";
import { fitLine } from "../../src/math/straight-line";

/** `groups` of `n` values with the spreads given, as a seeded hand draws them. */
const drawn = (random: ReturnType<typeof createRandom>, groups: number, n: number, between: number, within: number) =>
  Array.from({ length: groups }, () => {
    const own = between * random.normal();
    return Array.from({ length: n }, () => own + within * random.normal());
  });

describe("one-way analysis of variance", () => {
  test("by hand: groups 1 3, 5 7, 3 5", () => {
    const a = oneWay(
      [
        [1, 3],
        [5, 7],
        [3, 5],
      ].map(groupOf),
    );
    expect(a.between).toEqual({ freedom: 2, squares: 16, meanSquare: 8 });
    expect(a.within.freedom).toBe(3);
    expect(a.within.squares).toBeCloseTo(6, 12);
    expect(a.f).toBeCloseTo(4, 12);
    expect(a.mean).toBe(4);
    expect(a.repeatability).toBeCloseTo(Math.SQRT2, 12);
    expect(a.betweenGroups).toBeCloseTo(Math.sqrt(3), 12);
  });

  test("unequal groups: the size that stands for all is (N − Σn²/N)/(k − 1)", () => {
    const a = oneWay([groupOf([1, 2, 3, 4]), groupOf([2, 3])]);
    expect(a.size).toBeCloseTo(6 - 20 / 6, 12);
  });

  test("squares between and within are those about the mean of all", () => {
    const random = createRandom(4);
    const groups = drawn(random, 4, 6, 1, 1).map((g, i) => g.slice(i));
    const a = oneWay(groups.map(groupOf));
    const all = groupOf(groups.flat());
    expect(a.between.squares + a.within.squares).toBeCloseTo((all.n - 1) * all.sd ** 2, 10);
    expect(a.mean).toBeCloseTo(all.mean, 12);
  });

  test("groups that do not differ show F above its 5 % limit in 5 of 100 sheets", () => {
    const random = createRandom(6);
    const limit = fQuantile(0.95, 3, 16);
    let above = 0;
    for (let t = 0; t < 4000; t++) {
      const a = oneWay(drawn(random, 4, 5, 0, 1).map(groupOf));
      expect(a.f! > limit).toBe(a.p! < 0.05);
      if (a.f! > limit) above++;
    }
    expect(above / 4000).toBeGreaterThan(0.04);
    expect(above / 4000).toBeLessThan(0.06);
  });

  test("needs two groups, and values beside each other in one", () => {
    expect(() => oneWay([groupOf([1, 2])])).toThrow("two groups");
    expect(() => oneWay([groupOf([1]), groupOf([2])])).toThrow("no spread");
  });
});

describe("intervals of spreads", () => {
  test.each([
    [2, 10, 1],
    [3, 6, 0.3],
    [3, 6, 0],
    [8, 4, 2],
  ])("%i groups of %i, between %d: both intervals hold 95 of 100", (groups, n, between) => {
    const random = createRandom(100 * groups + n);
    const trials = 3000;
    let within = 0;
    let across = 0;
    for (let t = 0; t < trials; t++) {
      const a = oneWay(drawn(random, groups, n, between, 1).map(groupOf));
      const w = sdInterval(a.within.meanSquare, a.within.freedom);
      const b = betweenInterval(a.between, a.within, a.size);
      if (w.lower <= 1 && 1 <= w.upper) within++;
      if (b.lower <= between && between <= b.upper) across++;
    }
    expect(within / trials).toBeGreaterThan(0.938);
    expect(within / trials).toBeLessThan(0.962);
    // The form for the between part errs to the wide side where there is little of it.
    expect(across / trials).toBeGreaterThan(0.938);
    expect(across / trials).toBeLessThan(between === 0 ? 1 : 0.985);
  });
});

describe("lack of fit", () => {
  test("by hand: a line through three places, each read twice", () => {
    const x = [0, 0, 1, 1, 2, 2];
    const y = [0, 0.2, 2, 2.2, 1, 1.2];
    const line = fitLine(x, y);
    // Means 0.1, 2.1, 1.1; the line misses them by −1/2, 1, −1/2 (twice each): 3 in all, against 0.06 between replicates.
    const r = lackOfFit(x, y, line.residuals, 2)!;
    expect(r.freedom).toEqual([1, 3]);
    expect(r.f).toBeCloseTo(3 / (0.06 / 3), 9);
    expect(r.pureSd).toBeCloseTo(Math.sqrt(0.02), 12);
  });
  test("without replicates nothing is said", () => {
    expect(lackOfFit([0, 1, 2], [0, 1, 2.1], [0, 0, 0.1], 2)).toBeNull();
    expect(lackOfFit([0, 0, 1, 1], [0, 1, 2, 2], [0, 0, 0, 0], 2)).toBeNull();
  });
});
