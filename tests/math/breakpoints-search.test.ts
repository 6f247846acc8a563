/** The search against brute force, in both modes, with and without a covariance. */
import { describe, expect, test } from "vitest";
import { fitAt, fitPiecewise, whitener } from "../../src/math/breakpoints";
import { createRandom } from "../../src/math/random";

interface Small {
  x: number[];
  y: number[];
  covariance: number[][] | null;
}

/** Noise that adds up along x, places uneven and some repeated. */
function small(seed: number, n: number, whitened: boolean): Small {
  const random = createRandom(seed);
  const x = Array.from({ length: n }, () => Math.round(30 * random.uniform()) / 10).sort((a, b) => a - b);
  let sum = 0;
  const y = x.map((v) => {
    sum += 0.1 * random.normal();
    return 2 * v + 3 * Math.max(0, v - 1) - 4 * Math.max(0, v - 2) + sum + 0.1 * random.normal();
  });
  const covariance = x.map((_, i) => x.map((_, j) => 0.01 * (Math.min(i, j) + 1) + (i === j ? 0.01 : 0)));
  return { x, y, covariance: whitened ? covariance : null };
}

/** Least sum of squares over every choice of k places of a grid in which each piece keeps two distinct readings of its own. */
function bruteForce({ x, y, covariance }: Small, k: number, perGap: number): number {
  const l = covariance ? whitener(covariance, x.length) : null;
  const distinct = [...new Set(x)].sort((a, b) => a - b);
  const grid = distinct.slice(0, -1).flatMap((v, g) => {
    const width = distinct[g + 1]! - v;
    return Array.from({ length: perGap }, (_, i) => ({ gap: g, at: v + (width * i) / perGap }));
  });
  let least = Number.POSITIVE_INFINITY;
  const walk = (chosen: { gap: number; at: number }[], start: number) => {
    if (chosen.length === k) {
      least = Math.min(
        least,
        fitAt(
          x,
          y,
          l,
          chosen.map((c) => c.at),
        ).sse,
      );
      return;
    }
    for (let i = start; i < grid.length; i++) {
      const from = chosen[chosen.length - 1]?.gap ?? -1;
      if (grid[i]!.gap >= from + 2 && grid[i]!.gap <= distinct.length - 3) walk([...chosen, grid[i]!], i + 1);
    }
  };
  walk([], 0);
  return least;
}

describe("search of breakpoints", () => {
  for (const whitened of [false, true])
    for (const [k, n, perGap] of [
      [1, 14, 40],
      [2, 14, 8],
      [3, 13, 4],
    ] as const)
      test(`${k} of ${n} points, ${whitened ? "whitened" : "plain"}: never worse than all places of a grid, in either mode`, () => {
        for (let seed = 1; seed <= 8; seed++) {
          const set = small(seed, n, whitened);
          const least = bruteForce(set, k, perGap);
          for (const search of ["exact", "fast"] as const) {
            const fit = fitPiecewise(set.x, set.y, k, set.covariance, { search });
            if (fit === null) expect(least).toBe(Number.POSITIVE_INFINITY);
            else expect(fit.sse).toBeLessThanOrEqual(least * (1 + 1e-9));
          }
        }
      });

  test("the points in any order, in any units, give the same breakpoints", () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { x, y } = small(seed, 24, false);
      const fit = fitPiecewise(x, y, 3)!;
      const order = x.map((_, i) => i).sort((a, b) => ((a * 7) % 24) - ((b * 7) % 24));
      const turned = fitPiecewise(
        order.map((i) => 5 - 100 * x[i]!),
        order.map((i) => 0.01 * y[i]!),
        3,
      )!;
      expect(turned.sse).toBeCloseTo(1e-4 * fit.sse, 12);
      const back = turned.breakpoints.map((b) => (5 - b.at) / 100).reverse();
      back.forEach((b, j) => {
        expect(b).toBeCloseTo(fit.breakpoints[j]!.at, 6);
      });
    }
  });

  test("every piece keeps its least number of distinct readings", () => {
    for (let seed = 1; seed <= 10; seed++)
      for (const least of [2, 3, 4]) {
        const { x, y } = small(seed, 30, false);
        const fit = fitPiecewise(x, y, 2, null, { leastPoints: least })!;
        const distinct = [...new Set(x)];
        const edges = [Number.NEGATIVE_INFINITY, ...fit.breakpoints.map((b) => b.at), Number.POSITIVE_INFINITY];
        for (let i = 0; i + 1 < edges.length; i++)
          // A breakpoint on a reading leaves it to either side.
          expect(
            distinct.filter((v) => v >= edges[i]! - 1e-9 && v <= edges[i + 1]! + 1e-9).length,
          ).toBeGreaterThanOrEqual(least);
      }
  });

  test("more breakpoints never fit worse, and an exact line leaves nothing", () => {
    const { x, y } = small(3, 40, false);
    let last = Number.POSITIVE_INFINITY;
    for (let k = 1; k <= 5; k++) {
      const { sse } = fitPiecewise(x, y, k, null, { search: "fast" })!;
      expect(sse).toBeLessThanOrEqual(last);
      last = sse;
    }
    const exact = x.map((v) => 1 + v + 2 * Math.max(0, v - 0.73) - 3 * Math.max(0, v - 1.98));
    expect(fitPiecewise(x, exact, 2)!.sse).toBeLessThan(1e-18 * x.length);
    expect(fitPiecewise(x, exact, 4, null, { search: "fast" })!.sse).toBeLessThan(1e-18 * x.length);
  });
});
