/** Device table: from reading to litres by the rows that are typed, and from litres to the digits that are shown. */
import { litresPer } from "../units";
import { type Job, unusableOffset_L } from "./job";

export interface TablePoint {
  reading: number;
  volume_L: number;
}

/**
 * Straight lines between rows sorted by rising reading; the end value is held outside.
 * @param from @param to samples that are looked up, all of them if left out.
 */
export function lookUp(
  rows: TablePoint[],
  readings: Float64Array,
  out: Float64Array = new Float64Array(readings.length),
  from = 0,
  to = readings.length,
): Float64Array {
  const lowest = rows[0]!;
  const highest = rows[rows.length - 1]!;
  const { reading: least, volume_L: atLeast } = lowest;
  const { reading: most, volume_L: atMost } = highest;
  // The two rows of the sample before: its neighbour mostly lies between them too.
  let below = Number.POSITIVE_INFINITY;
  let above = Number.NEGATIVE_INFINITY;
  let span = 0;
  let start_L = 0;
  let rise_L = 0;
  for (let i = from; i < to; i++) {
    const r = readings[i]!;
    if (r <= least) out[i] = atLeast;
    else if (r >= most) out[i] = atMost;
    else {
      if (!(r >= below && r <= above)) {
        const k = rowBelow(rows, r);
        below = rows[k]!.reading;
        above = rows[k + 1]!.reading;
        span = above - below;
        start_L = rows[k]!.volume_L;
        rise_L = rows[k + 1]!.volume_L - start_L;
      }
      out[i] = start_L + ((r - below) / span) * rise_L;
    }
  }
  return out;
}

/** Last row at or below a reading that lies between the outer rows. */
function rowBelow(rows: TablePoint[], reading: number): number {
  let low = 0;
  let high = rows.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (rows[middle]!.reading <= reading) low = middle;
    else high = middle;
  }
  return low;
}

/** The same for one reading. */
export function lookUpOne(rows: TablePoint[], reading: number): number {
  if (reading <= rows[0]!.reading) return rows[0]!.volume_L;
  if (reading >= rows[rows.length - 1]!.reading) return rows[rows.length - 1]!.volume_L;
  const k = rowBelow(rows, reading);
  const a = rows[k]!;
  const b = rows[k + 1]!;
  return a.volume_L + ((reading - a.reading) / (b.reading - a.reading)) * (b.volume_L - a.volume_L);
}

/** What one displayed step is in litres, and the offset of its base. */
export interface Shown {
  step_L: number;
  offset_L: number;
}

export function shownAs(job: Pick<Job, "tank" | "fill" | "device">, total_L: number): Shown {
  const per =
    litresPer(job.device.displayUnit, { density_kg_per_L: null, capacity_L: job.tank.capacity_L ?? total_L }) ?? 1;
  return {
    step_L: job.device.displayStep * per,
    offset_L: job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0,
  };
}

/** Rounds to the displayed step in the device's base; what comes back is litres since the start. */
export function shownValue(
  volume_L: Float64Array,
  shown: Shown,
  out: Float64Array = new Float64Array(volume_L.length),
): Float64Array {
  for (let i = 0; i < volume_L.length; i++)
    out[i] = Math.round((volume_L[i]! - shown.offset_L) / shown.step_L) * shown.step_L + shown.offset_L;
  return out;
}
