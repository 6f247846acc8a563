import { describe, expect, test } from "vitest";
import { batchMean, effectiveSamples, levelStretches, settlingSamples, steadyEnd } from "../../src/math/plateaus";
import { createRandom } from "../../src/math/random";

/** Noise of an AR(1) process with unit standard deviation. */
function ar1(n: number, rho: number, seed: number): Float64Array {
  const random = createRandom(seed);
  const x = new Float64Array(n);
  x[0] = random.normal();
  for (let i = 1; i < n; i++) x[i] = rho * x[i - 1]! + Math.sqrt(1 - rho * rho) * random.normal();
  return x;
}

describe("effectiveSamples", () => {
  test("is n without correlation, and n(1 − ρ)/(1 + ρ) for a long AR(1) series", () => {
    expect(effectiveSamples(50, () => 0)).toBe(50);
    const n = 20000;
    expect(effectiveSamples(n, (k) => 0.8 ** k) / n).toBeCloseTo(0.2 / 1.8, 4);
  });

  test("keeps the signs of slosh: a negative neighbour is worth more than independence", () => {
    expect(effectiveSamples(100, (k) => (-0.5) ** k)).toBeGreaterThan(100);
  });
});

describe("batchMean", () => {
  test("of a constant is that constant, known exactly", () => {
    const found = batchMean(new Float64Array(80).fill(2.5), 5);
    expect([found.mean, found.standardError, found.batches]).toEqual([2.5, 0, 8]);
  });

  test("± 1.96 standard errors hold the true mean in about 95 % of plateaus, white and sloshing", () => {
    for (const make of [
      (seed: number) => ar1(400, 0, seed),
      (seed: number) => {
        // Slosh of 0.9 Hz seen at 10 Hz, phase wandering, over white noise.
        const random = createRandom(seed);
        let phase = 7 * random.uniform();
        return Float64Array.from({ length: 400 }, () => {
          phase += 2 * Math.PI * 0.09 + 0.12 * random.normal();
          return 2 * Math.cos(phase) + 0.3 * random.normal();
        });
      },
    ]) {
      let inside = 0;
      for (let seed = 1; seed <= 400; seed++) {
        const found = batchMean(make(seed), 34);
        if (Math.abs(found.mean) <= 1.96 * found.standardError) inside++;
      }
      // 400 trials: 95 % has a standard deviation of 1.1 %.
      expect(inside / 400).toBeGreaterThan(0.92);
      expect(inside / 400).toBeLessThan(0.995);
    }
  });

  test("with too few batches the whole spread is the uncertainty", () => {
    const found = batchMean([1, 2, 3, 4], 2);
    expect(found.standardError).toBeCloseTo(found.sd, 12);
    expect(() => batchMean([], 2)).toThrow("batchMean: needs at least one value");
  });
});

describe("levelStretches", () => {
  test("finds the levels between quick rises, and none in a ramp", () => {
    const random = createRandom(5);
    const stairs = Float64Array.from({ length: 900 }, (_, i) => {
      const k = Math.floor(i / 300);
      const rise = Math.min(1, (i - 300 * k) / 100);
      return (k === 0 ? 0 : k - 1 + rise) + 0.002 * random.normal();
    });
    const found = levelStretches(stairs, 20);
    expect(found).toHaveLength(3);
    for (const [k, s] of found.entries()) {
      expect(Math.abs(s.to - 300 * (k + 1))).toBeLessThanOrEqual(40);
      expect(Math.abs(s.from - (k === 0 ? 0 : 300 * k + 100))).toBeLessThanOrEqual(40);
    }
    expect(
      levelStretches(
        Float64Array.from({ length: 10 }, (_, i) => i),
        20,
      ),
    ).toEqual([]);
  });
});

describe("settlingSamples", () => {
  test("drops the slosh at the head, and nothing of a level record", () => {
    const random = createRandom(6);
    const quiet = Float64Array.from({ length: 400 }, () => 0.01 * random.normal());
    expect(settlingSamples(quiet, 20)).toBeLessThanOrEqual(40);
    const sloshing = quiet.map((v, i) => v + Math.exp(-i / 40) * Math.cos(i / 2));
    const dropped = settlingSamples(sloshing, 20);
    expect(dropped).toBeGreaterThanOrEqual(80);
    expect(dropped).toBeLessThanOrEqual(240);
  });
});

describe("steadyEnd", () => {
  test("keeps all of a level record, sloshing head or not", () => {
    const random = createRandom(7);
    let cut = 0;
    for (let k = 0; k < 100; k++) {
      const level = Float64Array.from({ length: 400 }, (_, i) => 0.01 * random.normal() + 0.05 * Math.exp(-i / 20));
      if (steadyEnd(level, 10) < 400) cut++;
    }
    expect(cut).toBeLessThanOrEqual(5);
  });

  test("cuts the rise of the next pour, to within two blocks", () => {
    const random = createRandom(8);
    for (const turn of [200, 260, 320]) {
      const rising = Float64Array.from({ length: 400 }, (_, i) => Math.max(0, i - turn) / 100 + 0.01 * random.normal());
      expect(Math.abs(steadyEnd(rising, 10) - turn)).toBeLessThanOrEqual(20);
    }
  });
});
