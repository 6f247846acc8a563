/**
 * Display count: how steady and how wrong is the display with one pair of time constant and deadband?
 *
 * Every pair of the device is counted on every log, so that this is the innermost loop of the page. A record is cut into blocks whose lowest and
 * highest value are known: while a block only drags the deadband along on one digit, it is passed over as a whole, and its samples are not even
 * looked up in the table. A device that smooths the volume has looked all of them up once, before any time constant. The counts are those of
 * sample after sample; a test holds them to it.
 */
import { smoothingFactor } from "../math/filter";
import type { Order } from "./device-model";
import type { DeviceRecord } from "./device-record";
import { columnsOf, lookUp, lookUpIn, type Shown, type TablePoint } from "./device-table";

/** Samples a block: long enough to pay, short enough to lie inside a deadband now and then. */
const block = 32;

/** A smoothed record in litres. */
export interface Smoothed {
  /** Lowest and highest of each block. */
  low_L: Float64Array;
  high_L: Float64Array;
  /** The samples; those of a block hold once it is `there`, which `fetch` sees to. */
  volume_L: Float64Array;
  there: Uint8Array;
  fetch(block: number): void;
}

/** What is really there, as sums up to each sample, so that the error of a digit costs the same however long it stands. */
export interface SummedTrend {
  middle_L: number;
  /** Less `middle_L`, litres and litres²; one longer than the record. */
  sum: Float64Array;
  squares: Float64Array;
}

/** Counts of one record behind deadband and displayed step; turns only where the vehicle moves. */
export interface ShownCount {
  changes: number;
  reversals: number;
  /** Reversals with the digits standing a quarter, a half and three quarters of a step further on, added up. */
  turnsElsewhere: number;
  /** Sum of shown less true, litres, and of its squares, litres². */
  sum: number;
  squares: number;
  /**
   * The same of what stands behind the deadband, before the displayed step, as near as the places tell (a quarter of a step), from `since` on:
   * where the digits stand on this log is chance, and a filter that has just been switched on does not lag yet.
   */
  heldSum: number;
  heldSquares: number;
  heldSamples: number;
}

export function sumTrend(trend_L: Float64Array): SummedTrend {
  const n = trend_L.length;
  const sum = new Float64Array(n + 1);
  const squares = new Float64Array(n + 1);
  // About the middle, so that no two large numbers are taken from each other.
  const middle_L = ((trend_L[0] ?? 0) + (trend_L[n - 1] ?? 0)) / 2;
  for (let i = 0; i < n; i++) {
    const d = trend_L[i]! - middle_L;
    sum[i + 1] = sum[i]! + d;
    squares[i + 1] = squares[i]! + d * d;
  }
  return { middle_L, sum, squares };
}

/**
 * One record behind the table, through a deadband of the play kind (half-width `deadband_L`, 0 for none) onto the displayed steps.
 *
 * How often digits turn back depends on where the level stands between two of them, so that four places are counted at once: with
 * `q` = floor(4·((v − offset)/step + ½)) the digit at the place j/4 is floor((q − j)/4), and nothing turns while q stays.
 * @param places 4, or 1 for the digits as they stand alone.
 * @param since first sample that counts for `held…`. @param parked 1 at samples where the vehicle is parked: turns there are not counted.
 */
