import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { crossingRate, crossingsAt, marginFor, rainflow, shareBeyond } from "../../src/math/crossings";
import { autocorrelation, countChanges, lowPass, play, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";

/** Upward crossings of `level` in a record. */
const crossingsOf = (values: Float64Array, level: number) => {
  let n = 0;
  for (let i = 1; i < values.length; i++) if (values[i - 1]! <= level && values[i]! > level) n++;
  return n;
};
const smoothNoise = (seed: number, n: number, timeConstant_s: number, interval_s: number) => {
  const random = createRandom(seed);
  const out = lowPass(
    Float64Array.from({ length: n }, () => random.normal()),
    smoothingFactor(timeConstant_s, interval_s),
  );
  return out.subarray(Math.ceil((10 * timeConstant_s) / interval_s));
};
const sdOf = (v: Float64Array) => Math.sqrt(v.reduce((s, x) => s + x * x, 0) / v.length);

describe("level crossings: known answers", () => {
  test.each([
    [5.773502691896257, 3600, 4.459140740793947],
    [1.0408329997330665, 3600, 4.056774698767722],
    [0.49956273857859684, 3600, 3.8716061365855023],
    [0.9, 600, 3.5472719488526163],
  ])("noise of f₀ %d Hz crosses once in %d s at a margin of %d σ (Rice 1944/45)", (f0_Hz, time_s, margin) => {
    expect(marginFor(1, f0_Hz, 1 / time_s, 0.01)).toBeCloseTo(margin, 9);
    expect(crossingsAt(margin, 1, f0_Hz) * time_s).toBeCloseTo(1, 9);
  });

  test("one per cent of the time needs 2.326 σ, however slow the noise", () => {
    expect(marginFor(2, 1e-6, 1, 0.01)).toBeCloseTo(2 * 2.326348, 4);
    expect(shareBeyond(2.326348, 1)).toBeCloseTo(0.01, 6);
  });

  test.each([
    [1, 0.09],
    [10, 0.29],
    [100, 0.92],
  ])("a 6 s low-pass updated %d times a second crosses its mean %d times a second", (rate_Hz, f0_Hz) => {
    const rho = 1 - smoothingFactor(6, 1 / rate_Hz);
    expect(crossingRate(rho, 1 / rate_Hz)).toBeCloseTo(f0_Hz, 2);
  });
});

describe("level crossings: long simulated Gaussian noise", () => {
  const interval_s = 0.1;
  const noise = smoothNoise(21, 2_000_000, 0.5, interval_s);
  const hours = (noise.length * interval_s) / 3600;

  test("the mean is crossed as often as arccos(ρ)/(2πΔ) says, within 2 %", () => {
    const told = crossingRate(autocorrelation(noise, 1), interval_s) * 3600 * hours;
    expect(Math.abs(crossingsOf(noise, 0) / told - 1)).toBeLessThan(0.02);
  });

  test("a level two σ out is crossed no more often than told: coarse updates err on the safe side", () => {
    const sd = sdOf(noise);
    const told = crossingsAt(2 * sd, sd, crossingRate(autocorrelation(noise, 1), interval_s)) * 3600 * hours;
    const seen = crossingsOf(noise, 2 * sd);
    expect(seen).toBeLessThan(1.05 * told);
    expect(seen).toBeGreaterThan(0.4 * told);
  });
});

describe("rainflow", () => {
  test("a small swing inside a large one is one cycle of its own range", () => {
    const cycles = rainflow(Float64Array.from([0, 10, 4, 7, 0]));
    expect(cycles.filter((c) => c.count === 1)).toEqual([{ range: 3, count: 1 }]);
    expect(cycles.filter((c) => c.count === 0.5).map((c) => c.range)).toEqual([10, 10]);
  });

  test("reversals of a play are twice the cycles of range over 2d, but for the few that are open at the ends", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.double({ min: 0.02, max: 2, noNaN: true }), (seed, d) => {
        const noise = smoothNoise(seed, 3000, 0.5, 0.1);
        const sd = sdOf(noise);
        const cycles = rainflow(noise).filter((c) => c.range > 2 * d * sd);
        const counted = 2 * cycles.reduce((s, c) => s + c.count, 0);
        const direct = countChanges(play(noise, d * sd)).reversals;
        const open = cycles.filter((c) => c.count === 0.5).length;
        expect(Math.abs(direct - counted)).toBeLessThanOrEqual(open + 1);
      }),
      { numRuns: 40 },
    );
  });

  test("all turning points are used up: ranges follow a factor on the record", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.double({ min: 0.1, max: 10, noNaN: true }), (seed, factor) => {
        const noise = smoothNoise(seed, 400, 0.5, 0.1);
        const plain = rainflow(noise);
        const scaled = rainflow(noise.map((v) => factor * v));
        expect(scaled.length).toBe(plain.length);
        for (const [i, c] of scaled.entries()) expect(c.range).toBeCloseTo(factor * plain[i]!.range, 8);
      }),
      { numRuns: 20 },
    );
  });
});
