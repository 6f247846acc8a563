/** How often a short piece of a fit is warned of: where there is nothing but noise, and where the jump is real. */
import { describe, expect, test } from "vitest";
import { fitPiecewise } from "../../src/math/breakpoints";
import { findSpikes } from "../../src/math/piecewise-spike";
import { createRandom } from "../../src/math/random";

const jobs = 60;

/** AR(1) noise of standard deviation `sd` about a truth; two breakpoints are fitted. Counts fits with a short piece, and warnings. */
function count(n: number, rho: number, sd: number, truth: (x: number) => number): { short: number; warned: number } {
  let short = 0;
  let warned = 0;
  for (let seed = 1; seed <= jobs; seed++) {
    const random = createRandom(seed);
    const x = Array.from({ length: n }, (_, i) => i / (n - 1));
    let state = random.normal();
    const y = x.map((v) => {
      const e = state;
      state = rho * state + Math.sqrt(1 - rho * rho) * random.normal();
      return truth(v) + sd * e;
    });
    const fit = fitPiecewise(x, y, 2, null, { search: "fast" })!;
    const [from, to] = fit.breakpoints.map((b) => b.at);
    if (x.filter((v) => v > from! && v <= to!).length <= Math.max(4, n / 8)) short++;
    if (findSpikes(x, y, null, fit).length > 0) warned++;
  }
  return { short, warned };
}

const line = (v: number) => v;
/** A rise of ten noise deviations within three readings. */
const jump = (n: number) => (v: number) => v + 0.1 * n * (Math.max(0, v - 0.5) - Math.max(0, v - 0.5 - 3 / n));

describe("findSpikes", () => {
  test("of short pieces that correlated noise alone has made, at least 85 % are warned of at correlation 0.6, 75 % at 0.9", () => {
    for (const n of [20, 40, 60]) {
      const some = count(n, 0.6, 0.05, line);
      expect(some.short).toBeGreaterThan(20);
      expect(some.warned / some.short).toBeGreaterThanOrEqual(0.85);
      const strong = count(n, 0.9, 0.05, line);
      expect(strong.warned / strong.short).toBeGreaterThanOrEqual(0.75);
    }
  });
  test("a real jump of ten noise deviations is warned of in at most 2 % at 40 and 60 points, 35 % at 20", () => {
    for (const n of [20, 40, 60])
      for (const rho of [0, 0.6]) {
        const real = count(n, rho, 0.03, jump(n));
        expect(real.short).toBeGreaterThan(jobs / 2);
        expect(real.warned / jobs).toBeLessThanOrEqual(n === 20 ? 0.35 : 0.02);
      }
  });
  test("pieces of many points are never called a spike", () => {
    const { short, warned } = count(40, 0.6, 0.03, (v) => v + 1.5 * Math.max(0, v - 0.3) - 1.5 * Math.max(0, v - 0.7));
    expect(short).toBe(0);
    expect(warned).toBe(0);
  });
});
