/**
 * Marks of a drive log: its oddities, row by row. Marked samples stay in the record.
 *
 * Of the curve nothing is read but where its readings end: one that lies a little higher or lower marks an hour of driving no otherwise. What no
 * fault limit moves stands apart from what one does.
 */
import { median } from "simple-statistics";
import type { Issue } from "../answer";
import { hampel } from "../math/filter";
import type { BelievedLimits } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import type { LogRows } from "./drive-rows";
import { type Even, evenly } from "./even-samples";
import { levelsIn } from "./log-levels";
import { thousandth } from "./log-units";
import { MARK } from "./marks";
import { type Standing, standing } from "./stuck";

/** Readings between which the curve is known, the lower first, and which of them is the full one. */
export interface Travel {
  low: number;
  high: number;
  fullIsHigh: boolean;
}

export function travelBetween({ grid }: Pick<VolumeByReading, "grid">): Travel {
  const [first, last] = [grid[0]!, grid[grid.length - 1]!];
  return { low: first.reading, high: last.reading, fullIsHigh: last.volume_L > first.volume_L };
}

/** A log whose readings were looked at, no limits of a fault applied yet. */
export interface LookedAt {
  rows: LogRows;
  /** Reading's unit of the curve; NaN where blank or not yet answered. */
  values: Float64Array;
  mark: Uint8Array;
  /** How often the value really changes. */
  refreshRate_Hz: number;
  /** Rows that repeat the value before. */
  held: number;
  /** Rows outside the readings of the curve, and those of them that lie a little past its full end. */
  outside: number;
  fuller: number;
  notYetAnswered: number;
  /** Fixed levels that the reading stands on; null where there are none, or where none were looked for. */
  levels: number | null;
  /** Least scaled deviation that spikes are held against. */
  spikeFloor: number;
  cautions: Issue[];
}

/** The same with its dropouts marked, and what follows from all marks. */
export interface MarkedLog extends LookedAt {
  even: Even;
  standing: Standing;
  /** Runs of spikes and of dropouts, and single rows at an end of the sender. */
  spikes: number;
  dropouts: number;
  atEnd: number;
}

/**
 * @param widestStep of a ladder of levels, in the curve's reading; 0 for a sender without. @param looksForLevels whether levels are looked for of
 *   which a measured curve knows nothing.
 */
export function lookAt(rows: LogRows, travel: Travel, widestStep: number, looksForLevels: boolean): LookedAt {
  const cautions: Issue[] = [];
  const thousand = rows.unitNamed ? 1 : thousandth(rows.file, rows.values, travel, cautions);
  const values = thousand === 1 ? rows.values.slice() : rows.values.map((v) => v * thousand);
  const mark = markReadings(values, travel, widestStep);
  // A zero before the first answer is no empty tank: the device would not have seen it.
  let notYetAnswered = 0;
  for (let i = 0; i < values.length && (mark[i]! & (MARK.notYetAnswered | MARK.blank)) !== 0; i++)
    if ((mark[i]! & MARK.notYetAnswered) !== 0) {
      values[i] = Number.NaN;
      notYetAnswered++;
    }
  return {
    rows,
    values,
    mark,
    refreshRate_Hz: refreshRate(values, rows.interval_s),
    ...placesOf(values, mark, travel),
    notYetAnswered,
    spikeFloor: spikeFloor(travel.high - travel.low, widestStep),
    levels: looksForLevels ? levelsIn(values, [travel.low, travel.high]) : null,
    cautions,
  };
}

/** Marks what lies beyond the limits of a fault, and tells what follows from the marks. */
export function markLog(log: LookedAt, limits: BelievedLimits | null): MarkedLog {
  const { values, rows } = log;
  const mark = markFaults(log.mark, values, limits);
  clearBesideDropouts(mark, values, log.spikeFloor);
  return {
    ...log,
    mark,
    even: evenly({ reading: values, mark }),
    standing: standing(values, rows.time_s, mark, rows.start_s),
    ...countMarks(mark),
  };
}

/** Median deviations, scaled to standard ones, beyond which a reading is a spike. Named default, no source. */
const spikeLimit = 6;
/** Rows on either side that a spike stands out of. Named default, no source. */
const spikeHalf = 12;
/** What moves a ladder's reading for a moment by no more than so many of its widest step is fuel at the next float switches. Named default, no source. */
const stepsOfSlosh = 2.5;

const spikeFloor = (range: number, widestStep: number): number =>
  Math.max(0.01 * range, (stepsOfSlosh * widestStep) / spikeLimit);

/**
 * Spikes (Hampel), rows on the sender's end, repeated values, blanks, and zeros before the first answer.
 *
 * A ladder stands on one level most of the time, so that half of the readings around do not differ at all and each visit to the next level would
 * be a spike: there only what goes beyond several levels is one.
 * @param widestStep of a ladder, in the curve's reading; 0 for a sender without levels.
 */
export function markReadings(values: Float64Array, { low, high }: Travel, widestStep = 0): Uint8Array {
  const n = values.length;
  const mark = new Uint8Array(n);
  const range = high - low;
  let answered = false;
  for (let i = 0; i < n; i++) {
    const v = values[i]!;
    if (Number.isNaN(v)) {
      mark[i] = MARK.blank;
      continue;
    }
    if (!answered && v === 0 && low > 0.02 * range) {
      mark[i]! |= MARK.notYetAnswered;
      continue;
    }
    answered = true;
    if (v <= low + 0.002 * range || v >= high - 0.002 * range) mark[i]! |= MARK.atEnd;
    if (i > 0 && v === values[i - 1]) mark[i]! |= MARK.held;
  }
  // Zeros before the first answer are no neighbours that a first answer could stand out of.
  const firstAnswer = mark.findIndex((m) => (m & (MARK.notYetAnswered | MARK.blank)) === 0);
  const seen = firstAnswer > 0 ? values.map((v, i) => (i < firstAnswer ? Number.NaN : v)) : values;
  const flags = hampel(seen, spikeHalf, spikeLimit, spikeFloor(range, widestStep));
  for (let i = 0; i < n; i++) if (flags[i] && isBrief(flags, i)) mark[i]! |= MARK.spike;
  return mark;
}

