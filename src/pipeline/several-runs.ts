/**
 * Several runs: what runs of one tank show together that one run cannot.
 *
 * From fill runs: repeatability and spread from run to run. From a fill and a drain run: the loop between rising and falling level, and
 * whether poured and drained litres close. All in litres of the sender's own showing: errors of the pours are told apart by what is stated.
 */

import { type Answer, type Issue, ready } from "../answer";
import { normalQuantile } from "../math/distributions";
import { say } from "../said";
import { leftBehind, leftBehindCaution } from "./drain-runs";
import type { FillRuns } from "./fill-run";
import { type FillsTogether, fillsTogether } from "./fills-together";
import type { Job } from "./job";
import { litresTo } from "./litres";
import { type Loop, loopOf } from "./loop";
import { slopesAt, type UsableRun, usableRuns } from "./run-steps";
import type { SuspectSteps } from "./suspect-steps";
import { unlikeRuns } from "./unlike-runs";

export interface RunsTogether {
  fillRuns: number;
  drainRuns: number;
  /** Standard deviation of one settled reading at one volume within a run, litres, with its 95 % interval; null with one fill run. */
  repeatability_L: number | null;
  repeatabilityLower_L: number | null;
  repeatabilityUpper_L: number | null;
  /** Standard deviation of a whole run's offset, litres: sender, circuit and how empty the run began; null with one fill run. */
  betweenRuns_L: number | null;
  betweenRunsLower_L: number | null;
  betweenRunsUpper_L: number | null;
  /** Volumes at which the fill runs were compared. */
  levels: number;
  /**
   * Shown rising less shown falling at equal volume, litres, mean over the levels; negative where the sender hangs behind and shows more on the way
   * down. Interval 95 %, with the pours that both runs do not share. Null without a drain run.
   */
  hysteresis_L: number | null;
  hysteresisLower_L: number | null;
  hysteresisUpper_L: number | null;
  /** The same at each level. */
  hysteresisAt: { volume_L: number; difference_L: number; standard_L: number }[];
  /**
   * Poured less drained, litres, less what the reading says is in the tank at the end beside the start; null where the drain run ended elsewhere.
   */
  closure_L: number | null;
  /** The same as the sheets alone have it, without the reading. */
  closureWritten_L: number | null;
  /** What the stated errors allow: standard, √(n·u_p² + m·u_d²) with the error of the two readings, and 95 % limit. */
  closureStandard_L: number | null;
  closureLimit_L: number | null;
  /** What the pick-up leaves: poured into a drained tank less drawn until the pump drew air, and its standard uncertainty; null where that was not done. */
  unusable_L: number | null;
  unusableStandard_L: number | null;
}

/**
 * @param suspects steps set aside there are left out here, pours put in there count.
 * @param job says how the fill began and the drain ended; null: then nothing is told of the unusable volume.
 * @returns null for a single run. Cautions `several-runs/…`: runs that cannot be of one tank (null then, nothing is pooled), litres that do not close, a loop of the wrong sign.
 * @see ISO 5725-2 and JCGM 100:2008, 5.2, as told beside each part.
 */
export function compareRuns(
  fillRuns: FillRuns,
  suspects: SuspectSteps | null,
  job: Job | null = null,
): Answer<RunsTogether | null> {
  if (fillRuns.runs.length < 2) return ready(null);
  const runs = usableRuns(fillRuns.runs, suspects);
  const unlike = unlikeRuns(runs, fillRuns.readingUnit);
  if (unlike) return ready(null, [unlike]);
  const fills: FillsTogether | null = fillsTogether(runs, fillRuns.sense);
  const loop = loopOf(runs, fillRuns.sense, fillRuns.scaleStandard);
  const closure = closureOf(
    runs,
    fillRuns.sense,
    loop?.reading_L ?? fills?.repeatability.sd ?? 0,
    fillRuns.scaleStandard,
  );
  const left = job && leftBehind(fillRuns.runs, fillRuns.scaleStandard, job);
  if (!fills && !loop && !closure && !left) return ready(null);
  const cautions: Issue[] = [];
  if (closure && Math.abs(closure.difference_L) > closure.limit_L)
    cautions.push({
      code: "several-runs/does-not-close",
      says: say`Poured less drained is ${litresTo(closure.difference_L, 2)}, and pours as exact as stated would leave at most ± ${litresTo(closure.limit_L, 2)}: a pour or a draw is missing, or each errs by about ${litresTo(Math.abs(closure.difference_L) / Math.sqrt(closure.count), 2)} and not by ${litresTo(closure.each_L, 2)}.`,
      remedy: "Compare both sheets, or state a larger error of one pour in the job.",
      weight: "note",
    });
  if (left && job) cautions.push(...leftBehindCaution(left, job));
  if (loop && loop.lower_L > 0)
    cautions.push({
      code: "several-runs/loop-turned",
      says: say`The sender shows ${litresTo(loop.mean_L, 2)} less on the way down than on the way up; friction does the opposite.`,
      remedy: "Look for fuel left in lines, or for a pour or draw that is missing from a sheet.",
      weight: "note",
    });
  return ready(
    {
      fillRuns: runs.filter((r) => r.run.direction === "fill").length,
      drainRuns: runs.filter((r) => r.run.direction === "drain").length,
      repeatability_L: fills?.repeatability.sd ?? null,
      repeatabilityLower_L: fills?.repeatability.lower ?? null,
      repeatabilityUpper_L: fills?.repeatability.upper ?? null,
      betweenRuns_L: fills?.betweenRuns.sd ?? null,
      betweenRunsLower_L: fills?.betweenRuns.lower ?? null,
      betweenRunsUpper_L: fills?.betweenRuns.upper ?? null,
      levels: fills?.levels_L.length ?? 0,
      hysteresis_L: loop?.mean_L ?? null,
      hysteresisLower_L: loop?.lower_L ?? null,
      hysteresisUpper_L: loop?.upper_L ?? null,
      hysteresisAt: loop?.levels ?? [],
      closure_L: closure?.difference_L ?? null,
      closureWritten_L: closure?.written_L ?? null,
      closureStandard_L: closure?.standard_L ?? null,
      closureLimit_L: closure?.limit_L ?? null,
      unusable_L: left?.left_L ?? null,
      unusableStandard_L: left?.standard_L ?? null,
    },
    cautions,
  );
}

