/** Floor of a log: what of its noise is electrical, or of the converter, and stands by itself in each sample. No curve is needed for it. */
import { differenceNoise, sameLevelNoise } from "../math/floor-noise";
import { heapNoise } from "../math/heap-noise";
import { powerBelow, welch } from "../math/spectrum";
import type { DriveColumns, DriveLog } from "./drive-log";
import type { EvenScale } from "./end-motion";
import { unfit } from "./even-samples";

/** What is looked at: plain data, so that a log that says the same is not looked at again. */
export type FloorSamples = Pick<DriveColumns, "even" | "mark"> & Pick<DriveLog, "sampleRate_Hz" | "refreshRate_Hz">;

/** Of the log that gives the spectrum. */
export function floorSamples(logs: DriveLog[]): FloorSamples {
  const { columns, sampleRate_Hz, refreshRate_Hz } = longestOf(logs);
  return { even: columns.even, mark: columns.mark, sampleRate_Hz, refreshRate_Hz };
}

/** The longest log; the first of several. */
export const longestOf = (logs: DriveLog[]): DriveLog => logs.reduce((a, b) => (b.duration_s > a.duration_s ? b : a));

/**
 * Electrical and rounding floor of one sample: the least of five estimates, since motion can only add to each. From second
 * and third differences, from the upper end of the spectrum, and for a sender that goes in steps from neighbours on one level and from how sharp
 * the heaps of its readings stand; all at the rate at which the value is really refreshed.
 * @returns standard deviation, the reading's unit; 0 where fewer than 32 readings are fresh.
 */
export function floorOf(samples: FloorSamples, scale: EvenScale): number {
  const { even, mark, sampleRate_Hz: rate_Hz } = samples;
  const every = Math.max(1, Math.round(rate_Hz / samples.refreshRate_Hz));
  const all = new Float64Array(Math.ceil(even.reading.length / every));
  let n = 0;
  for (let i = every >> 1; i < even.reading.length; i += every)
    if ((mark[i + even.first]! & unfit) === 0) all[n++] = even.reading[i]!;
  const fresh = all.subarray(0, n);
  if (n < 32) return 0;
  const estimates = [differenceNoise(fresh, 2), differenceNoise(fresh, 3)];
  const half = rate_Hz / every / 2;
  const s = welch(fresh, 2 * half, Math.min(256, powerBelow(fresh.length)));
  const top = Array.from(s.density)
    .filter((_, k) => s.frequency_Hz[k]! >= 0.75 * half && s.frequency_Hz[k]! <= 0.98 * half)
    .sort((a, b) => a - b);
  if (top.length > 0) estimates.push(Math.sqrt(top[top.length >> 1]! * half));
  const step = smallestStep(fresh);
  // A converter as coarse as the noise makes a gap of its own: then pairs on one level say nothing.
  const level = sameLevelNoise(fresh);
  if (level > step) estimates.push(level);
  const along = 1e-3 * step;
  estimates.push(
    heapNoise(
      fresh.map((r) => scale.to(r)),
      fresh.map((r) => (scale.to(r + along) - scale.to(r - along)) / (2 * along)),
      step,
    ),
  );
  // On a coarse converter most neighbours are alike, and a difference can be nothing at all, or what doubles leave of it: rounding alone
  // then makes the floor, step/√12.
  const rounding = step / Math.sqrt(12);
  return Math.max(rounding, Math.min(...estimates));
}

/** Least distance between two different readings that follow each other. */
function smallestStep(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const d = Math.abs(values[i]! - values[i - 1]!);
    if (d > 1e-9 && d < least) least = d;
  }
  return Number.isFinite(least) ? least : 0;
}
