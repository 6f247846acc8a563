/**
 * Rows of a drive log: which of them can be used, when they were taken, and what the sender read, in the curve's unit.
 *
 * Of the curve nothing is read but its unit: an hour of driving is put in order once, and not again for another curve.
 */
import { type Answer, all, type Issue, ready, stuck } from "../answer";
import { fixed, withUnit } from "../format";
import { accelerationsOf } from "./acceleration-unit";
import type { Choices, LogPart } from "./choices";
import { unevenClock } from "./drive-clock";
import { channel, clockOf, keptValues, orderTime, spreadStamps } from "./drive-marks";
import type { ReadingUnit } from "./job";
import { type ConverterJob, logScale } from "./log-units";
import { type FlowJob, flowOf } from "./logged-flow";
import { columnsIn, type Recording } from "./recording";
import { rowsWithReading } from "./slow-channels";
import { correctForSupply, type SupplyCorrection, type SupplyJob } from "./supply-correction";
import { bringDrive, byColumn, mendedBy } from "./ways";

export interface DriveRows {
  /** Rows of the recording that are used, and their times, rising. */
  keep: Int32Array;
  time_s: Float64Array;
  /** Reading's unit of the curve, or as it was written where no unit is named; NaN where blank. */
  values: Float64Array;
  duration_s: number;
  interval_s: number;
  jitter: number;
  /** When the log begins by its own clock, and how long it lasts in all, where a part of it is used. */
  start_s: number;
  whole_s: number;
  blank: number;
  backwards: number;
  firstBackwards: number;
  repeatedStamps: number;
}

/** What was logged beside the reading, at the rows that are used; null where it was not. */
export interface LogChannels {
  along_g: Float64Array | null;
  across_g: Float64Array | null;
  speed_kmh: Float64Array | null;
  flow_L_per_h: Float64Array | null;
  supply_V: Float64Array | null;
}

/** One log, ready to be read through a curve. */
export interface LogRows extends DriveRows {
  file: string;
  sha256: string;
  /** Whether the reading column names its unit. */
  unitNamed: boolean;
  /** The part that counts; null for all of it. */
  range: LogPart | null;
  channels: LogChannels;
  /** What was told of its unit and its clock: said with the log. */
  cautions: Issue[];
}

/** All logs, and what the logged supply did to each. */
export interface DrivenRows {
  logs: LogRows[];
  supply: SupplyCorrection[];
}

/** What the rows read of the job. */
export type RowsJob = SupplyJob & { circuit: ConverterJob; flow: FlowJob };

/**
 * Readings at the stated supply, on rows whose time rises.
 * @param parts the part of each log that counts, by its hash. @returns stuck `drive-log/…` for: no log, and as `usableRows` says.
 */
export function rowsOfLogs(
  recordings: Recording[],
  readingUnit: ReadingUnit,
  job: RowsJob,
  parts: Choices["driveParts"],
): Answer<DrivenRows> {
  if (recordings.length === 0)
    return stuck({
      code: "drive-log/none",
      says: "There is no drive log yet.",
      ...mendedBy(
        bringDrive,
        (way) => `${way}: time and sender reading, one reading a second or faster, ten minutes or more.`,
      ),
    });
  const supply = recordings.map((r) => correctForSupply(r, job));
  const logs = all(supply.map((s) => usableRows(s.recording, readingUnit, job, parts[s.recording.sha256] ?? null)));
  return logs.state === "ready" ? ready({ logs: logs.value, supply }) : logs;
}

/**
 * @param range the part that counts; null for all of it. @returns stuck `drive-log/…` for: no reading or time column, a time that runs backwards or
 *   stands, under ten seconds, a reading that never moves, a unit that does not fit the curve.
 */
