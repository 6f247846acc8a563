import { describe, expect, it } from "vitest";
import { liftNearEmpty, movingOf } from "../../src/pipeline/end-motion";
import type { EndCurve } from "../../src/pipeline/end-replay";
import type { Job } from "../../src/pipeline/job";

/** Readings 0 to 10; a narrow foot of one litre a unit up to 5, then four litres a unit. */
const volumeOf = (reading: number) => (reading <= 5 ? reading : 5 + 4 * (reading - 5));
const grid = Array.from({ length: 101 }, (_, i) => ({ reading: i / 10, volume_L: volumeOf(i / 10) }));
const curve = {
  sense: 1,
  readingUnit: "V",
  grid,
  overall: { emptyReading: 0, fullReading: 10 },
} as unknown as EndCurve;
const job = { circuit: { kind: "none" }, device: { rate_Hz: 10 } } as unknown as Job;
const n = 6000;

/** Ten minutes at reading 8 with a square wave of this height on it. */
const log = (height: number) => ({
  from_L: volumeOf(8),
  to_L: volumeOf(8),
  burn_L_per_h: 0,
  columns: {
    time_s: Float64Array.from({ length: n }, (_, i) => i / 10),
    reading: Float64Array.from({ length: n }, (_, i) => 8 + (i % 20 < 10 ? height : -height)),
    volume_L: new Float64Array(n),
    trend_L: new Float64Array(n).fill(volumeOf(8)),
    mark: new Uint8Array(n),
    even: { reading: new Float64Array(n), first: 0 },
    along_g: null,
    across_g: null,
    speed_kmh: null,
    flow_L_per_h: null,
    supply_V: null,
  },
});
const lift = (level_L: number, turning_L: number, height: number) =>
  liftNearEmpty(level_L, turning_L, movingOf([log(height)], curve, { low: null, high: null }, job), curve, job);

describe("liftNearEmpty", () => {
  it("a turning course lifts the fuel by the same height near empty: there it is as many litres less as the surface is narrower", () => {
    expect(lift(2, 4, 0)).toBeCloseTo(1, 6);
  });

  it("motion that the stop cuts off below lifts the mean by what is cut off: half its height at the stop, nothing clear of it", () => {
    expect(lift(0, 0, 1)).toBeCloseTo(0.5, 3);
    expect(lift(0.4, 0, 1)).toBeCloseTo(0.3, 3);
    expect(lift(2, 0, 1)).toBeCloseTo(0, 3);
  });

  it("a course that leans the sender's side down lifts nothing", () => {
    expect(lift(2, -4, 1)).toBe(0);
  });
});