/** A spike is a few samples long; a longer excursion is slosh. */
function isBrief(flags: Uint8Array, i: number): boolean {
  let length = 1;
  for (let k = i - 1; k >= 0 && flags[k]; k--) length++;
  for (let k = i + 1; k < flags.length && flags[k]; k++) length++;
  return length <= 4;
}

/** The marks with dropouts among them; what lies beyond a limit is no spike. */
function markFaults(marks: Uint8Array, values: Float64Array, limits: BelievedLimits | null): Uint8Array {
  const mark = marks.slice();
  const faultLow = limits?.faultLow ?? Number.NEGATIVE_INFINITY;
  const faultHigh = limits?.faultHigh ?? Number.POSITIVE_INFINITY;
  for (let i = 0; i < mark.length; i++) {
    const v = values[i]!;
    // Neither holds of a blank, or of a row that is not yet answered.
    if (v < faultLow || v > faultHigh) mark[i] = (mark[i]! & ~MARK.spike) | MARK.dropout;
  }
  return mark;
}

function countMarks(mark: Uint8Array): { spikes: number; dropouts: number; atEnd: number } {
  let spikes = 0;
  let dropouts = 0;
  let atEnd = 0;
  let before = 0;
  for (let i = 0; i < mark.length; i++) {
    const m = mark[i]!;
    const begins = m & ~before;
    if ((begins & MARK.spike) !== 0) spikes++;
    if ((begins & MARK.dropout) !== 0) dropouts++;
    // A dropout to a rail is told as one, and is no level at the sender's end.
    if ((m & MARK.atEnd) !== 0 && (m & MARK.dropout) === 0) atEnd++;
    before = m;
  }
  return { spikes, dropouts, atEnd };
}

/**
 * Beside a dropout of half a second most neighbours are the rail, and what stands out of them is the fuel: a spike there is held against the rows
 * that are no dropout. In place.
 */
function clearBesideDropouts(mark: Uint8Array, values: Float64Array, floor: number): void {
  // The running median is taken for every sixth row, so that it reaches so much further.
  const reach = spikeHalf + (spikeHalf >> 1);
  const from = (i: number) => Math.max(0, i - reach);
  const to = (i: number) => Math.min(mark.length - 1, i + reach);
  for (let i = 0; i < mark.length; i++) {
    if ((mark[i]! & MARK.spike) === 0) continue;
    const near: number[] = [];
    let dropouts = 0;
    for (let k = from(i); k <= to(i); k++) {
      if ((mark[k]! & MARK.dropout) !== 0) dropouts++;
      else if ((mark[k]! & (MARK.blank | MARK.notYetAnswered)) === 0) near.push(values[k]!);
    }
    if (dropouts === 0 || near.length < 3) continue;
    const middle = median(near);
    const scaled = Math.max(1.4826 * median(near.map((v) => Math.abs(v - middle))), floor);
    if (!(Math.abs(values[i]! - middle) > spikeLimit * scaled)) mark[i]! &= ~MARK.spike;
  }
}

function placesOf(values: Float64Array, mark: Uint8Array, { low, high, fullIsHigh }: Travel) {
  const span = Math.abs(high - low);
  const room = 0.02 * span;
  // A tank that is fuller than the run was filled reads on a little past its last step.
  const past = 0.15 * span;
  let held = 0;
  let outside = 0;
  let fuller = 0;
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    if (i > 0 && v === values[i - 1]!) held++;
    if ((mark[i]! & (MARK.blank | MARK.notYetAnswered)) !== 0 || (v >= low - room && v <= high + room)) continue;
    outside++;
    if (fullIsHigh ? v > high && v < high + past : v < low && v > low - past) fuller++;
  }
  return { held, outside, fuller };
}

/** How often the value really changes: longest common holding, from runs of equal values. */
function refreshRate(values: Float64Array, interval_s: number): number {
  const all = new Int32Array(values.length);
  let n = 0;
  let length = 1;
  for (let i = 1; i < values.length; i++) {
    if (values[i] === values[i - 1]) length++;
    else {
      all[n++] = length;
      length = 1;
    }
  }
  if (n < 20) return 1 / interval_s;
  const runs = all.subarray(0, n).sort();
  // Held values come in runs of about one refresh; a slow signal on a coarse converter repeats too, but unevenly.
  const typical = runs[runs.length >> 1]!;
  const even =
    runs[Math.floor(0.8 * runs.length)]! <= 1.6 * typical && runs[Math.floor(0.2 * runs.length)]! >= 0.6 * typical;
  return typical >= 2 && even ? 1 / (typical * interval_s) : 1 / interval_s;
}

/** Widest step between two neighbouring levels of a ladder; where pours skipped levels, at most so much. 0 without levels. */
export function widestStepOf(fixedSteps: { levels: number[] } | null): number {
  const levels = fixedSteps?.levels ?? [];
  return levels.slice(1).reduce((most, level, i) => Math.max(most, Math.abs(level - levels[i]!)), 0);
}
