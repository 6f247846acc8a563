/** Steps of each run that can be compared with those of another: accepted, off the stops, in order of volume. */
import { type CurveThrough, curveThrough } from "../math/monotone-cubic";
import type { FillRun, Step } from "./fill-run";
import type { PutIn } from "./smooth-problem";
import type { SuspectSteps } from "./suspect-steps";

export interface UsableRun {
  run: FillRun;
  /** Rising in volume; `volume_L` is the treated one. */
  steps: Step[];
  putIns: PutIn[];
  curve: CurveThrough;
}

/** @param suspects null: all steps as written. Steps on a stop only bound the volume, and are left out. */
export function usableRuns(runs: FillRun[], suspects: SuspectSteps | null): UsableRun[] {
  // A drain run counts down from the written full mark of the first fill: what was put into that fill moves it as well.
  const first = runs.findIndex((r) => r.direction === "fill");
  const treated = (r: number, k: number) => {
    const step = suspects?.runs[r]?.steps[k];
    return step ? step.treatedVolume_L - step.volume_L : 0;
  };
  const ofFull = first >= 0 ? treated(first, runs[first]!.steps.length - 1) : 0;
  return runs.map((run, r) => {
    const moved = run.direction === "drain" && run.fillPours > 0 ? ofFull : 0;
    const kept = run.steps.flatMap((step, k) => {
      const judged = suspects?.runs[r]?.steps[k];
      if (step.atStop !== null || (judged && !judged.accepted)) return [];
      return [{ ...step, volume_L: step.volume_L + treated(r, k) + moved }];
    });
    kept.sort((a, b) => a.volume_L - b.volume_L);
    const steps = kept.filter((s, k) => k === 0 || s.volume_L > kept[k - 1]!.volume_L + 1e-9);
    return {
      run,
      steps,
      putIns: suspects?.runs[r]?.putIns ?? [],
      curve: curveThrough(
        steps.map((s) => s.volume_L),
        steps.map((s) => s.reading),
      ),
    };
  });
}

/**
 * Reading per litre at each level, from a chord over two levels, or an eighth of them, to either side; null where the sender moves less than a quarter as fast as it
 * typically does (litres would be read off a slope that is mostly noise), or against its sense.
 */
export function slopesAt(levels: number[], readings: number[], sense: 1 | -1): (number | null)[] {
  const n = levels.length;
  const reach = Math.max(2, Math.round(n / 8));
  const slopes = levels.map((_, i) => {
    const a = Math.max(0, i - reach);
    const b = Math.min(n - 1, i + reach);
    return (sense * (readings[b]! - readings[a]!)) / (levels[b]! - levels[a]!);
  });
  const typical = [...slopes].sort((a, b) => a - b)[n >> 1]!;
  return slopes.map((s) => (s > 0.25 * typical && s > 0 ? sense * s : null));
}

/** At most so many levels are weighed against each other; more tell hardly more. */
const mostLevels = 40;

/** Evenly spread part of a longer list. */
export const thinned = <T>(list: T[]): T[] =>
  list.length <= mostLevels
    ? list
    : Array.from({ length: mostLevels }, (_, k) => list[Math.round((k * (list.length - 1)) / (mostLevels - 1))]!);

/** Quadratic form wᵀ C w. */
export const quadratic = (c: number[][], w: number[]): number =>
  c.reduce((s, row, i) => s + w[i]! * row.reduce((t, v, j) => t + v * w[j]!, 0), 0);