export function countShown(
  record: Smoothed,
  trend: SummedTrend,
  deadband_L: number,
  { step_L, offset_L }: Shown,
  places: 1 | 4,
  since = 0,
  parked: Uint8Array | null = null,
): ShownCount {
  const { low_L, high_L, volume_L } = record;
  const n = volume_L.length;
  const perCell = places / step_L;
  if (n > 0) record.fetch(0);
  let held = volume_L[0] ?? offset_L;
  let cell = Math.floor((held - offset_L) * perCell + places / 2);
  const digits = createDigits(cell, places, trend, step_L, offset_L, since, parked);
  // Inside of these no digit turns: the part of a step on which the display stands.
  let bottom = offset_L + (cell - places / 2) / perCell;
  let top = offset_L + (cell + 1 - places / 2) / perCell;
  for (let b = 0, from = 0; from < n; b++, from += block) {
    // The lowest and the highest to which this block can drag what is held.
    const down = low_L[b]! + deadband_L;
    const up = high_L[b]! - deadband_L;
    if ((down >= held || down >= bottom) && (up <= held || up < top)) {
      if (down >= held && up <= held) continue;
      if (up <= held) {
        held = down;
        continue;
      }
      if (down >= held) {
        held = up;
        continue;
      }
    }
    if (record.there[b] === 0) record.fetch(b);
    const to = Math.min(n, from + block);
    for (let i = from; i < to; i++) {
      const v = volume_L[i]!;
      if (v > held + deadband_L) held = v - deadband_L;
      else if (v < held - deadband_L) held = v + deadband_L;
      else continue;
      if (held >= bottom && held < top) continue;
      const q = Math.floor((held - offset_L) * perCell + places / 2);
      if (q === cell) continue;
      digits.turnTo(q, i);
      cell = q;
      bottom = offset_L + (q - places / 2) / perCell;
      top = offset_L + (q + 1 - places / 2) / perCell;
    }
  }
  return digits.counted(n);
}

/** The digits at four places, how often they turned, and how wrong the one that is shown was. */
function createDigits(
  first: number,
  places: 1 | 4,
  trend: SummedTrend,
  step_L: number,
  offset_L: number,
  heldSince: number,
  parked: Uint8Array | null,
) {
  const direction = new Int8Array(4);
  const reversals = new Int32Array(4);
  let cell = first;
  let changes = 0;
  let sum = 0;
  let squares = 0;
  let since = 0;
  const errorUntil = (i: number) => {
    const off = Math.floor(cell / places) * step_L + offset_L - trend.middle_L;
    const level = trend.sum[i]! - trend.sum[since]!;
    sum += (i - since) * off - level;
    squares += (i - since) * off * off - 2 * off * level + (trend.squares[i]! - trend.squares[since]!);
    since = i;
  };
  let heldSum = 0;
  let heldSquares = 0;
  let cellSince = heldSince;
  const heldUntil = (i: number) => {
    if (i <= cellSince) return;
    const off = ((cell + (1 - places) / 2) * step_L) / places + offset_L - trend.middle_L;
    const level = trend.sum[i]! - trend.sum[cellSince]!;
    heldSum += (i - cellSince) * off - level;
    heldSquares += (i - cellSince) * off * off - 2 * off * level + (trend.squares[i]! - trend.squares[cellSince]!);
    cellSince = i;
  };
  return {
    turnTo(q: number, i: number): void {
      const sign = q > cell ? 1 : -1;
      const counts = parked === null || parked[i] === 0;
      heldUntil(i);
      if (Math.floor(q / places) !== Math.floor(cell / places)) {
        errorUntil(i);
        if (counts) changes++;
      }
      // From one part of a step to the next the digit at one place turns, the places by turns; after a whole step all have turned.
      let turned = sign > 0 ? cell + 1 : cell;
      for (let left = Math.min(places, Math.abs(q - cell)); left > 0; left--, turned += sign) {
        const j = turned & (places - 1);
        if (counts && direction[j] === -sign) reversals[j]!++;
        direction[j] = sign;
      }
      cell = q;
    },
    counted(n: number): ShownCount {
      errorUntil(n);
      heldUntil(n);
      return {
        changes,
        reversals: reversals[0]!,
        turnsElsewhere: reversals[1]! + reversals[2]! + reversals[3]!,
        sum,
        squares: Math.max(0, squares),
        heldSum,
        heldSquares: Math.max(0, heldSquares),
        heldSamples: Math.max(0, n - heldSince),
      };
    },
  };
}

