/** What is done without any of this: two points in volts, a raw per-step table, a 1 s filter. Common practice, no source. */
import type { FillStep } from "../../datasets/world/fill";

export interface Point {
  reading: number;
  volume_L: number;
}

/** First and last written step. */
export function twoPoints(steps: Pick<FillStep, "reading" | "volume_L">[]): Point[] {
  const ends = [steps[0]!, steps[steps.length - 1]!].map((s) => ({ reading: s.reading, volume_L: s.volume_L }));
  return ends.sort((a, b) => a.reading - b.reading);
}

/** Every written step as a table row, sorted by reading; of equal readings the mean volume. */
export function rawTable(steps: Pick<FillStep, "reading" | "volume_L">[]): Point[] {
  const groups = new Map<number, number[]>();
  for (const s of steps) groups.set(s.reading, [...(groups.get(s.reading) ?? []), s.volume_L]);
  return [...groups]
    .map(([reading, v]) => ({ reading, volume_L: v.reduce((a, b) => a + b, 0) / v.length }))
    .sort((a, b) => a.reading - b.reading);
}

/** Straight lines between rows; the end value is held outside. */
export function lookUp(table: Point[], reading: number): number {
  const first = table[0]!;
  const last = table[table.length - 1]!;
  if (!(reading > first.reading)) return first.volume_L;
  if (!(reading < last.reading)) return last.volume_L;
  let low = 0;
  let high = table.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (table[middle]!.reading <= reading) low = middle;
    else high = middle;
  }
  const a = table[low]!;
  const b = table[high]!;
  return a.volume_L + ((reading - a.reading) / (b.reading - a.reading)) * (b.volume_L - a.volume_L);
}
