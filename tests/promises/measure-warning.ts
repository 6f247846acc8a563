/**
 * Closed loop of a warning that the user chose himself: it is put where the light is stated to come on too late with a chance of about 5, 20 and 50 %,
 * and fresh drives of the same tank are counted in which it really did.
 */
import { freshDrive, makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { unusableOffset_L } from "../../src/pipeline/job";
import { displayStep_L, type LowFuel, setWarning } from "../../src/pipeline/low-fuel";
import { writeSettings } from "../../src/pipeline/settings";
import { type Line, share } from "./lines";
import { runLight, warningFrom } from "./measure-road";
import { pipelineOf } from "./pipeline-run";
import { deviceFrom, runDevice } from "./replay";
import { mean } from "./score";

export const chances = [0.05, 0.2, 0.5];

export interface WarningCase {
  seed: number;
  family: string;
  /** Which of `chances` was aimed at, what is stated at the displayed step nearest to it, and the drives in which less than the reserve was left. */
  aimed: number;
  stated: number;
  warnAtUsable_L: number;
  reserve_L: number;
  lowestShown_L: number;
  drives: number;
  late: number;
}

/** @param drives fresh drives of each job. @returns none where the pipeline comes to no display or no warning. */
export function measureWarning(seed: number, drives: number): WarningCase[] {
  const world = makeJob(seed);
  const { truth } = world;
  // Only what the warning needs: verdict and range are slow.
  const { stages } = pipelineOf(world);
  const job = valueIn(stages.job.read());
  const curve = valueIn(stages.curve.read());
  const display = valueIn(stages.display.read());
  const table = valueIn(stages.table.read());
  const ends = valueIn(stages.ends.read());
  if (!job || !curve || !display || !table || !ends) return [];
  const optional = [valueIn(stages.noise.read()) ?? null, valueIn(stages.trial.read()) ?? null] as const;
  const warnAt = (warnAtUsable_L: number | null): LowFuel | null =>
    valueIn(
      setWarning(curve, display, ...optional, valueIn(stages.driveLog.read()) ?? null, job, { warnAtUsable_L }, table),
    );
  const recommended = warnAt(null);
  if (!recommended) return [];
  const capacity_L = job.tank.capacity_L ?? truth.tank.capacity_L;
  const step_L = displayStep_L(job, capacity_L);
  const base_L = job.device.shows === "usable" ? 0 : unusableOffset_L(job).offset_L;
  // Points that the display can show, from empty to twice what is recommended.
  const points: LowFuel[] = [];
  for (let k = 1; k * step_L - base_L <= 2 * recommended.recommendedWarnAt_L; k++)
    if (k * step_L > base_L) points.push(warnAt(k * step_L - base_L)!);
  const chosen = chances.map((aimed) => ({
    aimed,
    lowFuel: points.reduce((a, b) =>
      Math.abs(b.underReserveChance - aimed) < Math.abs(a.underReserveChance - aimed) ? b : a,
    ),
  }));
  const cases = chosen.map(({ aimed, lowFuel }) => ({
    warning: warningFrom(
      valueIn(writeSettings(table, ends, display, valueIn(stages.circuit.read()) ?? null, lowFuel, job))!,
      capacity_L,
    )!,
    falseAbove_L: lowFuel.falseAbove_L,
    score: {
      seed,
      family: truth.family,
      aimed,
      stated: lowFuel.underReserveChance,
      warnAtUsable_L: lowFuel.warnAtUsable_L,
      reserve_L: lowFuel.reserve_L,
      lowestShown_L: lowFuel.lowestShown_L,
      drives,
      late: 0,
    },
  }));
  const device = deviceFrom(valueIn(stages.settings.read())!, display.order, {
    capacity_L,
    rate_Hz: job.device.rate_Hz,
    displayUnit: job.device.displayUnit,
    displayStep: job.device.displayStep,
  });
  // From well over the highest of the points down to the reserve: what comes after is late in any case.
  const from_L = truth.unusable_L + Math.max(...cases.map((c) => c.falseAbove_L)) + 0.07 * truth.tank.capacity_L;
  const to_L = truth.unusable_L + recommended.reserve_L;
  const minutes = (60 * (from_L - to_L)) / truth.drive.burn_L_per_h;
  for (let d = 0; d < drives; d++) {
    const fresh = freshDrive(truth, 300 + d, minutes, { from: Math.min(0.95, from_L / truth.tank.capacity_L) });
    const { dragged_L } = runDevice(device, fresh.reading, fresh.record.across_g);
    const usable_L = fresh.contents_L.map((c) => c - truth.unusable_L);
    for (const { warning, falseAbove_L, score } of cases) {
      const { first_L } = runLight(dragged_L, usable_L, warning, falseAbove_L, truth.deviceRate_Hz);
      if (first_L === null || first_L < score.reserve_L) score.late++;
    }
  }
  return cases.map((c) => c.score);
}

export interface WarningCount {
  aimed: number;
  jobs: number;
  /** Means over the jobs. */
  stated: number;
  is: number;
  /** Standard error of the share if every chance is as stated and a job's drives all go the same way: its curve and its day are one draw. */
  standard: number;
}

export function countWarnings(cases: WarningCase[]): WarningCount[] {
  return chances.map((aimed) => {
    const of = cases.filter((c) => c.aimed === aimed);
    return {
      aimed,
      jobs: of.length,
      stated: mean(of.map((c) => c.stated)),
      is: mean(of.map((c) => c.late / c.drives)),
      standard: Math.sqrt(of.reduce((s, c) => s + c.stated * (1 - c.stated), 0)) / of.length,
    };
  });
}

export function warningLines(from: number, to: number): Line[] {
  const cases = Array.from({ length: to - from + 1 }, (_, i) => measureWarning(from + i, 2)).flat();
  return countWarnings(cases).map((c) => ({
    promise: `warning put where about ${share(c.aimed)} are stated: mean chance stated, share of drives with less than the reserve`,
    jobs: c.jobs,
    value: `${share(c.stated)}, ${share(c.is)}`,
    figures: { stated: c.stated, is: c.is, standard: c.standard },
    beside: `chance alone ± ${share(1.96 * c.standard)}`,
  }));
}
