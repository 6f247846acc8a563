import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { steadiness } from "../../src/pipeline/device-counts";
import { type DeviceSettings, replay } from "../../src/pipeline/device-model";
import { atDeviceRate, type DeviceRecord } from "../../src/pipeline/device-record";
import { lookUp } from "../../src/pipeline/device-table";
import { columnsOf } from "./log-columns";

const table = [
  { reading: 1, volume_L: 0 },
  { reading: 2, volume_L: 40 },
  { reading: 3, volume_L: 60 },
];
const shown = { step_L: 1, offset_L: 0 };
const before = "reading-then-table" as const;
const behind = "table-then-filter" as const;
const noisy = (seed: number, n: number) => {
  const random = createRandom(seed);
  return columnsOf(
    Array.from({ length: n }, (_, i) => i / 10),
    Array.from({ length: n }, () => 2 + 0.1 * random.normal()),
  );
};

describe("the device", () => {
  test("joins table rows by straight lines and holds the end values outside", () => {
    expect(Array.from(lookUp(table, Float64Array.from([0, 1, 1.5, 2, 2.5, 3, 7])))).toEqual([0, 0, 20, 40, 50, 60, 60]);
  });

  test("with nothing set shows the table's volume in displayed steps, counted in its own base", () => {
    const record = atDeviceRate(columnsOf([0, 1, 2], [1.51, 1.52, 1.54]), 1, null, null);
    const run = (offset_L: number) =>
      Array.from(
        replay(record, {
          order: before,
          timeConstant_s: 0,
          deadband_L: 0,
          deadbandKind: "play",
          faultLimits: false,
          table,
          shown: { step_L: 1, offset_L },
        }).shown_L,
      );
    expect(run(0)).toEqual([20, 21, 22]);
    for (const v of run(1.3)) expect(Math.abs(((v - 1.3) % 1) - Math.round((v - 1.3) % 1))).toBeLessThan(1e-9);
  });

  test("what is shown is never further from the smoothed volume than the deadband and half a step", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.double({ min: 0, max: 20, noNaN: true }),
        fc.double({ min: 0, max: 3, noNaN: true }),
        fc.constantFrom("play" as const, "jump" as const),
        (seed, timeConstant_s, deadband_L, deadbandKind) => {
          const record = atDeviceRate(noisy(seed, 400), 10, null, null);
          const run = replay(record, {
            order: before,
            timeConstant_s,
            deadband_L,
            deadbandKind,
            faultLimits: false,
            table,
            shown,
          });
          for (let i = 0; i < run.shown_L.length; i++)
            expect(Math.abs(run.shown_L[i]! - run.smoothed_L[i]!)).toBeLessThanOrEqual(deadband_L + 0.5 + 1e-9);
        },
      ),
      { numRuns: 40 },
    );
  });

  test("a record that never moves never changes its digit", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 3.5, noNaN: true }),
        fc.double({ min: 0, max: 60, noNaN: true }),
        (at, timeConstant_s) => {
          const record = atDeviceRate(
            columnsOf(
              Array.from({ length: 50 }, (_, i) => i / 10),
              Array.from({ length: 50 }, () => at),
            ),
            10,
            null,
            null,
          );
          const run = replay(record, {
            order: before,
            timeConstant_s,
            deadband_L: 0,
            deadbandKind: "play",
            faultLimits: false,
            table,
            shown,
          });
          expect(steadiness(run.shown_L, record)).toMatchObject({ changes: 0, reversals: 0 });
        },
      ),
    );
  });

  test("ten seconds of smoothing hold the digit of white noise that the bare reading changes all the time", () => {
    const record = atDeviceRate(noisy(8, 6000), 10, null, null);
    const run = (timeConstant_s: number) =>
      steadiness(
        replay(record, {
          order: before,
          timeConstant_s,
          deadband_L: 0.3,
          deadbandKind: "play",
          faultLimits: false,
          table,
          shown,
        }).shown_L,
        record,
      );
    expect(run(0).reversals).toBeGreaterThan(1000);
    expect(run(10).reversals).toBeLessThan(0.05 * run(0).reversals);
  });
});

