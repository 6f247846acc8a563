import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { countChanges, lowPass, play, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { lookUp, shownValue, steadiness } from "../../src/pipeline/device-model";
import { countShown, createSmoothed } from "../../src/pipeline/display-count";

/** A level that falls, with slosh on it: litres. */
function wavering(seed: number, n: number): { volume_L: Float64Array; trend_L: Float64Array } {
  const random = createRandom(seed);
  const height = 4 * random.uniform();
  const trend_L = Float64Array.from({ length: n }, (_, i) => 40 - (6 * i) / n);
  const volume_L = trend_L.map((t, i) => t + height * Math.sin(0.3 * i) + 0.2 * random.normal());
  return { volume_L, trend_L };
}

describe("counting a pair in one pass", () => {
  test("counts what deadband, displayed step and replay one after the other count", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom(0, 0.1, 0.37, 1.5, 6),
        fc.constantFrom(0.1, 0.5, 1, 2.6),
        fc.constantFrom(0, 1.23, -0.4),
        (seed, deadband_L, step_L, offset_L) => {
          const { volume_L, trend_L } = wavering(seed, 700);
          const held = deadband_L > 0 ? play(volume_L, deadband_L) : volume_L;
          const at = (part: number) => shownValue(held, { step_L, offset_L: offset_L + part * step_L });
          const slow = steadiness(at(0), trend_L, 0.1);
          const quick = countShown(volume_L, trend_L, deadband_L, { step_L, offset_L });
          expect(quick.changes).toBe(slow.changes);
          expect(quick.reversals).toBe(slow.reversals);
          expect(quick.turnsElsewhere).toBe(
            [0.25, 0.5, 0.75].reduce((sum, part) => sum + countChanges(at(part)).reversals, 0),
          );
          expect(Math.sqrt(quick.squares / volume_L.length)).toBeCloseTo(slow.rmsError_L, 10);
        },
      ),
      { numRuns: 200 },
    );
  });

  test("a time constant asked for again after others gives the same volumes", () => {
    const table = [
      { reading: 0, volume_L: 0 },
      { reading: 30, volume_L: 10 },
      { reading: 60, volume_L: 60 },
    ];
    const { volume_L, trend_L } = wavering(4, 500);
    const record = { interval_s: 0.1, reading: volume_L, trend_L, faulty: new Uint8Array(500), across_g: null };
    const smoothed = createSmoothed([record], [volume_L], table);
    for (const timeConstant_s of [0, 2, 9, 2])
      expect([...smoothed(timeConstant_s)[0]!]).toEqual([
        ...lookUp(table, lowPass(volume_L, smoothingFactor(timeConstant_s, 0.1))),
      ]);
  });
});
