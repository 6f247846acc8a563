/** Two points: what common practice would set, and how far it would be off. */
import { mixtureQuantile, type NormalPart } from "../math/normal-mixture";
import type { CurveState } from "./curve-limits";
import { interpolate } from "./curve-lookup";
import type { CurvePoint } from "./curve-types";
import type { FixedSteps } from "./fill-run";
import type { FitPoint } from "./smooth-problem";

/** The two-point line and its largest error as a drawing shows them. */
export interface TwoPointLine {
  /** Lowest and highest step: reading unit, litres. */
  ends: { reading: number; volume_L: number }[];
  /** From the volume in the tank to what the line says, at the reading where that is worst; `halfLevel_L` of it is half a level of the sender. */
  gap: { reading: number; from_L: number; to_L: number; halfLevel_L: number };
}

/**
 * Straight line in the reading through the lowest and the highest step of the sheet: common practice, no source, for
 * comparison. Steps on a stop count, and steps that were set aside: whoever sets two points takes the empty and the full tank as they read.
 *
 * @param grid the curve, with one volume for each reading. @param points all steps of the sheet, at the volumes they are taken for.
 * @param levelStep height of one level of a sender that has levels, reading unit; 0 where it moves smoothly. The curve runs through
 *   the middle of each level and the sender stands up to half a level off it: a rectangular error, step²/12, along the line, half a step at most.
 * @returns largest and RMS error over equal steps of volume, litres, the reading at which the largest lies, and the same as it is drawn.
 */
export function twoPointError(
  grid: CurvePoint[],
  points: FitPoint[],
  levelStep: number,
): { error_L: number; rms_L: number; at: number; drawn: TwoPointLine } {
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
    // Both ends stand for half a step each.
    squares += i === 0 || i === n - 1 ? (d * d) / 2 : d * d;
    if (Math.abs(d) > Math.abs(error_L)) [error_L, at] = [d, r];
  }
  const whole_L = Math.abs(error_L) + Math.abs(slope * levelStep) / 2;
  // The sender stands half a level further, where the line has gone on and the volume has not.
  const from_L = line(at) - error_L;
  const way = Math.sign(error_L) || 1;
  return {
    error_L: whole_L,
    rms_L: Math.sqrt(squares / (n - 1) + (slope * levelStep) ** 2 / 12),
    at,
    drawn: {
      ends: [a, b].map((p) => ({ reading: p.step.reading, volume_L: p.volume_L })),
      gap: {
        reading: at + (way * Math.sign(slope) * levelStep) / 2,
        from_L,
        to_L: from_L + way * whole_L,
        halfLevel_L: Math.abs(slope * levelStep) / 2,
      },
    },
  };
}

export interface TwoPointLimits {
  lower_L: number;
  upper_L: number;
  rmsLower_L: number;
  rmsUpper_L: number;
}

/**
 * How far these errors are open, since the curve that they are measured against is: limits with equal tails over all that the run may be.
 *
 * In one state of the run the distance line − curve is normal, so its mean square Q over the volume has E(Q) = Σw(d² + V) and
 * var(Q) = Σᵢⱼwᵢwⱼ(4dᵢdⱼVᵢⱼ + 2Vᵢⱼ²) (moments of a quadratic form in normal variables; derived here), and √Q is taken as normal. The largest is judged
 * where it lies. The line's upper point moves with the curve's own end: both stand on the same pours. Container and start are left out: they
 * stretch line and curve alike.
 *
 * @param states what the run may be, at the readings of `grid`, chances not all 0. @param points, levelStep as in `twoPointError`.
 * @param coverage between 0 and 1.
 */
export function twoPointLimits(
  grid: CurvePoint[],
  states: CurveState[],
  points: FitPoint[],
  levelStep: number,
  coverage: number,
): TwoPointLimits {
  const sorted = [...points].sort((a, b) => a.volume_L - b.volume_L);
  const a = sorted[0]!;
  const b = sorted[sorted.length - 1]!;
  const parts = states.map((state) => spreadIn(state, grid, a, b, levelStep));
  const limit = (of: (p: (typeof parts)[number]) => NormalPart, p: number) =>
    Math.max(0, mixtureQuantile(parts.map(of), p));
  const tail = (1 - coverage) / 2;
  return {
    lower_L: limit((p) => p.largest, tail),
    upper_L: limit((p) => p.largest, 1 - tail),
    rmsLower_L: limit((p) => p.rms, tail),
    rmsUpper_L: limit((p) => p.rms, 1 - tail),
  };
}

/** Both errors if one state is so. */
function spreadIn(
  { chance, mean_L: curve, covariance_L2: c }: CurveState,
  grid: CurvePoint[],
  a: FitPoint,
  b: FitPoint,
  levelStep: number,
): { largest: NormalPart; rms: NormalPart } {
  const n = grid.length;
  const span = b.step.reading - a.step.reading;
  const [low, high] = span > 0 ? [0, n - 1] : [n - 1, 0];
  // A pour that this state puts in, and the recommended reading of the sheet does not, lifts the end as well.
  const top_L = b.volume_L + curve[high]! - grid[high]!.volume_L;
  const along = grid.map((g) => (span === 0 ? 0 : Math.min(1, Math.max(0, (g.reading - a.step.reading) / span))));
  const off = curve.map((v, i) => a.volume_L + (top_L - a.volume_L) * along[i]! - v);
  const joint = (i: number, j: number) =>
    c[i]![j]! - along[i]! * c[high]![j]! - along[j]! * c[i]![high]! + along[i]! * along[j]! * c[high]![high]!;
  // Volume that each reading of the grid stands for.
  const share = curve.map((_, i) => Math.abs(curve[Math.min(n - 1, i + 1)]! - curve[Math.max(0, i - 1)]!) / 2);
  // On a stop the line stands still while the volume goes on.
  const under_L = Math.max(0, curve[low]! - a.volume_L);
  const over_L = Math.max(0, top_L - curve[high]!);
  const whole_L = share.reduce((s, w) => s + w, under_L + over_L);
  let square = (under_L ** 3 + over_L ** 3) / 3;
  let variance = 0;
  for (let i = 0; i < n; i++) {
    square += share[i]! * (off[i]! ** 2 + Math.max(0, joint(i, i)));
    for (let j = 0; j < n; j++) {
      const v = joint(i, j);
      variance += share[i]! * share[j]! * (4 * off[i]! * off[j]! * v + 2 * v * v);
    }
  }
  const slope = span === 0 ? 0 : (top_L - a.volume_L) / span;
  const rms_L = Math.sqrt(square / whole_L + (slope * levelStep) ** 2 / 12);
  const at = off.reduce((best, d, i) => (Math.abs(d) > Math.abs(off[best]!) ? i : best), 0);
  const least_L = 1e-6 * whole_L;
  return {
    largest: {
      weight: chance,
      mean: Math.max(Math.abs(off[at]!), under_L, over_L) + Math.abs(slope * levelStep) / 2,
      standard: Math.max(least_L, Math.sqrt(Math.max(0, joint(at, at)))),
    },
    rms: {
      weight: chance,
      mean: rms_L,
      standard: Math.max(least_L, Math.sqrt(Math.max(0, variance)) / whole_L / (2 * Math.max(least_L, rms_L))),
    },
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