describe("a device that smooths the volume", () => {
  const set = (order: typeof before | typeof behind, over: Partial<DeviceSettings> = {}): DeviceSettings => ({
    order,
    timeConstant_s: 5,
    deadband_L: 0,
    deadbandKind: "play",
    faultLimits: false,
    table,
    shown,
    ...over,
  });
  /** White noise about 2, at ten updates a second. */
  const still = (seed: number, n: number, sd: number, middle = 2): DeviceRecord => {
    const random = createRandom(seed);
    return {
      interval_s: 0.1,
      reading: Float64Array.from({ length: n }, () => middle + sd * random.normal()),
      trend_L: new Float64Array(n),
      faulty: new Uint8Array(n),
      across_g: null,
    };
  };
  /** Mean once the filter has settled. */
  const meanOf = (values: Float64Array) => values.subarray(1000).reduce((s, v) => s + v / (values.length - 1000), 0);

  test("shows half the bend times the variance more than the curve means, to the standard error; one that smooths the reading does not", () => {
    const litres = (r: number) => 4 * r * r;
    const quadratic = Array.from({ length: 4001 }, (_, i) => ({ reading: i / 1000, volume_L: litres(i / 1000) }));
    const record = still(3, 60_000, 0.1);
    const [smoothed, ofReading] = [behind, before].map((order) =>
      meanOf(replay(record, set(order, { table: quadratic, timeConstant_s: 20 })).smoothed_L),
    ) as [number, number];
    // ½·g″·σ² = ½·8·0.01 = 0.04 L over g of the mean reading; where the filter stands at both ends of the record is worth 0.0005 L of a mean.
    const mean = meanOf(record.reading);
    expect(Math.abs(smoothed - litres(mean) - 0.04)).toBeLessThan(0.0012);
    expect(Math.abs(ofReading - litres(mean))).toBeLessThan(0.001);
    // Between both orders that falls out: the record's own variance, less the α/(2 − α) of it that the low-pass leaves to be bent.
    const variance = meanOf(record.reading.map((r) => (r - mean) ** 2));
    const a = smoothingFactor(20, 0.1);
    expect((smoothed - ofReading) / (0.5 * 8 * variance * (1 - a / (2 - a)))).toBeCloseTo(1, 2);
  });

  test("shows the same as one that smooths the reading, where the table is one straight line and no end is reached", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.double({ min: 0, max: 40, noNaN: true }),
        fc.boolean(),
        fc.constantFrom(
          undefined,
          { medianOf: 3, holdOver_g: null, rateLimit_L_per_s: 0.4, refuel: null },
          { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: { rise_L: 2, seconds: 1 } },
        ),
        (seed, timeConstant_s, falls, features) => {
          const straight = [0, 4].map((reading) => ({ reading, volume_L: falls ? 60 - 15 * reading : 15 * reading }));
          const over = { table: straight, timeConstant_s, ...(features && { features }) };
          const record = still(seed, 400, 0.2);
          const [a, b] = [before, behind].map((order) => replay(record, set(order, over)).smoothed_L);
          for (let i = 0; i < 400; i++) expect(Math.abs(a![i]! - b![i]!)).toBeLessThan(1e-6);
        },
      ),
      { numRuns: 60 },
    );
  });

  test("never quite reaches an end while noise crosses it: what lies beyond is cut off before it is smoothed", () => {
    // Standing on the end row, half of the noise counts: 40 L a unit times σ/√(2π).
    const record = still(5, 60_000, 0.05, 1);
    const lifted = meanOf(replay(record, set(behind, { timeConstant_s: 20 })).smoothed_L);
    expect(lifted / ((40 * 0.05) / Math.sqrt(2 * Math.PI))).toBeCloseTo(1, 1);
    const ofReading = meanOf(replay(record, set(before, { timeConstant_s: 20 })).smoothed_L);
    expect(ofReading).toBeLessThan(0.2 * lifted);
  });
});