/** Records behind low-pass and table. Asked for one time constant after the other: the last one is kept, always in the same memory. */
export function createSmoothed(
  records: DeviceRecord[],
  believedReadings: Float64Array[],
  table: TablePoint[],
  order: Order,
) {
  const made = believedReadings.map((reading, k) =>
    order === "reading-then-table"
      ? createRecord(reading, records[k]!.interval_s, table)
      : createLookedUp(lookUp(table, reading), records[k]!.interval_s),
  );
  let kept = Number.NaN;
  return (timeConstant_s: number): Smoothed[] => {
    if (kept !== timeConstant_s) for (const record of made) record.smooth(timeConstant_s);
    kept = timeConstant_s;
    return made.map((r) => r.smoothed);
  };
}

function createRecord(reading: Float64Array, interval_s: number, table: TablePoint[]) {
  const n = reading.length;
  const blocks = Math.ceil(n / block);
  const filtered = new Float64Array(n);
  const columns = columnsOf(table);
  const rises = table.every((row, k) => k === 0 || row.volume_L >= table[k - 1]!.volume_L);
  const falls = table.every((row, k) => k === 0 || row.volume_L <= table[k - 1]!.volume_L);
  const smoothed: Smoothed = {
    low_L: new Float64Array(blocks),
    high_L: new Float64Array(blocks),
    volume_L: new Float64Array(n),
    there: new Uint8Array(blocks),
    fetch(b) {
      lookUpIn(columns, filtered, smoothed.volume_L, b * block, Math.min(n, (b + 1) * block));
      smoothed.there[b] = 1;
    },
  };
  const { low_L, high_L, volume_L, there } = smoothed;
  return {
    smoothed,
    smooth(timeConstant_s: number): void {
      const factor = smoothingFactor(timeConstant_s, interval_s);
      there.fill(0);
      let y = reading[0] ?? 0;
      for (let b = 0, from = 0; from < n; b++, from += block) {
        const to = Math.min(n, from + block);
        let low = Number.POSITIVE_INFINITY;
        let high = Number.NEGATIVE_INFINITY;
        for (let i = from; i < to; i++) {
          y += factor * (reading[i]! - y);
          filtered[i] = y;
          if (y < low) low = y;
          if (y > high) high = y;
        }
        if (rises || falls) {
          // The lowest reading is the lowest volume, or the highest where the table falls: looked up below, all at once.
          low_L[b] = rises ? low : high;
          high_L[b] = rises ? high : low;
          continue;
        }
        // A table that turns round: between its lowest and its highest reading a block may stand anywhere.
        smoothed.fetch(b);
        low_L[b] = Number.POSITIVE_INFINITY;
        high_L[b] = Number.NEGATIVE_INFINITY;
        for (let i = from; i < to; i++) {
          low_L[b] = Math.min(low_L[b]!, volume_L[i]!);
          high_L[b] = Math.max(high_L[b]!, volume_L[i]!);
        }
      }
      if (rises || falls) {
        lookUpIn(columns, low_L, low_L);
        lookUpIn(columns, high_L, high_L);
      }
    },
  };
}

/** A record that is smoothed behind the table: its blocks are in litres as they come. */
function createLookedUp(looked_L: Float64Array, interval_s: number) {
  const n = looked_L.length;
  const blocks = Math.ceil(n / block);
  const smoothed: Smoothed = {
    low_L: new Float64Array(blocks),
    high_L: new Float64Array(blocks),
    volume_L: new Float64Array(n),
    there: new Uint8Array(blocks).fill(1),
    fetch() {},
  };
  const { low_L, high_L, volume_L } = smoothed;
  return {
    smoothed,
    smooth(timeConstant_s: number): void {
      const factor = smoothingFactor(timeConstant_s, interval_s);
      let y = looked_L[0] ?? 0;
      for (let b = 0, from = 0; from < n; b++, from += block) {
        const to = Math.min(n, from + block);
        let low = Number.POSITIVE_INFINITY;
        let high = Number.NEGATIVE_INFINITY;
        for (let i = from; i < to; i++) {
          y += factor * (looked_L[i]! - y);
          volume_L[i] = y;
          if (y < low) low = y;
          if (y > high) high = y;
        }
        low_L[b] = low;
        high_L[b] = high;
      }
    },
  };
}
