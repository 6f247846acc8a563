import { describe, expect, test } from "vitest";
import { groundOf } from "../../src/pipeline/end-ground";
import { beforeLevel, planEnd } from "../../src/pipeline/end-margin";
import { moves } from "../../src/pipeline/end-motion";
import type { EndCurve } from "../../src/pipeline/end-replay";
import { resolveJob } from "../../src/pipeline/job";

const answer = resolveJob({
  tank: { capacity_L: 60 },
  circuit: { kind: "pull-up", supplyVolts: 5, pullUpOhms: 100 },
  device: { rate_Hz: 10, displayStep: 1 },
});
if (answer.state !== "ready") throw new Error("the job should be usable");
const job = answer.value;

/** A box read by 0 to 300 ohm on 100 ohm to 5 V: 0 V empty, 3.75 V full; the higher, the less a litre moves it. */
const volts = (litres: number) => (5 * 5 * litres) / (5 * litres + 100);
const grid = Array.from({ length: 61 }, (_, litres) => ({
  reading: volts(litres),
  volume_L: litres,
  standard_L: 0.1,
  serviceVolume_L: litres,
  serviceStandard_L: 0.1,
}));
const curve = {
  readingUnit: "V",
  sense: 1,
  grid,
  overall: { emptyReading: 0, fullReading: volts(60) },
} as unknown as EndCurve;

describe("noise through a pull-up", () => {
  test("the same motion moves the reading as (Vs - V) squared: 1 V against 4 V of 5 V is 16 times", () => {
    const wide = { ...curve, grid: [{ reading: 0 }, { reading: 4.5 }] } as unknown as EndCurve;
    expect(moves(wide, job, 4, 1)).toBeCloseTo(1 / 16, 3);
    expect(moves(wide, job, 1, 4)).toBeCloseTo(16, 1);
    expect(moves(wide, { circuit: { ...job.circuit, kind: "converter" } }, 4, 1)).toBeCloseTo(1, 9);
  });

  /** What noise asks for at an end, of a log around this level. */
  const noise_V = (middle_L: number, which: "empty" | "full", of = job) => {
    const n = 6000;
    const trend_L = Float64Array.from({ length: n }, (_, i) => middle_L + 2 - (4 * i) / n);
    const swing_L = (i: number) => 0.5 * Math.sin(0.37 * i) + 0.4 * Math.sin(0.0513 * i);
    const columns = {
      time_s: Float64Array.from({ length: n }, (_, i) => i / 10),
      reading: trend_L.map((litres, i) => volts(litres + swing_L(i))),
      trend_L,
      faulty: new Uint8Array(n),
    };
    const log = { columns, burn_L_per_h: 24 } as unknown as Parameters<typeof groundOf>[3] extends (infer L)[] | null
      ? L
      : never;
    const runs = {
      readingStep: 0.001,
      fixedSteps: null,
      runs: [{ steps: [{ volume_L: 0, reading: 0, standardError: 0 }] }],
    };
    const ground = groundOf(curve, runs, null, [log], { low: null, high: null }, of);
    return planEnd(which, ground, {
      order: "reading-then-table",
      timeConstant_s: 2,
      deadband_L: 0,
      uses: [],
      features: {} as never,
    }).noisePart;
  };

  test("what an end asks for is the same number of litres whether the log was driven near full or near empty", () => {
    // The middle of the log's readings stands for all of them: within a fifth.
    for (const end of ["empty", "full"] as const)
      expect(Math.abs(noise_V(50, end) / noise_V(10, end) - 1)).toBeLessThan(0.2);
  });

  test("full, which no dry pick-up keeps back, is aimed at half of the wanted flickers", () => {
    const wanting = (endFlickersPerHour: number) => ({
      ...job,
      circuit: { ...job.circuit, kind: "converter" as const },
      targets: { ...job.targets, endFlickersPerHour },
    });
    expect(noise_V(30, "full", wanting(2))).toBeCloseTo(noise_V(30, "empty", wanting(1)), 9);
    expect(noise_V(30, "full", wanting(1))).toBeGreaterThan(noise_V(30, "empty", wanting(1)));
  });
});

describe("a ladder's end under noise", () => {
  const fillRuns = { fixedSteps: { levels: [0, 0.5, 1, 1.5, 2], intervals: [] } } as unknown as Parameters<
    typeof beforeLevel
  >[4]["fillRuns"];
  const at = (calm: (margin: number) => boolean, to = 1.2) =>
    beforeLevel(0, 1, 0.1, to, { curve, fillRuns, job }, calm);

  test("stops right before the first level that its carried motion does not need, and at none where it needs all", () => {
    const first = at(() => true)!;
    expect(first).toBeLessThan(0.5);
    expect(first).toBeGreaterThan(0.45);
    const second = at((margin) => margin > 0.6)!;
    expect(second).toBeLessThan(1);
    expect(second).toBeGreaterThan(0.95);
    expect(at(() => false)).toBeNull();
  });

  test("has nothing to say where the formula asks for less than a level", () => {
    expect(at(() => true, 0.4)).toBeNull();
  });
});

describe("a curve that is held level at its foot", () => {
  // A narrow foot that no pour showed: over the first 40 of 300 ohm the likeliest volume is the same.
  const foot = grid.map((g, litres) => {
    const volume_L = Math.max(8, litres) - 8;
    return { ...g, reading: litres, volume_L, serviceVolume_L: volume_L };
  });
  const level = { ...curve, grid: foot, overall: { emptyReading: 0, fullReading: 60 } } as unknown as EndCurve;
  const drained = resolveJob({
    tank: { capacity_L: 60, unusable_L: 1.8, unusableLimit_L: 0.3 },
    fill: { startedFrom: "drained" },
    device: { rate_Hz: 10, displayStep: 1 },
  });
  if (drained.state !== "ready") throw new Error("the job should be usable");
  const runs = {
    readingStep: 0.1,
    fixedSteps: null,
    runs: [{ steps: [{ volume_L: 0, reading: 0, standardError: 0.1 }] }],
  };

  test("0 is not told at the stop because half a displayed step would hold it over readings that are worth no litres", () => {
    const plan = planEnd("empty", groundOf(level, runs, null, null, { low: null, high: null }, drained.value), null);
    // 1.8 L lie at a reading of 9.8; half a displayed step of 1 L holds the end over less than two of it.
    expect(plan.dry!.margin).toBeGreaterThan(8);
    expect(plan.dry!.chance(1)).toBeLessThan(0.01);
    expect(plan.dry!.chance(plan.dry!.margin)).toBeGreaterThan(0.6);
  });
});
