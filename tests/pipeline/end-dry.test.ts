import { describe, expect, it } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { shownAs } from "../../src/pipeline/device-table";
import { dryEnd } from "../../src/pipeline/end-dry";
import { type Job, unusableOffset_L } from "../../src/pipeline/job";
import { runPipeline } from "../promises/pipeline-run";

/** Two invented runs, without their drives: one that began at the dry pick-up, one from a drained tank. */
const runs = [20, 22].map((seed) => {
  const { answers } = runPipeline(makeJob(seed), false);
  return { job: valueIn(answers.job)!, curve: valueIn(answers.curve)!, fillRuns: valueIn(answers.fillRun)! };
});
const endOf = (
  { curve, fillRuns, job }: (typeof runs)[number],
  risk: number,
  more: { late_L?: number; lift_L?: number; deadband_L?: number; slope?: number } = {},
) => {
  const withRisk: Job = { ...job, targets: { ...job.targets, lateZeroRisk: risk } };
  const edge = curve.overall.emptyReading;
  const span = Math.abs(curve.overall.fullReading - edge);
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const at = {
    edge,
    inward: curve.sense,
    slope: total_L / span,
    least: 0,
    deadband_L: 0,
    late_L: 0,
    lift_L: 0,
    behind: null,
    ...more,
  };
  return dryEnd(curve, fillRuns, withRisk, shownAs(withRisk, total_L), at);
};

describe("dryEnd", () => {
  it("both kinds of start are among the runs", () => {
    expect(runs.map((r) => r.job.fill.startedFrom).sort()).toEqual(["drained", "pick-up-dry"]);
    expect(runs.map((r) => unusableOffset_L(r.job).offset_L > 0).sort()).toEqual([false, true]);
  });

  it("0 told at the margin comes up in time with just the chance that was asked for", () => {
    for (const run of runs)
      for (const risk of [0.1, 0.35]) {
        const end = endOf(run, risk);
        expect(end.margin).toBeGreaterThan(0);
        // The margin is found in steps of a thousandth of the travel.
        expect(end.chance(end.margin)).toBeGreaterThanOrEqual(1 - risk - 1e-9);
        expect(end.chance(end.margin)).toBeLessThan(1 - risk + 0.06);
      }
  });

  it("says that 0 never comes up where the deadband holds half a displayed step, and hides nothing for it", () => {
    for (const run of runs) {
      const { step_L } = shownAs(run.job, 100);
      const wide = endOf(run, 0.35, { deadband_L: step_L / 2 });
      expect(wide.margin).toBe(0);
      expect([0, 0.5, 5].map((m) => wide.chance(m))).toEqual([0, 0, 0]);
      expect(endOf(run, 0.35, { deadband_L: 0.49 * step_L }).chance(5)).toBeGreaterThan(0.5);
    }
  });

  it("less risk, a later display and a wider deadband each ask for a larger margin", () => {
    for (const run of runs) {
      const plain = endOf(run, 0.35).margin;
      expect(endOf(run, 0.05).margin).toBeGreaterThan(plain);
      expect(endOf(run, 0.35, { late_L: 0.5 }).margin).toBeGreaterThan(plain);
      expect(endOf(run, 0.35, { lift_L: 0.5 }).margin).toBeCloseTo(endOf(run, 0.35, { late_L: 0.5 }).margin, 9);
      expect(endOf(run, 0.35, { deadband_L: 0.4 }).margin).toBeGreaterThan(plain);
    }
  });

  it("a run that began at the dry pick-up has read that point: the band of litres at the stop does not widen the margin", () => {
    const run = runs.find((r) => r.job.fill.startedFrom === "pick-up-dry")!;
    const wider = {
      ...run,
      curve: {
        ...run.curve,
        grid: run.curve.grid.map((g) => {
          const service = g.serviceStandard_L ** 2 - g.standard_L ** 2;
          return { ...g, standard_L: 4 * g.standard_L, serviceStandard_L: Math.sqrt(16 * g.standard_L ** 2 + service) };
        }),
      },
    };
    expect(endOf(wider, 0.2).margin).toBeCloseTo(endOf(run, 0.2).margin, 6);
  });

  it("what a service day adds counts by the surface near the bottom, unless a second run measured it there", () => {
    const run = runs.find((r) => r.job.fill.startedFrom === "drained")!;
    const first = run.curve.grid[0]!;
    const last = run.curve.grid[run.curve.grid.length - 1]!;
    const mean = Math.abs((last.volume_L - first.volume_L) / (last.reading - first.reading));
    const spread = (slope: number, twice = false) => {
      const fillRuns = {
        ...run.fillRuns,
        runs: twice ? [...run.fillRuns.runs, run.fillRuns.runs[0]!] : run.fillRuns.runs,
      };
      const half_L = shownAs(run.job, 100).step_L / 2;
      const end = endOf({ ...run, fillRuns }, 0.35, { slope, deadband_L: (1 - 1e-9) * half_L });
      // With (next to) no credit for the displayed step, the chance at a fixed margin moves only by what the service day adds.
      return end.chance(end.margin) > 0 ? end.margin : Number.NaN;
    };
    expect(spread(0.4 * mean)).toBeLessThan(spread(mean));
    expect(spread(0.4 * mean, true)).toBeCloseTo(spread(mean), 6);
  });

  it("on a ladder poured in coarse steps no level next to 0 is sure: it may have begun right after the pour before it", () => {
    const [run] = runs;
    const levels = [0, 1, 2, 3].map((k) => run!.curve.overall.emptyReading + k * run!.curve.sense);
    const ladder = (height_L: number) => ({
      ...run!,
      // The levels blended: a straight line through them.
      curve: {
        ...run!.curve,
        grid: run!.curve.grid
          .map((g, i, all) => ({ ...g, reading: levels[0]! + (3 * run!.curve.sense * i) / (all.length - 1) }))
          .map((g) => {
            const volume_L = height_L * Math.abs(g.reading - levels[0]!);
            return { ...g, volume_L, serviceVolume_L: volume_L, standard_L: 0.5, serviceStandard_L: 0.5 };
          })
          .sort((a, b) => a.reading - b.reading),
      },
      fillRuns: {
        ...run!.fillRuns,
        runs: [
          {
            ...run!.fillRuns.runs[0]!,
            steps: levels.map((reading, k) => ({
              ...run!.fillRuns.runs[0]!.steps[0]!,
              reading,
              volume_L: k * height_L,
            })),
          },
        ],
        fixedSteps: {
          levels,
          height_L,
          resolved: true,
          intervals: levels.map((reading, k) => ({
            reading,
            from_L: Math.max(0, k - 0.5) * height_L,
            to_L: (k + 0.5) * height_L,
          })),
        },
      },
    });
    const { offset_L } = unusableOffset_L(run!.job);
    // Told on the first level, dry halfway to the second pour: as likely as not that the second level has been left by then.
    expect(endOf(ladder(20), 0.35, { late_L: 10 - offset_L }).chance(0.5)).toBeCloseTo(0.5, 1);
    expect(endOf(ladder(20), 0.35, { late_L: 2 - offset_L }).chance(0.5)).toBeCloseTo(0.9, 1);
    // Slosh blends the levels: a mean reading lifted over the level asks for an end told further on, yet short of the next level.
    const still = endOf(ladder(20), 0.35, { late_L: -offset_L }).margin;
    const lifted = endOf(ladder(20), 0.35, { late_L: -offset_L, lift_L: 8 }).margin;
    expect(still).toBeCloseTo(0.3, 6);
    expect(lifted).toBeCloseTo(0.4, 6);
  });
});
