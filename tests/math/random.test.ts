import { describe, expect, it } from "vitest";
import { createRandom } from "../../src/math/random";

describe("seeded chance", () => {
  it("the same seed gives the same numbers, neighbouring seeds differ from the first draw on", () => {
    const a = createRandom(7);
    const b = createRandom(7);
    expect(Array.from({ length: 5 }, () => a.uniform())).toEqual(Array.from({ length: 5 }, () => b.uniform()));
    const firsts = Array.from({ length: 1000 }, (_, seed) => createRandom(seed).uniform());
    const mean = firsts.reduce((s, x) => s + x, 0) / firsts.length;
    // Mean of 1,000 uniforms: 0.5 with standard deviation 0.0091.
    expect(Math.abs(mean - 0.5)).toBeLessThan(0.037);
    expect(new Set(firsts).size).toBe(1000);
  });

  it("normals have mean 0, variance 1 and kurtosis 3 within their sampling error", () => {
    const random = createRandom(11);
    const n = 200_000;
    let s1 = 0;
    let s2 = 0;
    let s4 = 0;
    for (let i = 0; i < n; i++) {
      const z = random.normal();
      s1 += z;
      s2 += z * z;
      s4 += z ** 4;
    }
    expect(Math.abs(s1 / n)).toBeLessThan(4 / Math.sqrt(n));
    expect(Math.abs(s2 / n - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
    expect(Math.abs(s4 / n - 3)).toBeLessThan(4 * Math.sqrt(96 / n));
  });
});
