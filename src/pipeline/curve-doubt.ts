/** Curve's doubt: how well are the litres between two readings known? For what a drive log says fell between them. */
import { interpolateHeld } from "../math/interpolate";
import type { Curve, VolumeByReading } from "./curve-types";

/** Joint covariance of the curve on a service day at some of its readings, litres²: plain and small, so that it can be held against an earlier one. */
export interface CurveDoubt {
  /** Rising. */
  readings: number[];
  covariance_L2: number[][];
}

const mostReadings = 25;

/** Over all that the run may be: the covariance of a mixture, within its states and between them. */
export function doubtOf({ grid, serviceStates }: Pick<Curve, "grid" | "serviceStates">): CurveDoubt {
  const n = Math.min(mostReadings, grid.length);
  const at = Array.from({ length: n }, (_, k) => Math.round((k * (grid.length - 1)) / (n - 1)));
  const mean = at.map((i) => serviceStates.reduce((sum, s) => sum + s.chance * s.mean_L[i]!, 0));
  return {
    readings: at.map((i) => grid[i]!.reading),
    covariance_L2: at.map((i, a) =>
      at.map((j, b) =>
        serviceStates.reduce(
          (sum, s) =>
            sum + s.chance * (s.covariance_L2[i]![j]! + (s.mean_L[i]! - mean[a]!) * (s.mean_L[j]! - mean[b]!)),
          0,
        ),
      ),
    ),
  };
}

/**
 * Standard uncertainty of the litres between two readings: `√(u²(a) + u²(b) − 2·cov(a, b))` (JCGM 100:2008, 5.2.2), straight between the
 * readings of the doubt. What lies alike at both ends, as the litres at the start, drops out.
 */
export function betweenStandard_L({ readings, covariance_L2 }: CurveDoubt, a: number, b: number): number {
  const covariance = (x: number, y: number) =>
    interpolateHeld(
      readings,
      covariance_L2.map((row) => interpolateHeld(readings, row, y)),
      x,
    );
  return Math.sqrt(Math.max(0, covariance(a, a) + covariance(b, b) - 2 * covariance(a, b)));
}

/**
 * Standard uncertainty, litres, that the curve adds to what a log burnt between two levels: as known as the litres between their readings, and in
 * proportion where it was filled up between and burnt more.
 */
export function burntStandard_L(
  { grid }: Pick<VolumeByReading, "grid">,
  doubt: CurveDoubt,
  burnt: { low_L: number; high_L: number; burnt_L: number },
): number {
  const across_L = burnt.high_L - burnt.low_L;
  if (!(across_L > 0)) return 0;
  const rising = [...grid]
    .sort((a, b) => a.volume_L - b.volume_L)
    .filter((g, i, all) => i === 0 || g.volume_L > all[i - 1]!.volume_L);
  const readingAt = (volume_L: number) =>
    interpolateHeld(
      rising.map((g) => g.volume_L),
      rising.map((g) => g.reading),
      volume_L,
    );
  const known_L = betweenStandard_L(doubt, readingAt(burnt.low_L), readingAt(burnt.high_L));
  return (known_L * burnt.burnt_L) / across_L;
}

/**
 * Standard uncertainty, litres, that the curve brings into `Σ weight·V(reading)`: `√(wᵀ C w)` (JCGM 100:2008, 5.2.2), straight between the readings of
 * the doubt. Weights that add up to 0 leave only what slopes do.
 */
export function weighedStandard_L(
  { readings, covariance_L2 }: CurveDoubt,
  at: ArrayLike<number>,
  weights: ArrayLike<number>,
): number {
  const last = readings.length - 1;
  const sums = new Float64Array(readings.length);
  for (let i = 0; i < at.length; i++) {
    const reading = Math.min(readings[last]!, Math.max(readings[0]!, at[i]!));
    let k = 0;
    while (k < last - 1 && reading > readings[k + 1]!) k++;
    const share = (reading - readings[k]!) / (readings[k + 1]! - readings[k]!);
    sums[k]! += weights[i]! * (1 - share);
    sums[k + 1]! += weights[i]! * share;
  }
  let square = 0;
  for (let a = 0; a <= last; a++) for (let b = 0; b <= last; b++) square += sums[a]! * sums[b]! * covariance_L2[a]![b]!;
  return Math.sqrt(Math.max(0, square));
}
