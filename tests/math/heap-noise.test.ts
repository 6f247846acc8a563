import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { heapNoise } from "../../src/math/heap-noise";
import { createRandom } from "../../src/math/random";

const even = (values: Float64Array) => values.map(() => 1);

/** A float over turns of wire `turn` apart, another one in nearly every sample. */
function wire(seed: number, n: number, sd: number, turn: number): Float64Array {
  const random = createRandom(seed);
  let float = 30 * turn;
  return Float64Array.from({ length: n }, () => {
    float += 1.5 * turn * random.normal();
    float = Math.min(60 * turn, Math.max(0, float));
    return turn * Math.round(float / turn) + sd * random.normal();
  });
}

describe("heapNoise", () => {
  test.each([3, 4, 8])("turns %d deviations apart, gone over in every sample, do not count", (turns) => {
    const values = wire(3, 12000, 0.005, 0.005 * turns);
    expect(Math.abs(heapNoise(values, even(values), 1e-5) / 0.005 - 1)).toBeLessThan(0.04);
  });

  test("turns that are even in resistance and read through a pull-up are taken on their own scale", () => {
    const random = createRandom(4);
    const ohms = wire(5, 15000, 0, 1.5).map((r) => r + 10);
    const volts = ohms.map((r) => (5 * r) / (r + 100) + 0.004 * random.normal());
    const places = volts.map((v) => v / (5 - v));
    const stretch = volts.map((v) => 5 / (5 - v) ** 2);
    expect(Math.abs(heapNoise(places, stretch, 1e-5) / 0.004 - 1)).toBeLessThan(0.05);
    // On the scale of the volts the heaps stand unevenly, and little stands out.
    expect(heapNoise(volts, even(volts), 1e-5) / 0.004).toBeGreaterThan(1.2);
  });

  test("is never less than the noise, whatever the float does", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom("still", "swings", "two places", "wire"),
        fc.double({ min: 0.2, max: 40, noNaN: true }),
        (seed, motion, size) => {
          const random = createRandom(seed);
          const turns = wire(seed, 4000, 0, size);
          const values = Float64Array.from({ length: 4000 }, (_, i) => {
            const float = {
              still: 0,
              swings: size * Math.sin(i / 7.3),
              "two places": i % 900 < 300 ? size : 0,
              wire: turns[i]!,
            }[motion];
            return float + random.normal();
          });
          expect(heapNoise(values, even(values), 0.01)).toBeGreaterThan(0.93);
        },
      ),
      { numRuns: 40 },
    );
  });

  test("a converter's own steps, written in few digits, and a rail are no heaps of the sender", () => {
    const random = createRandom(8);
    const step = 5 / 4095;
    const values = Float64Array.from({ length: 40000 }, (_, i) => {
      const v = 2 + 0.6 * Math.sin(i / 41) + 0.006 * random.normal();
      return i % 100 === 0 ? 0 : Number((Math.round(v / step) * step).toFixed(4));
    });
    expect(heapNoise(values, even(values), 0.0012) / 0.006).toBeGreaterThan(0.97);
  });

  test("few samples, or one value, say nothing", () => {
    expect(heapNoise(wire(1, 500, 1, 4), new Float64Array(500).fill(1), 0.01)).toBe(Number.POSITIVE_INFINITY);
    const still = new Float64Array(3000).fill(2);
    expect(heapNoise(still, even(still), 0.01)).toBe(Number.POSITIVE_INFINITY);
  });
});
