import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { countChanges, lowPass, play, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { steadiness } from "../../src/pipeline/device-counts";
import { lookUp, shownValue } from "../../src/pipeline/device-table";
import { countShown, createSmoothed, sumTrend } from "../../src/pipeline/display-count";

/** A level that falls, with slosh on it: litres, and the readings of a table for it. */
function wavering(seed: number, n: number) {
  const random = createRandom(seed);
  const height = 4 * random.uniform();
  const trend_L = Float64Array.from({ length: n }, (_, i) => 40 - (6 * i) / n);
  const reading = trend_L.map((t, i) => t + height * Math.sin(0.3 * i) + 0.2 * random.normal());
  return { interval_s: 0.1, reading, trend_L, faulty: new Uint8Array(n), across_g: null };
}

const tables = {
  straight: [
    { reading: 0, volume_L: 0 },
    { reading: 90, volume_L: 90 },
  ],
  bent: [
    { reading: 20, volume_L: 5 },
    { reading: 36, volume_L: 30 },
    { reading: 39, volume_L: 41 },
    { reading: 43, volume_L: 42 },
  ],
  falling: [
    { reading: 30, volume_L: 50 },
    { reading: 38, volume_L: 44 },
    { reading: 45, volume_L: 20 },
  ],
  turning: [
    { reading: 30, volume_L: 20 },
    { reading: 38, volume_L: 44 },
    { reading: 45, volume_L: 30 },
  ],
};

describe("counting a pair in one pass", () => {
  test("counts what low-pass, table, deadband, displayed step and replay count one after the other", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.integer({ min: 1, max: 900 }),
        fc.constantFrom(...(Object.keys(tables) as (keyof typeof tables)[])),
        fc.constantFrom(0, 0.5, 2, 8),
        fc.constantFrom(0, 0.1, 0.37, 1.5, 6),
        fc.constantFrom(0.1, 0.5, 1, 2.6),
        fc.constantFrom(0, 1.23, -0.4),
        fc.constantFrom("reading-then-table" as const, "table-then-filter" as const),
        (seed, n, kind, timeConstant_s, deadband_L, step_L, offset_L, order) => {
          const record = wavering(seed, n);
          const table = tables[kind];
          const factor = smoothingFactor(timeConstant_s, 0.1);
          const volume_L =
            order === "reading-then-table"
              ? lookUp(table, lowPass(record.reading, factor))
              : lowPass(lookUp(table, record.reading), factor);
          const held = deadband_L > 0 ? play(volume_L, deadband_L) : volume_L;
          // What lies on the edge between two digits to the last bit turns or stays by the order of the sums: no count is the right one.
          const places = Array.from(held, (v) => (4 * (v - offset_L)) / step_L);
          fc.pre(places.every((p) => Math.abs(p - Math.round(p)) > 1e-9));
          const at = (part: number) => shownValue(held, { step_L, offset_L: offset_L + part * step_L });
          const slow = steadiness(at(0), record);
          // Parked in the middle third: what turns there is in no count, whichever way it is counted.
          const parked = Uint8Array.from({ length: n }, (_, i) => (i >= n / 3 && i < (2 * n) / 3 ? 1 : 0));
          const driven = steadiness(at(0), { ...record, parked });
          const [smoothed] = createSmoothed([record], [record.reading], table, order)(timeConstant_s);
          const quick = countShown(smoothed!, sumTrend(record.trend_L), deadband_L, { step_L, offset_L }, 4);
          const alone = countShown(smoothed!, sumTrend(record.trend_L), deadband_L, { step_L, offset_L }, 1);
          for (const figure of ["changes", "reversals", "sum", "squares"] as const)
            expect(alone[figure]).toBe(quick[figure]);
          const masked = countShown(
            smoothed!,
            sumTrend(record.trend_L),
            deadband_L,
            { step_L, offset_L },
            4,
            0,
            parked,
          );
          expect([masked.changes, masked.reversals]).toEqual([driven.changes, driven.reversals]);
          expect(driven.changes + driven.parkedChanges).toBe(slow.changes);
          expect([masked.sum, masked.squares]).toEqual([quick.sum, quick.squares]);
          expect(quick.changes).toBe(slow.changes);
          expect(quick.reversals).toBe(slow.reversals);
          expect(quick.turnsElsewhere).toBe(
            [0.25, 0.5, 0.75].reduce((sum, part) => sum + countChanges(at(part)).reversals, 0),
          );
          expect(Math.sqrt(quick.squares / n)).toBeCloseTo(slow.rmsError_L, 9);
          expect(quick.sum / n).toBeCloseTo(slow.meanError_L, 9);
          // What stands behind the deadband, to the middle of a quarter of a step, from a later sample on.
          const since = n >> 1;
          const later = countShown(smoothed!, sumTrend(record.trend_L), deadband_L, { step_L, offset_L }, 4, since);
          const off = Array.from(held, (v, i) => {
            const quarter = Math.floor((4 * (v - offset_L)) / step_L);
            return offset_L + ((quarter + 0.5) * step_L) / 4 - record.trend_L[i]!;
          }).slice(since);
          expect(later.heldSamples).toBe(off.length);
          expect(later.heldSum / off.length).toBeCloseTo(off.reduce((a, b) => a + b, 0) / off.length, 9);
          expect(later.heldSquares / off.length).toBeCloseTo(off.reduce((a, b) => a + b * b, 0) / off.length, 8);
          expect({ ...later, heldSum: 0, heldSquares: 0, heldSamples: 0 }).toEqual({
            ...quick,
            heldSum: 0,
            heldSquares: 0,
            heldSamples: 0,
          });
        },
      ),
      { numRuns: 600 },
    );
  });

  test.each(["reading-then-table", "table-then-filter"] as const)(
    "a pair asked for again after others counts the same: %s",
    (order) => {
      const record = wavering(4, 500);
      const smoothed = createSmoothed([record], [record.reading], tables.bent, order);
      const trend = sumTrend(record.trend_L);
      const count = (timeConstant_s: number, deadband_L: number) =>
        countShown(smoothed(timeConstant_s)[0]!, trend, deadband_L, { step_L: 1, offset_L: 0 }, 4);
      const first = count(2, 0.2);
      for (const timeConstant_s of [0, 9, 0.5]) count(timeConstant_s, 1);
      expect(count(2, 0.2)).toEqual(first);
      expect(first.reversals).toBeGreaterThan(3);
    },
  );
});
