/** Drain runs: from litres drawn to litres in the tank, and what a drain down to where the pump draws air tells of the unusable volume. */

import type { Issue } from "../answer";
import { normalQuantile } from "../math/distributions";
import { say } from "../said";
import type { FillRun } from "./fill-run";
import type { FillJob, Job } from "./job";
import { litresStated, litresTo } from "./litres";
import { drainCovariance } from "./pour-errors";
import { drainEnd, mendedBy } from "./ways";

/**
 * Places the steps of drain runs. Beside a fill run a drain counts down from its full mark: drawn litres become litres since the start of the
 * fill. A drain that stands alone counts back from its own end, where 0 L is: its steps are turned round, so that step 0 is its last row and the draw
 * below each step is its pour (`cov(vᵢ, vⱼ) = (m − max(draws))·u_d²`, known best near empty).
 * @param fill the run that the others are placed by: the first fill run, else the first drain run.
 */
export function placeDrains(runs: FillRun[], fill: FillRun, job: FillJob, cautions: Issue[]): void {
  const last = fill.steps[fill.steps.length - 1];
  if (!last) return;
  for (const run of runs) {
    if (run.direction !== "drain") continue;
    if (fill.direction === "fill") {
      run.fillPours = last.index;
      for (const step of run.steps) step.volume_L = last.volume_L - step.volume_L;
      continue;
    }
    const end = run.steps[run.steps.length - 1]!;
    const [drawn_L, draws] = [end.volume_L, end.index];
    run.steps.reverse();
    run.steps.forEach((step, k) => {
      step.volume_L = drawn_L - step.volume_L;
      step.index = draws - step.index;
      step.added_L = k === 0 ? 0 : step.volume_L - run.steps[k - 1]!.volume_L;
    });
    cautions.push({
      code: "fill-run/drain-alone",
      says: say`${run.file} is a drain run without a fill run: its litres are counted back from its end, so step 0 is its last row and stands for ${litresTo(0, 0)}${ends[job.fill.startedFrom]}.`,
      ...(job.fill.startedFrom === "unknown"
        ? mendedBy(drainEnd, (way) => `State ${way} how it ended: the pump drew air, or nothing was left.`)
        : {}),
      where: { file: run.file },
      weight: "note",
    });
  }
}

/** A drain alone begins its count where it ended (`resolveJob`). */
const ends = {
  "pick-up-dry": " usable, where the pump drew air",
  drained: ", where nothing was left",
  unknown: "",
} as const;

export interface LeftBehind {
  left_L: number;
  standard_L: number;
}

/**
 * Litres that the pick-up leaves: poured into a drained tank less drawn until the pump drew air. Standard uncertainty
 * `√(n·u_p² + m·u_d² + left²·u_s²)` with one container, `√(n·u_p² + m·u_d² + F²·u_s² + D²·u_s'²)` with two.
 * @returns null where the job does not say that the fill began drained (or with how much) and that the drain ended there.
 * @see JCGM 100:2008, 5.2.
 */
export function leftBehind(runs: FillRun[], scaleStandard: number, job: Job): LeftBehind | null {
  const fill = runs.find((r) => r.direction === "fill");
  const drain = runs.find((r) => r.direction === "drain" && r.fillPours > 0);
  const start_L = job.fill.startRemainder_L ?? (job.fill.startedFrom === "drained" ? 0 : null);
  if (!fill || !drain || start_L === null || job.drain.endedAt !== "pump-draws-air") return null;
  const end = drain.steps[drain.steps.length - 1];
  const full = fill.steps[fill.steps.length - 1];
  if (!end || !full) return null;
  const drawn_L = full.volume_L - end.volume_L;
  // Each reading of a running total stands by itself: one error in all for the pours, one for the draws.
  const pours = fill.runningTotal ? 1 : drain.fillPours;
  const draws = drain.runningTotal ? 1 : end.index;
  const other = drain.otherScale;
  const variance = drainCovariance(
    [{ draws, drawn_L, volume_L: end.volume_L }],
    { pour_L: fill.pourStandard_L, draw_L: drain.pourStandard_L, scale: scaleStandard, start_L: 0 },
    other === undefined
      ? { anchor: "full", pours, container: "same" }
      : { anchor: "full", pours, container: "other", otherScale: other },
  )[0]![0]!;
  return { left_L: start_L + end.volume_L, standard_L: Math.sqrt(variance) };
}

/** What the pick-up leaves by the runs, held against what the job states of it. */
export function leftBehindCaution({ left_L, standard_L }: LeftBehind, job: Job): Issue[] {
  const z = normalQuantile(0.975);
  const limit_L = job.tank.unusableLimit_L;
  if (Math.abs(left_L - job.tank.unusable_L) <= z * Math.hypot(standard_L, limit_L / Math.sqrt(3))) return [];
  const assumed = job.assumed.some((a) => a.path === "tank.unusable_L");
  return [
    {
      code: "several-runs/unusable-differs",
      says: say`Poured less drained until the pump drew air is ${litresTo(left_L, 2)}, give or take ${litresTo(z * standard_L, 2)}: so much the pick-up leaves. The job ${assumed ? "takes every litre as usable" : say`states ${litresTo(job.tank.unusable_L, 2)}`}.`,
      remedy: say`State in the job that the pick-up leaves ${litresStated(left_L, 2)}, at most off by ${litresStated(Math.sqrt(3) * standard_L, 2)}.`,
      weight: "doubtful",
    },
  ];
}