function usableRows(
  recording: Recording,
  readingUnit: ReadingUnit,
  job: RowsJob,
  range: LogPart | null,
): Answer<LogRows> {
  const at = { file: recording.file };
  const reading = recording.columns.find((c) => c.role === "reading");
  const time = recording.columns.find((c) => c.role === "time");
  const made = recording.columns.find((c) => c.role === "volume" && c.unit !== null);
  if (!reading)
    return stuck({
      code: "drive-log/no-reading",
      says: `${recording.file} has no column that looks like a sender reading${columnsIn(recording)}.${made ? ` “${made.header}” holds a volume: what a device has already made of its reading, with a table and a smoothing in it.` : ""}`,
      ...mendedBy(byColumn("reading"), (way) => `Name the column ${way}.`),
      where: at,
    });
  if (!time)
    return stuck({
      code: "drive-log/no-time",
      says: `${recording.file} has no time column${columnsIn(recording)}, so nothing can be said about seconds.`,
      ...mendedBy(byColumn("time"), (way) => `Name the time column ${way}, or export the log with its time.`),
      where: at,
    });
  const cautions: Issue[] = [];
  const scale = logScale(recording.file, reading.unit, readingUnit, job, cautions);
  if (scale.state !== "ready") return scale;
  const clean = orderTime(recording, time, reading, range);
  const { backwards, repeatedStamps, start_s, whole_s } = clean;
  const seldom = rowsWithReading(reading, clean.keep);
  const keep = seldom?.keep ?? clean.keep;
  const what = range ? `The part of ${recording.file} that was chosen, ${partWords(range)},` : recording.file;
  if (range && clean.keep.length === 0 && range.from_s > clean.whole_s)
    return stuck({
      code: "drive-log/part-outside",
      says: `The part of ${recording.file} that was chosen, ${partWords(range)}, begins after its end: the log lasts ${spanWords(clean.whole_s)}.`,
      remedy: "Choose a part that lies in it, or all.",
      where: at,
    });
  const longer = range ? "Choose a longer part of it, or all." : "Bring a longer log.";
  const n = keep.length;
  if (n < 10 && backwards > 10)
    return stuck({
      code: "drive-log/time-runs-back",
      says: `${recording.file}: the time runs backwards: ${backwards} of ${recording.rows} rows lie before the row above them, from line ${clean.firstBackwards} on.`,
      ...mendedBy(
        byColumn("time"),
        (way) => `Sort the rows by time, export the log anew, or name another time column ${way}.`,
      ),
      where: { ...at, row: clean.firstBackwards, column: time.header },
    });
  if (n < 10)
    return stuck({
      code: "drive-log/too-short",
      says: `${what} holds ${n} usable ${n === 1 ? "row" : "rows"}.`,
      remedy: longer,
      where: at,
    });
  const time_s = keptValues(time, keep);
  if (time_s[n - 1] === time_s[0])
    return stuck({
      code: "drive-log/time-stands",
      says: `${recording.file}: the time stands at ${time_s[0]} s through all ${n} rows.`,
      ...mendedBy(byColumn("time"), (way) => `Name the column that holds the time ${way}, or export the log anew.`),
      where: { ...at, column: time.header },
    });
  if (repeatedStamps > 0.1 * n) spreadStamps(time_s);
  const duration_s = time_s[n - 1]! - time_s[0]!;
  if (!(duration_s >= 10))
    return stuck({
      code: "drive-log/too-short",
      says: `${what} lasts ${fixed(duration_s, 1)} s; slosh needs a minute, settings ten.`,
      remedy: longer,
      where: at,
    });
  const { interval_s, jitter } = clockOf(time_s);
  cautions.push(...unevenClock(recording.file, time_s, interval_s));
  if (seldom)
    cautions.push({
      code: "drive-log/seldom-read",
      says: `${recording.file}: the sender is logged on every ${ordinal(seldom.every)} row, ${withUnit(1 / interval_s, "Hz", 2)}; the rows between carry other channels, and nothing is made up for it there.`,
      weight: "note",
    });
  const values = keptValues(reading, keep);
  if (scale.value) for (let i = 0; i < n; i++) values[i] = scale.value(values[i]!);
  let blank = 0;
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  for (const v of values) {
    if (Number.isNaN(v)) blank++;
    else {
      if (v < lowest) lowest = v;
      if (v > highest) highest = v;
    }
  }
  if (!(highest > lowest))
    return stuck({
      code: "drive-log/constant",
      says: `${recording.file}: the reading stays at ${lowest} for all ${n} rows: the sender is stuck or the wrong column was taken.`,
      ...mendedBy(byColumn("reading"), (way) => `Choose another column ${way}, or check the wiring.`),
      where: { file: recording.file, column: reading.header },
    });
  const { firstBackwards } = clean;
  cautions.push(...accelerationsOf(recording, keep, interval_s));
  return ready({
    file: recording.file,
    sha256: recording.sha256,
    unitNamed: reading.unit !== null,
    range,
    channels: {
      along_g: channel(recording, "along", keep),
      across_g: channel(recording, "across", keep),
      speed_kmh: channel(recording, "speed", keep),
      flow_L_per_h: flowOf(recording, keep, job.flow, cautions),
      supply_V: channel(recording, "supply", keep),
    },
    keep,
    time_s,
    values,
    duration_s,
    interval_s,
    jitter,
    start_s,
    whole_s,
    blank,
    backwards,
    firstBackwards,
    repeatedStamps,
    cautions,
  });
}

/** 2nd, 3rd, 4th … of a count from two on. */
const ordinal = (n: number): string => {
  const tens = n % 100 >= 11 && n % 100 <= 13;
  return `${n}${tens ? "th" : (["th", "st", "nd", "rd"][n % 10] ?? "th")}`;
};

/** A chosen part as it is said, from the log's start: in minutes where a tenth of one parts both ends well, else in seconds. */
const partWords = ({ from_s, to_s }: LogPart): string => {
  const inMinutes = to_s === null ? from_s >= 120 : to_s - from_s >= 120;
  const words = (s: number) => (inMinutes ? `${fixed(s / 60, 1)} min` : `${Number(s.toFixed(1))} s`);
  return `${words(from_s)} to ${to_s === null ? "its end" : words(to_s)}`;
};

const spanWords = (s: number): string => (s < 120 ? `${Number(s.toFixed(1))} s` : `${fixed(s / 60, 1)} min`);
