/** Two points: what common practice would set, and how far it would be off. */
import { interpolate } from "./curve-lookup";
import type { CurvePoint } from "./curve-types";
import type { FixedSteps } from "./fill-run";
import type { FitPoint } from "./smooth-problem";

/**
 * Straight line in the reading through the lowest and the highest step of the sheet: common practice, no source, for
 * comparison. Steps on a stop count, and steps that were set aside: whoever sets two points takes the empty and the full tank as they read.
 *
 * @param grid the curve, with one volume for each reading. @param points all steps of the sheet, at the volumes they are taken for.
 * @param levelStep height of one level of a sender that has levels, reading unit; 0 where it moves smoothly. The curve runs through
 *   the middle of each level and the sender stands up to half a level off it: a rectangular error, step²/12, along the line.
 * @returns largest and RMS error over equal steps of volume, litres, and the reading at which the largest lies.
 */
export function twoPointError(
  grid: CurvePoint[],
  points: FitPoint[],
  levelStep: number,
): { error_L: number; rms_L: number; at: number } {
  const sorted = [...points].sort((a, b) => a.volume_L - b.volume_L);
  const a = sorted[0]!;
  const b = sorted[sorted.length - 1]!;
  const span = b.step.reading - a.step.reading;
  const slope = span === 0 ? 0 : (b.volume_L - a.volume_L) / span;
  // The device holds the end values outside the two points.
  const line = (r: number) => Math.min(b.volume_L, Math.max(a.volume_L, a.volume_L + (r - a.step.reading) * slope));
  let error_L = 0;
  let at = a.step.reading;
  let squares = 0;
  // Equal steps of volume: what the tank goes through, not what the converter spreads out.
  const n = 101;
  const inverse = grid.map((g) => ({ reading: g.volume_L, volume_L: g.reading })).sort((p, q) => p.reading - q.reading);
  for (let i = 0; i < n; i++) {
    const v = a.volume_L + ((b.volume_L - a.volume_L) * i) / (n - 1);
    const r = interpolate(inverse, v, (p) => p.volume_L);
    const d = line(r) - v;
    squares += d * d;
    if (Math.abs(d) > Math.abs(error_L)) [error_L, at] = [d, r];
  }
  return {
    error_L: Math.abs(error_L),
    rms_L: Math.sqrt(squares / n + (slope * levelStep) ** 2 / 12),
    at,
  };
}

/** Height of one level in the reading: the middle one of the gaps between levels seen; 0 for a sender that moves smoothly. */
export function levelStepOf(fixedSteps: FixedSteps | null): number {
  const levels = fixedSteps?.levels ?? [];
  const gaps = levels
    .slice(1)
    .map((r, i) => r - levels[i]!)
    .sort((a, b) => a - b);
  return gaps[gaps.length >> 1] ?? 0;
}
