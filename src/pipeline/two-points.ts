/** Two points: what common practice would set, and how far it would be off. */
import { type CurvePoint, interpolate } from "./curve";
import type { FitPoint } from "./smooth-problem";

/** Straight line through the two end points in the reading: common practice, for comparison. */
export function twoPointError(
  grid: CurvePoint[],
  points: FitPoint[],
  sense: 1 | -1,
): { error_L: number; rms_L: number; at: number } {
  const sorted = [...points].sort((a, b) => sense * (a.step.reading - b.step.reading));
  const a = sorted[0]!;
  const b = sorted[sorted.length - 1]!;
  const line = (r: number) =>
    a.volume_L + ((r - a.step.reading) / (b.step.reading - a.step.reading)) * (b.volume_L - a.volume_L);
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
  return { error_L: Math.abs(error_L), rms_L: Math.sqrt(squares / n), at };
}
