/** Rows of a drive log: which of them can be used, when they were taken, and what the sender read, in the curve's unit. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import type { LogPart } from "./choices";
import type { VolumeByReading } from "./curve-types";
import { unevenClock } from "./drive-clock";
import { clockOf, keptValues, orderTime, spreadStamps } from "./drive-marks";
import type { Job } from "./job";
import { thousandth, unitFactor } from "./log-units";
import { columnsIn, type Recording } from "./recording";
import { byColumn, mendedBy } from "./ways";

export interface DriveRows {
  /** Rows of the recording that are used, and their times, rising. */
  keep: Int32Array;
  time_s: Float64Array;
  /** Reading's unit of the curve; NaN where blank. */
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

/**
 * @param range the part that counts; null for all of it. @returns stuck `drive-log/…` for: no reading or time column, a time that runs backwards or
 *   stands, under ten seconds, a reading that never moves, a unit that does not fit the curve.
 */
export function usableRows(
  recording: Recording,
  curve: VolumeByReading,
  job: Pick<Job, "circuit">,
  range: LogPart | null,
): Answer<DriveRows> {
  const at = { file: recording.file };
  const reading = recording.columns.find((c) => c.role === "reading");
  const time = recording.columns.find((c) => c.role === "time");
  if (!reading)
    return stuck({
      code: "drive-log/no-reading",
      says: `${recording.file} has no column that looks like a sender reading${columnsIn(recording)}.`,
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
  const factor = unitFactor(recording.file, reading.unit, curve, job, cautions);
  if (factor.state !== "ready") return factor;
  const clean = orderTime(recording, time, reading, range);
  const { keep, backwards, repeatedStamps, start_s, whole_s } = clean;
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
  const written = keptValues(reading, keep);
  if (factor.value !== 1) for (let i = 0; i < n; i++) written[i]! *= factor.value;
  const thousand = reading.unit === null ? thousandth(recording.file, written, curve, cautions) : 1;
  const values = thousand === 1 ? written : written.map((v) => v * thousand);
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
  return ready(
    {
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
    },
    cautions,
  );
}

/** A chosen part as it is said, from the log's start: in minutes where a tenth of one parts both ends well, else in seconds. */
const partWords = ({ from_s, to_s }: LogPart): string => {
  const inMinutes = to_s === null ? from_s >= 120 : to_s - from_s >= 120;
  const words = (s: number) => (inMinutes ? `${fixed(s / 60, 1)} min` : `${Number(s.toFixed(1))} s`);
  return `${words(from_s)} to ${to_s === null ? "its end" : words(to_s)}`;
};

const spanWords = (s: number): string => (s < 120 ? `${Number(s.toFixed(1))} s` : `${fixed(s / 60, 1)} min`);
