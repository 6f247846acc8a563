import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { bandVariance, powerBelow, welch } from "../../src/math/spectrum";

/** Two sines and even noise from a Lehmer generator (multiplier 16807, modulus 2³¹ − 1, first state 123456789), rounded to six decimals. */
function publishedSignal(): Float64Array {
  let state = 123456789;
  return Float64Array.from({ length: 2048 }, (_, i) => {
    const t = i / 50;
    const noise = 0.02 * (state / 2147483647 - 0.5);
    state = Number((BigInt(state) * 16807n) % 2147483647n);
    const value = 2.5 + 0.05 * Math.sin(2 * Math.PI * 0.9 * t + 0.3) + 0.01 * Math.sin(2 * Math.PI * 6 * t) + noise;
    return Math.round(value * 1e6) / 1e6;
  });
}

describe("welch: known answers", () => {
  const signal = publishedSignal();
  const spectrum = welch(signal, 50, 256);

  test("the signal is the published one", () => {
    expect(Array.from(signal.subarray(0, 3))).toEqual([2.505926, 2.521286, 2.544219]);
  });

  test.each([
    [0, 2.11103240824e-5],
    [1, 8.49158481165e-6],
    [2, 2.779528187e-6],
    [4, 0.00261724123815],
    [5, 0.00348648323819],
    [6, 0.000218729771612],
    [9, 8.12421076833e-7],
    [30, 8.06478599901e-5],
    [31, 0.00014213831151],
    [32, 1.31020649637e-5],
    [64, 1.29891710813e-6],
    [115, 6.55266066368e-7],
    [127, 1.99889655979e-6],
    [128, 1.11203230554e-6],
  ])("density of bin %i as scipy.signal.welch 1.10.1 gives it (method: Welch 1967)", (bin, density) => {
    expect(Math.abs(spectrum.density[bin]! / density - 1)).toBeLessThan(1e-9);
  });

  test("bins are 0.1953125 Hz apart, the peak lies at 0.9765625 Hz, and the whole holds 0.00133082666 (same source)", () => {
    expect(spectrum.frequency_Hz[1]).toBe(0.1953125);
    expect(spectrum.frequency_Hz[spectrum.density.indexOf(Math.max(...spectrum.density))]).toBe(0.9765625);
    expect(bandVariance(spectrum, 0, 26)).toBeCloseTo(0.0013308266611387076, 12);
  });

  test("a sine of amplitude a holds a²/2 between frequencies on either side of it", () => {
    const values = Float64Array.from({ length: 8192 }, (_, i) => 0.3 * Math.sin((2 * Math.PI * 1.7 * i) / 20));
    expect(bandVariance(welch(values, 20, 1024), 1.5, 1.9)).toBeCloseTo(0.045, 4);
  });

  test("white noise has the flat density 2σ²/rate", () => {
    const random = createRandom(4);
    const values = Float64Array.from({ length: 65536 }, () => 0.5 * random.normal());
    const { density } = welch(values, 20, 512);
    const mean = density.subarray(2, 255).reduce((s, d) => s + d, 0) / 253;
    expect(Math.abs(mean / 0.025 - 1)).toBeLessThan(0.03);
  });
});

describe("welch: laws", () => {
  const noise = fc.integer({ min: 1, max: 1e6 }).map((seed) => {
    const random = createRandom(seed);
    return Float64Array.from({ length: 512 }, () => random.normal());
  });

  test("a constant added changes nothing, a factor is squared", () => {
    fc.assert(
      fc.property(
        noise,
        fc.double({ min: -50, max: 50, noNaN: true }),
        fc.double({ min: 0.1, max: 9, noNaN: true }),
        (values, level, factor) => {
          const plain = welch(values, 10, 128).density;
          const moved = welch(
            values.map((v) => level + factor * v),
            10,
            128,
          ).density;
          for (let k = 1; k < plain.length; k++) expect(moved[k]!).toBeCloseTo(factor * factor * plain[k]!, 6);
        },
      ),
      { numRuns: 30 },
    );
  });

  test("a clock that runs faster stretches the frequencies and keeps the variance", () => {
    fc.assert(
      fc.property(noise, fc.double({ min: 0.5, max: 200, noNaN: true }), (values, rate) => {
        const slow = welch(values, 1, 128);
        const fast = welch(values, rate, 128);
        expect(fast.frequency_Hz[64]! / slow.frequency_Hz[64]!).toBeCloseTo(rate, 9);
        expect(bandVariance(fast, 0, 2 * rate)).toBeCloseTo(bandVariance(slow, 0, 2), 9);
      }),
      { numRuns: 30 },
    );
  });

  test("powerBelow is the largest power of two that fits", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (n) => {
        const power = powerBelow(n);
        expect(power <= n && 2 * power > n && (power & (power - 1)) === 0).toBe(true);
      }),
    );
  });

  test("a record shorter than a segment is the caller's mistake", () => {
    expect(() => welch(new Float64Array(100), 10, 128)).toThrow(/welch: needs 128 samples, got 100/);
  });
});
