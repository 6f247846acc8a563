import { describe, expect, test } from "vitest";
import { profileLimit } from "../../src/math/breakpoint-interval";
import { fitAt, fitPiecewise, whitener } from "../../src/math/breakpoints";
import { createRandom } from "../../src/math/random";

const jobs = 200;

describe("intervals of breakpoints", () => {
  for (const [n, k, known] of [
    [12, 1, false],
    [20, 2, false],
    [15, 1, true],
  ] as const)
    test(`${n} points, ${k} breaks, ${known ? "errors known" : "errors estimated"}: 95 % intervals hold the truth in 91 to 99.5 %`, () => {
      const breaks = k === 1 ? [0.45] : [0.3, 0.65];
      let held = 0;
      let byError = 0;
      for (let seed = 1; seed <= jobs; seed++) {
        const random = createRandom(seed);
        const x = Array.from({ length: n }, (_, i) => i / (n - 1));
        const y = x.map(
          (v) =>
            v + breaks.reduce((s, b, j) => s + (j === 0 ? 1.2 : -1.5) * Math.max(0, v - b), 0) + 0.03 * random.normal(),
        );
        const covariance = known ? x.map((_, i) => x.map((_, j) => (i === j ? 0.03 ** 2 : 0))) : null;
        const fit = fitPiecewise(x, y, k, covariance, { search: "fast" })!;
        fit.breakpoints.forEach((b, j) => {
          if (b.lower <= breaks[j]! && breaks[j]! <= b.upper) held++;
          if (Math.abs(b.at - breaks[j]!) <= 1.96 * (b.standardError ?? Number.POSITIVE_INFINITY)) byError++;
        });
      }
      const share = held / (jobs * k);
      expect(share).toBeGreaterThanOrEqual(0.91);
      expect(share).toBeLessThanOrEqual(0.995);
      // Why the profile is computed at all: the usual standard error covers less.
      expect(byError / (jobs * k)).toBeLessThan(share);
    });

  test("a break that the points do not place has no standard error, and an interval that may reach both ends", () => {
    const random = createRandom(11);
    const x = Array.from({ length: 14 }, (_, i) => i / 13);
    // A straight line: any break is as good as any other, and the linearised error grows without bound as the bend vanishes.
    for (const noise of [0, 1e-12, 0.03]) {
      const y = x.map((v) => v + noise * random.normal());
      const covariance = x.map((_, i) => x.map((_, j) => (i === j ? 0.03 ** 2 : 0)));
      const [b] = fitPiecewise(x, y, 1, covariance)!.breakpoints;
      expect(b!.standardError === null || b!.standardError < 1).toBe(true);
      if (noise < 0.03) expect([b!.standardError, b!.lower <= 0.1, b!.upper >= 0.9]).toEqual([null, true, true]);
    }
  });

  test("the end of an interval is where the least sum of squares meets its limit (one break, by plain scan)", () => {
    const random = createRandom(3);
    const x = Array.from({ length: 20 }, (_, i) => i / 19);
    const y = x.map((v) => v + 1.5 * Math.max(0, v - 0.5) + 0.05 * random.normal());
    const fit = fitPiecewise(x, y, 1)!;
    const limit = profileLimit(fit.sse, 16, false);
    const inside = Array.from({ length: 20001 }, (_, i) => x[1]! + ((x[18]! - x[1]!) * i) / 20000).filter(
      (b) => fitAt(x, y, null, [b]).sse <= limit,
    );
    expect(fit.breakpoints[0]!.lower).toBeCloseTo(inside[0]!, 3);
    expect(fit.breakpoints[0]!.upper).toBeCloseTo(inside[inside.length - 1]!, 3);
  });

  test("known errors that are met do not narrow the interval, larger ones widen it", () => {
    expect(profileLimit(5, 10, true)).toBeCloseTo(5 + 3.8414588, 6);
    expect(profileLimit(40, 10, true)).toBeCloseTo(40 + 4 * 2.2281389 ** 2, 5);
    expect(() => whitener([[0]], 1)).toThrow("positive definite");
  });
});
