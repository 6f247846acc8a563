/** Device table: from reading to litres by the rows that are typed, and from litres to the digits that are shown. */
import { litresPer } from "../units";
import { type Job, unusableOffset_L } from "./job";

export interface TablePoint {
  reading: number;
  volume_L: number;
}

/** A table copied out into columns: its rows are gone through too often to be asked for their fields each time. */
export interface TableColumns {
  reading: Float64Array;
  volume_L: Float64Array;
}

export const columnsOf = (rows: TablePoint[]): TableColumns => ({
  reading: Float64Array.from(rows, (row) => row.reading),
  volume_L: Float64Array.from(rows, (row) => row.volume_L),
});

/** Straight lines between rows sorted by rising reading; the end value is held outside. */
export const lookUp = (rows: TablePoint[], readings: Float64Array, out?: Float64Array): Float64Array =>
  lookUpIn(columnsOf(rows), readings, out);

/** Rows with what the table is straight in between them in place of the reading. @param along rises with the reading; none: the reading itself. */
export const rowsAlong = (rows: TablePoint[], along?: ((reading: number) => number) | null): TablePoint[] =>
  along ? rows.map((row) => ({ ...row, reading: along(row.reading) })) : rows;

/** Rows and readings in one unit, of a table that is straight in another. */
export const lookUpAlong = (
  rows: TablePoint[],
  readings: Float64Array,
  along?: ((reading: number) => number) | null,
): Float64Array => lookUp(rowsAlong(rows, along), along ? readings.map(along) : readings);

/**
 * The same in a table that was copied out.
 * @param from @param to samples that are looked up, all of them if left out.
 */
export function lookUpIn(
  { reading, volume_L }: TableColumns,
  readings: Float64Array,
  out: Float64Array = new Float64Array(readings.length),
  from = 0,
  to = readings.length,
): Float64Array {
  const last = reading.length - 1;
  const least = reading[0]!;
  const most = reading[last]!;
  const atLeast = volume_L[0]!;
  const atMost = volume_L[last]!;
  // The row below the sample before: its neighbour mostly lies there too, or a few rows on.
  let k = -1;
  for (let i = from; i < to; i++) {
    const r = readings[i]!;
    if (r <= least) out[i] = atLeast;
    else if (r >= most) out[i] = atMost;
    else {
      if (k < 0 || !(r >= reading[k]! && r <= reading[k + 1]!)) k = rowBelow(reading, r, k);
      const below = reading[k]!;
      const start_L = volume_L[k]!;
      out[i] = start_L + ((r - below) / (reading[k + 1]! - below)) * (volume_L[k + 1]! - start_L);
    }
  }
  return out;
}

/** So many rows are stepped over one by one, before the rest is halved. */
const stepsNearby = 6;

/** Last row at or below a reading that lies between the outer rows. @param near where it is looked for first; -1 for nowhere. */
function rowBelow(reading: Float64Array, r: number, near: number): number {
  let low = 0;
  let high = reading.length - 1;
  if (near >= 0 && reading[near]! <= r) {
    low = near;
    for (let step = 0; step < stepsNearby && high - low > 1; step++) {
      if (reading[low + 1]! > r) return low;
      low++;
    }
  } else if (near >= 0) {
    high = near;
    for (let step = 0; step < stepsNearby && high - low > 1; step++) {
      if (reading[high - 1]! <= r) return high - 1;
      high--;
    }
  }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (reading[middle]! <= r) low = middle;
    else high = middle;
  }
  return low;
}

/** The same for one reading. */
export function lookUpOne({ reading, volume_L }: TableColumns, r: number): number {
  const last = reading.length - 1;
  if (r <= reading[0]!) return volume_L[0]!;
  if (r >= reading[last]!) return volume_L[last]!;
  const k = rowBelow(reading, r, -1);
  const below = reading[k]!;
  return volume_L[k]! + ((r - below) / (reading[k + 1]! - below)) * (volume_L[k + 1]! - volume_L[k]!);
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
