/** A fill run read through a device that smooths: what it still held back when each reading was written down. */

import type { Issue } from "../answer";
import { fixed, withUnit } from "../format";
import { say } from "../said";
import type { FillRun } from "./fill-run";
import type { FillJob, Job } from "./job";
import { litresOf } from "./litres";
import { amountWord } from "./sheet-words";

/** Share of a pour that a device may hold back without a word (named default, no source). */
export const heldBackLeast = 0.02;
/** Part of the wanted tolerance from which on what is held back makes the curve doubtful (named default, no source). */
const doubtfulPart = 0.25;

export interface HeldBack {
  /** exp(−wait/τ): share of one pour's move that was not yet shown. */
  fraction: number;
  /** The same in litres, for the run's usual pour: so much every reading is behind. */
  volume_L: number;
}

/** What a first-order smoother holds back of a step after a wait. Null unless the job says both. */
export function heldBackShare({ fill }: Pick<Job, "fill">): number | null {
  const { deviceTimeConstant_s: tau, wait_s: wait } = fill;
  return tau === null || wait === null || !(tau > 0) ? null : Math.exp(-wait / tau);
}

/** Seconds after which less than 1 % is left. */
export const waitFor_s = (timeConstant_s: number): number => Math.ceil(timeConstant_s * Math.log(100));

/**
 * Of equal pours each reading lacks e = exp(−wait/τ) of its own move and e of what the reading before lacked: e/(1 − e) of a pour's move in
 * the long run (geometric series). A recording is left out: there the plateau itself shows when it has settled.
 *
 * @returns null where the job says no time constant, or nothing was typed.
 */
export function deviceHeldBack(
  run: FillRun,
  job: Pick<FillJob, "fill" | "tank" | "targets">,
  cautions: Issue[],
): HeldBack | null {
  const { deviceTimeConstant_s: tau, wait_s: wait } = job.fill;
  if (tau === null || !(tau > 0) || run.kind !== "typed") return null;
  const word = amountWord(run);
  const fraction = heldBackShare(job);
  if (fraction === null) {
    cautions.push({
      code: "fill-run/device-wait",
      says: `The readings came through a device that smooths over ${withUnit(tau, "s")}, and the job does not say how long was waited before each.`,
      remedy: `State the wait in the job; ${waitFor_s(tau)} s leave less than 1 % of a ${word} out.`,
      weight: "holds-if",
      condition: "the display had settled before each reading",
    });
    return null;
  }
  const sizes = run.steps
    .slice(1)
    .map((s) => Math.abs(s.added_L))
    .sort((a, b) => a - b);
  const usual_L = sizes[sizes.length >> 1] ?? 0;
  const volume_L = fraction < 1 ? (usual_L * fraction) / (1 - fraction) : usual_L;
  const tolerance_L = job.targets.tolerance_L ?? (job.tank.capacity_L === null ? null : 0.02 * job.tank.capacity_L);
  if (fraction > heldBackLeast)
    cautions.push({
      code: "fill-run/device-smooths",
      says: say`The readings came through a device that smooths over ${withUnit(tau, "s")}: ${withUnit(wait!, "s")} after each ${word} it still held back ${fixed(100 * fraction, fraction < 0.1 ? 1 : 0)} % of its move, so that every reading is about ${litresOf(volume_L)} behind. That is not taken off.`,
      remedy: `Wait ${waitFor_s(tau)} s before each reading, or read before the smoothing.`,
      weight: tolerance_L !== null && volume_L > doubtfulPart * tolerance_L ? "doubtful" : "note",
    });
  return { fraction, volume_L };
}