/**
 * The loop as the service day needs it: what to add to the volume of the rising curve while the level falls, and its standard uncertainty (t folded
 * in, so that ± 1.96 of it holds 95 %). Follows the level where the loop clearly does; held beyond the levels that were compared.
 * @returns null without a fill and a drain run that can be compared: then the default stands.
 */
export function measuredHysteresis(
  fillRuns: FillRuns,
  volumes: number[],
  suspects: SuspectSteps | null = null,
): { bias: number[]; standard: number[] } | null {
  const loop: Loop | null = loopOf(usableRuns(fillRuns.runs, suspects), fillRuns.sense, fillRuns.scaleStandard);
  if (!loop) return null;
  const at = volumes.map((v) => loop.at(v));
  return { bias: at.map((a) => a.difference_L), standard: at.map((a) => a.standard_L) };
}

interface Closure {
  difference_L: number;
  written_L: number;
  standard_L: number;
  limit_L: number;
  /** Pours and draws together, and the stated error of each. */
  count: number;
  each_L: number;
}

/**
 * Poured less drained, less what the reading says is in the tank at the end of the drain run beside the start of the fill: zero within
 * √(n·u_p² + m·u_d²), with another container also F²·u_s² + D²·u_s'², and the error of the two readings. The level fell last at both, so no loop lies between them.
 *
 * @param reading_L standard deviation of one settled reading, litres, where the runs told it.
 * @returns null where the drain run ended more than a draw away from where the fill began, or the sender stands on a stop there.
 */
function closureOf(usable: UsableRun[], sense: 1 | -1, reading_L: number, scaleStandard: number): Closure | null {
  const fill = usable.find((r) => r.run.direction === "fill");
  const drain = usable.find((r) => r.run.direction === "drain" && r.run.fillPours > 0);
  if (!fill || !drain || fill.steps.length < 3 || drain.steps.length < 3) return null;
  const begin = fill.steps[0]!;
  const end = drain.steps[0]!;
  // A fill run whose start was not read says nothing about where it began.
  if (begin.index !== 0 || end.index !== Math.max(...drain.run.steps.map((s) => s.index))) return null;
  const slope = slopesAt(
    fill.steps.map((s) => s.volume_L),
    fill.steps.map((s) => s.reading),
    sense,
  )[0];
  if (!slope) return null;
  const still_L = (end.reading - begin.reading) / slope;
  if (Math.abs(still_L) > Math.abs(drain.steps[1]!.volume_L - end.volume_L)) return null;
  const written_L = end.volume_L - begin.volume_L;
  const n = fill.run.runningTotal ? 1 : drain.run.fillPours;
  const m = drain.run.runningTotal ? 1 : end.index;
  const readings = (begin.standardError ** 2 + end.standardError ** 2) / slope ** 2 + 2 * reading_L ** 2;
  // Two containers' litres do not close: all that was poured is off by the one, all that was drawn by the other.
  const full_L = fill.run.steps[fill.run.steps.length - 1]!.volume_L;
  const other = drain.run.otherScale;
  const marks = other === undefined ? 0 : Math.hypot(full_L * scaleStandard, (full_L - end.volume_L) * other);
  const standard_L = Math.sqrt(
    n * fill.run.pourStandard_L ** 2 + m * drain.run.pourStandard_L ** 2 + readings + marks ** 2,
  );
  return {
    difference_L: written_L - still_L,
    written_L,
    standard_L,
    limit_L: normalQuantile(0.975) * standard_L,
    count: n + m,
    each_L: fill.run.pourStandard_L,
  };
}
