import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { differenceNoise, sameLevelNoise } from "../../src/math/floor-noise";
import { createRandom } from "../../src/math/random";

const orders = [2, 3] as const;
const noise = (seed: number, n: number, sd: number) => {
  const random = createRandom(seed);
  return Float64Array.from({ length: n }, () => sd * random.normal());
};

describe("differenceNoise", () => {
  test.each(orders)("order %i gives back the deviation of white noise within 3 %", (order) => {
    expect(Math.abs(differenceNoise(noise(5, 40000, 0.02), order) / 0.02 - 1)).toBeLessThan(0.03);
  });

  test("a swing of twenty times the noise, twenty samples long, adds little to order 3", () => {
    const values = noise(6, 20000, 0.01).map((v, i) => v + 0.1 * Math.sin((2 * Math.PI * i) / 20));
    expect(differenceNoise(values, 3) / 0.01).toBeLessThan(1.2);
  });

  test.each(orders)("jumps in every fifteenth sample hardly count (order %i)", (order) => {
    const values = noise(7, 20000, 0.01).map((v, i) => v + (Math.floor(i / 15) % 2));
    expect(Math.abs(differenceNoise(values, order) / 0.01 - 1)).toBeLessThan(0.35);
  });

  test("a polynomial that the differences take off changes nothing, a factor scales it", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        (seed, slope, factor) => {
          const plain = noise(seed, 200, 1);
          for (const order of orders)
            expect(
              differenceNoise(
                plain.map((v, i) => factor * v + slope * i + 3),
                order,
              ),
            ).toBeCloseTo(factor * differenceNoise(plain, order), 6);
        },
      ),
      { numRuns: 40 },
    );
  });

  test("too few samples are the caller's mistake", () => {
    expect(() => differenceNoise([1, 2, 3], 2)).toThrow(/needs 10 samples, got 3/);
  });
});

describe("sameLevelNoise", () => {
  test("white noise gives its own deviation within 5 %", () => {
    expect(Math.abs(sameLevelNoise(noise(5, 20000, 0.02)) / 0.02 - 1)).toBeLessThan(0.05);
  });

  test("steps of eight deviations that change in most samples do not count", () => {
    const random = createRandom(9);
    let level = 0;
    const values = noise(8, 20000, 0.01).map((v) => {
      if (random.uniform() < 0.7) level += random.uniform() < 0.5 ? -0.08 : 0.08;
      return v + level;
    });
    // Differences of higher order hold a step nearly always.
    expect(differenceNoise(values, 3) / 0.01).toBeGreaterThan(1.5);
    expect(Math.abs(sameLevelNoise(values) / 0.01 - 1)).toBeLessThan(0.1);
  });

  test("values that never change, or hardly any, say nothing", () => {
    expect(sameLevelNoise(new Float64Array(500))).toBe(0);
    expect(sameLevelNoise(Float64Array.of(1, 2, 3))).toBe(0);
  });
});
