/** Which volume a reading means on a curve that is given as points on a grid. */
import type { VolumeByReading } from "./curve-types";

/** Volume on the fill-day curve, litres; the end value is held outside. */
export function volumeAt(curve: Pick<VolumeByReading, "grid">, reading: number): number {
  return interpolate(curve.grid, reading, (p) => p.volume_L);
}

/** Straight-line interpolation on a grid of rising readings; the end value is held outside. */
export function interpolate<P extends { reading: number }>(grid: P[], reading: number, of: (p: P) => number): number {
  const first = grid[0];
  const last = grid[grid.length - 1];
  if (!first || !last) throw new Error("interpolate: the grid is empty");
  if (!(reading > first.reading)) return of(first);
  if (!(reading < last.reading)) return of(last);
  let low = 0;
  let high = grid.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (grid[middle]!.reading <= reading) low = middle;
    else high = middle;
  }
  const a = grid[low]!;
  const b = grid[high]!;
  return of(a) + ((reading - a.reading) / (b.reading - a.reading)) * (of(b) - of(a));
}

/** Reading of a volume on the curve. */
export function readingAt(curve: Pick<VolumeByReading, "grid"> & { sense: number }, volume_L: number): number {
  const grid = curve.sense > 0 ? curve.grid : [...curve.grid].reverse();
  for (let i = 1; i < grid.length; i++) {
    const a = grid[i - 1]!;
    const b = grid[i]!;
    if (b.volume_L >= volume_L && b.volume_L > a.volume_L)
      return a.reading + (Math.max(0, volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
  }
  return grid[grid.length - 1]!.reading;
}
