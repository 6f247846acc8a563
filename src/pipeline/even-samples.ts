/** Even samples: the good readings of a log on its own clock, and what is left of them once the burn is taken off. */
import { selectSmallest } from "../math/propagate";
import { volumeAt } from "./curve-lookup";
import type { VolumeByReading } from "./curve-types";
import type { DriveLog } from "./drive-log";
import { MARK } from "./marks";

/** Marks of a sample that says nothing of the fuel. */
export const unfit = MARK.spike | MARK.dropout | MARK.blank | MARK.notYetAnswered;

export interface Even {
  reading: Float64Array;
  /** Row of the log behind the first sample; the others follow it row by row. */
  first: number;
}

/** Good samples on the log's own clock; a marked one is replaced by the mean of its good neighbours so that the clock stays even. */
export function evenly({ reading, mark }: { reading: Float64Array; mark: Uint8Array }): Even {
  let first = 0;
  while (first < reading.length && (mark[first]! & unfit) !== 0) first++;
  const out = reading.slice(first);
  for (let i = 0; i < out.length; i++) {
    if ((mark[i + first]! & unfit) === 0) continue;
    let next = i;
    while (next < out.length && (mark[next + first]! & unfit) !== 0) next++;
    const a = out[i - 1] ?? 0;
    const b = next < out.length ? out[next]! : a;
    for (let k = i; k < next; k++) out[k] = a + ((b - a) * (k - i + 1)) / (next - i + 1);
    i = next;
  }
  return { reading: out, first };
}

/** Litres per reading unit at the log's middle level. */
export function litresPerReading(curve: VolumeByReading, even: Even): number {
  const middle = selectSmallest(even.reading.slice(), even.reading.length >> 1);
  const span = curve.grid[curve.grid.length - 1]!.reading - curve.grid[0]!.reading;
  const d = 0.05 * span;
  return Math.abs(volumeAt(curve, middle + d) - volumeAt(curve, middle - d)) / (2 * d);
}

/** Takes off the burn trend, turned back into the reading's unit, and the mean. @param slope litres per reading unit. */
export function detrend(even: Even, log: DriveLog, slope: number): Float64Array {
  const { reading, first } = even;
  const trend = log.columns.trend_L;
  const sense = senseOf(even, log);
  const out = new Float64Array(reading.length);
  let mean = 0;
  for (let i = 0; i < out.length; i++) {
    out[i] = slope > 0 ? reading[i]! - (sense * (trend[i + first]! - trend[first]!)) / slope : reading[i]!;
    mean += out[i]!;
  }
  mean /= out.length;
  for (let i = 0; i < out.length; i++) out[i]! -= mean;
  return out;
}

/** +1 if reading and volume rise together. */
export function senseOf({ reading, first }: Even, log: DriveLog): number {
  let s = 0;
  const v = log.columns.volume_L;
  for (let i = 1; i < reading.length; i += 7) s += (reading[i]! - reading[0]!) * (v[i + first]! - v[first]!) || 0;
  return s >= 0 ? 1 : -1;
}
