import { describe, expect, it } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { betweenStandard_L, burntStandard_L, doubtOf } from "../../src/pipeline/curve-doubt";
import type { CurveState } from "../../src/pipeline/curve-limits";
import { runPipeline } from "../promises/pipeline-run";

const readings = Array.from({ length: 41 }, (_, i) => 0.5 + 0.1 * i);
/** 10 L a unit of reading. */
const grid = readings.map((reading) => ({ reading, volume_L: 10 * (reading - 0.5) })) as Parameters<
  typeof doubtOf
>[0]["grid"];
const volume = (i: number) => grid[i]!.volume_L;
const state = (chance: number, covariance: (i: number, j: number) => number, more = (_: number) => 0): CurveState => ({
  chance,
  mean_L: readings.map((_, i) => volume(i) + more(i)),
  covariance_L2: readings.map((_, i) => readings.map((_, j) => covariance(i, j))),
});
const doubt = (...serviceStates: CurveState[]) => doubtOf({ grid, serviceStates });

describe("litres between two readings", () => {
  it("are known exactly where only the litres at the start are not", () => {
    expect(betweenStandard_L(doubt(state(1, () => 0.7 ** 2)), 1, 3.3)).toBeCloseTo(0, 9);
  });

  it("take their share of the container's error: u·|V(b) − V(a)|", () => {
    const scale = doubt(state(1, (i, j) => 0.004 ** 2 * volume(i) * volume(j)));
    expect(betweenStandard_L(scale, 1, 3.3)).toBeCloseTo(0.004 * 23, 9);
    expect(betweenStandard_L(scale, 3.3, 1)).toBeCloseTo(0.004 * 23, 9);
  });

  it("add up pour by pour where each is off by itself: √(litres between) grows with the root", () => {
    // Wiener: cov = c·min(V(a), V(b)).
    const pours = doubt(state(1, (i, j) => 0.02 * Math.min(volume(i), volume(j))));
    expect(betweenStandard_L(pours, readings[10]!, readings[30]!)).toBeCloseTo(Math.sqrt(0.02 * 20), 1);
  });

  it("hold what is not known of the run: a pour of 4 L that is missing with one chance in five", () => {
    const missing = (i: number) => (volume(i) > 15 ? 4 : 0);
    const both = doubt(
      state(0.8, () => 0),
      state(0.2, () => 0, missing),
    );
    expect(betweenStandard_L(both, 1, 3.3)).toBeCloseTo(4 * Math.sqrt(0.2 * 0.8), 9);
    expect(betweenStandard_L(both, 2.6, 3.3)).toBeCloseTo(0, 9);
  });

  it("of a log that was filled up between count for all that it burnt", () => {
    const scale = doubt(state(1, (i, j) => 0.004 ** 2 * volume(i) * volume(j)));
    const burnt = { low_L: 5, high_L: 25 };
    expect(burntStandard_L({ grid }, scale, { ...burnt, burnt_L: 20 })).toBeCloseTo(0.08, 9);
    expect(burntStandard_L({ grid }, scale, { ...burnt, burnt_L: 30 })).toBeCloseTo(0.12, 9);
    expect(burntStandard_L({ grid }, scale, { low_L: 5, high_L: 5, burnt_L: 0 })).toBe(0);
  });
});

it("the burn of simulated drives lies within its ± in 18 of 20 and more (95 % is told)", () => {
  let held = 0;
  const off: string[] = [];
  for (let seed = 1; seed <= 20; seed++) {
    const world = makeJob(seed);
    const log = valueIn(runPipeline(world).answers.driveLog)![0]!;
    const z = (log.burn_L_per_h - world.truth.drive.burn_L_per_h) / log.burnStandard_L_per_h!;
    if (Math.abs(z) < 1.96) held++;
    else off.push(`${seed}: ${z.toFixed(1)}`);
  }
  expect(held, off.join(", ")).toBeGreaterThanOrEqual(18);
});
