/**
 * Drive log: how does the volume move on the road?
 *
 * Takes a recording and the curve, returns readings on their own clock with every oddity marked (never removed),
 * the parts of the drive, and the burn trend.
 */
import { type Answer, all, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { burnTrend } from "./burn-trend";
import type { Choices, LogPart } from "./choices";
import type { BelievedLimits } from "./circuit";
import { burntStandard_L, type CurveDoubt } from "./curve-doubt";
import type { VolumeByReading } from "./curve-types";
import { lookUp } from "./device-model";
import { unevenClock } from "./drive-clock";
import {
  channel,
  clockOf,
  keptValues,
  markSamples,
  orderTime,
  partsOf,
  refreshRate,
  spreadStamps,
  steadyRise,
  traceOf,
} from "./drive-marks";
import type { Job } from "./job";
import { thousandth, unitFactor } from "./log-units";
import { columnsIn, type Recording } from "./recording";
import { stuckStretches } from "./stuck";
import { bringDrive, byColumn, byPart, mendedBy } from "./ways";

/** Bit flags of `columns.mark`. A marked sample stays in the record. */
export const MARK = { spike: 1, dropout: 2, held: 4, atEnd: 8, blank: 16, notYetAnswered: 32 } as const;

/** Shares of a log for which the vehicle may stand at all, and without a word; share of its rows that may stand at an end of the sender. Named defaults, no source. */
const mostParked = 0.9;
const muchParked = 0.2;
const mostAtEnd = 0.1;
/** Share of a log that may stand still before its calm is in doubt. Named default, no source. */
const mostStuck = 0.05;
/** Deviation of the block means from a steady burn, as a share of the tank, over which it is none. Named default, no source. */
const mostStray = 0.08;

/** Ten minutes of log, a little less: its last row stands a sample short of them. */
export const tenMinutes_s = 594;

export interface DriveColumns {
  time_s: Float64Array;
  /** Reading unit of the curve; NaN where blank or not yet answered. */
  reading: Float64Array;
  /** Litres on the fill-day curve; NaN where blank. */
  volume_L: Float64Array;
  /** Burn trend, litres. */
  trend_L: Float64Array;
  mark: Uint8Array;
  along_g: Float64Array | null;
  across_g: Float64Array | null;
  speed_kmh: Float64Array | null;
  flow_L_per_h: Float64Array | null;
  supply_V: Float64Array | null;
}

/** In seconds from the start of the log, whatever its clock says there. */
export interface DrivePart {
  kind: "parked" | "driving" | "refuelling" | "gap";
  from_s: number;
  to_s: number;
}

export interface DriveLog {
  file: string;
  sha256: string;
  rows: number;
  duration_s: number;
  /** Where what counts begins, seconds from the log's own start, and how long the whole log is: 0 and `duration_s` unless a part was chosen. */
  startsAt_s: number;
  whole_s: number;
  /** Rows a second by the clock (median step), how uneven it is, and how often the value really changes. */
  sampleRate_Hz: number;
  clockJitter_fraction: number;
  refreshRate_Hz: number;
  parts: DrivePart[];
  from_L: number;
  to_L: number;
  burn_L_per_h: number;
  /** Standard uncertainty of it, from the scatter of this log and from how well the curve knows what lies between its ends; null where the flow was logged. */
  burnStandard_L_per_h: number | null;
  counts: {
    spikes: number;
    dropouts: number;
    /** Rows that repeat the value before. */
    held: number;
    /** Stretches in which the reading stands still although it moves elsewhere. */
    stuck: number;
    atEnd: number;
    blank: number;
    /** Zeros at the start, before the sender was read for the first time. */
    notYetAnswered: number;
    backwards: number;
    repeatedStamps: number;
  };
  /** Minimum and maximum per bin for the plot, at most 4,000 points, so that peaks are kept. */
  trace: { time_s: number[]; low_L: number[]; high_L: number[]; trend_L: number[] };
  /** Heavy: stays on the worker's side. */
  columns: DriveColumns;
}

/**
 * Reads the drive logs.
 *
 * @param parts the part of each log that counts, by its hash. @param doubt how well the curve is known; null for a table found in a device.
 * @returns stuck `drive-log/…` for: no log, no reading column, no time column, under ten seconds, a reading that never
 *   moves, a unit that does not fit the curve; cautions for backward time, held values, gaps, readings outside the curve.
 */
export function readDrive(
  recordings: Recording[],
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: Pick<Job, "circuit">,
  parts: Choices["driveParts"],
  doubt: CurveDoubt | null = null,
): Answer<DriveLog[]> {
  if (recordings.length === 0)
    return stuck({
      code: "drive-log/none",
      says: "There is no drive log yet.",
      ...mendedBy(
        bringDrive,
        (way) => `${way}: time and sender reading, one reading a second or faster, ten minutes or more.`,
      ),
    });
  const logs: Answer<DriveLog>[] = recordings.map((r) =>
    readOne(r, curve, limits, job, parts[r.sha256] ?? null, doubt),
  );
  return all(logs);
}

function readOne(
  recording: Recording,
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: Pick<Job, "circuit">,
  range: LogPart | null,
  doubt: CurveDoubt | null,
): Answer<DriveLog> {
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

  const mark = markSamples(values, curve, limits);
  // A zero before the first answer is no empty tank: the device would not have seen it.
  let notYetAnswered = 0;
  for (let i = 0; i < n && (mark[i]! & (MARK.notYetAnswered | MARK.blank)) !== 0; i++)
    if ((mark[i]! & MARK.notYetAnswered) !== 0) {
      values[i] = Number.NaN;
      notYetAnswered++;
    }
  const volume_L = lookUp(curve.grid, values);
  const bad = MARK.blank | MARK.spike | MARK.dropout | MARK.notYetAnswered;
  const good = (i: number) => (mark[i]! & bad) === 0;
  const flow = channel(recording, "flow", keep);
  const trend = burnTrend(time_s, volume_L, good, flow);
  const { trend_L } = trend;
  const first = curve.grid[0]!.reading;
  const last = curve.grid[curve.grid.length - 1]!.reading;
  const room = 0.02 * Math.abs(last - first);
  let outside = 0;
  for (let i = 0; i < n; i++)
    if (
      (mark[i]! & (MARK.blank | MARK.notYetAnswered)) === 0 &&
      (values[i]! < first - room || values[i]! > last + room)
    )
      outside++;
  if (outside > 0.25 * n)
    cautions.push({
      code: "drive-log/outside",
      says: `${Math.round((100 * outside) / n)} % of the readings of ${recording.file} lie outside those that the curve is known for: another column or unit, another circuit, or the sender is wired the other way round.`,
      ...mendedBy(
        {
          page: "the column under “Read it another way”",
          command: "that the right column was taken (--map reading=COLUMN)",
        },
        (way) => `Check ${way}, and that both were read through the same circuit.`,
      ),
      weight: "doubtful",
    });
  const count = (flag: number) => {
    let runs = 0;
    for (let i = 0; i < n; i++) if ((mark[i]! & flag) !== 0 && (i === 0 || (mark[i - 1]! & flag) === 0)) runs++;
    return runs;
  };
  if (backwards > 0)
    cautions.push({
      code: "drive-log/backwards",
      says:
        backwards === 1
          ? `${recording.file}, line ${clean.firstBackwards}: the time is out of order; that row is left out.`
          : `${recording.file}: the time of ${backwards} rows is out of order, from line ${clean.firstBackwards} on; those rows are left out.`,
      remedy: "Export the log anew if much is missing; if the clock was reset, bring the two parts as two logs.",
      where: { file: recording.file, row: clean.firstBackwards },
      weight: backwards > 0.02 * (n + backwards) ? "doubtful" : "note",
    });
  if (repeatedStamps > 0.1 * n)
    cautions.push({
      code: "drive-log/repeated-stamps",
      says: `${Math.round((100 * repeatedStamps) / n)} % of the rows of ${recording.file} repeat the time before; they are spread evenly between stamps.`,
      weight: "note",
    });
  const rise = steadyRise(time_s, volume_L, good);
  if (rise !== null && flow === null)
    cautions.push({
      code: "drive-log/rising",
      says: `${recording.file}: the volume rises by ${fixed(rise, 1)} L while driving, steadily and not in one refuel: the sender may be wired the other way round, or the log is of another tank.`,
      remedy: "Check that fill run and drive log were read through the same wires.",
      weight: "doubtful",
    });
  let changes = 0;
  for (let i = 1; i < n; i++) if (values[i] !== values[i - 1]) changes++;
  const speed = channel(recording, "speed", keep);
  const drivenParts = partsOf(time_s, trend_L, speed, interval_s, start_s);
  const still = stuckStretches(values, time_s, mark, drivenParts, start_s);
  if (still.first_s !== null)
    cautions.push({
      code: "drive-log/stuck",
      says: `${recording.file}: the reading stands still for ${fixed(still.seconds, 0)} s in all, first ${fixed(still.first_s / 60, 1)} min after the start: the float hangs there, or the logger repeats its last value. Those rows look calmer than the road was.`,
      remedy: "Look at the log there; move the float by hand if it hangs, or leave that part out.",
      weight: still.seconds > mostStuck * duration_s ? "doubtful" : "note",
      where: at,
    });
  // A refuel is no burn backwards: only the falls count.
  let drop_L = 0;
  for (let i = 1; i < n; i++) drop_L += Math.max(0, trend_L[i - 1]! - trend_L[i]!);
  const [low_L, high_L] = rangeOf(trend_L);
  const ofCurve_L = doubt ? burntStandard_L(curve, doubt, { low_L, high_L, burnt_L: drop_L }) : 0;
  const parkedFor_s = drivenParts.reduce((sum, p) => sum + (p.kind === "parked" ? p.to_s - p.from_s : 0), 0);
  if (parkedFor_s > mostParked * duration_s)
    cautions.push({
      code: "drive-log/parked",
      says: `${recording.file}: the vehicle stands for ${Math.round((100 * parkedFor_s) / duration_s)} % of this log, so that what the fuel does on the road is not in it.`,
      remedy: "Bring a log of a drive on the roughest road in use.",
      weight: "doubtful",
    });
  else if (parkedFor_s > muchParked * duration_s)
    cautions.push({
      code: "drive-log/partly-parked",
      says: `${recording.file}: the vehicle stands for ${Math.round((100 * parkedFor_s) / duration_s)} % of this log. What is counted a minute is counted over all of it: on the road it is up to ${fixed(duration_s / (duration_s - parkedFor_s), 1)} times as much.`,
      ...mendedBy(byPart, (way) => `Count only the drive, ${way}.`),
      weight: "holds-if",
      condition: "the vehicle stands as long in service",
    });
  const atEnd = mark.reduce((s, m) => s + ((m & MARK.atEnd) !== 0 ? 1 : 0), 0);
  if (atEnd > mostAtEnd * n)
    cautions.push({
      code: "drive-log/at-end",
      says: `${recording.file}: ${Math.round((100 * atEnd) / n)} % of the rows stand at an end of the sender, where the level may lie beyond: burn and motion are told too small there.`,
      remedy: "Bring a log that runs between the ends too.",
      weight: "note",
    });
  const top_L = Math.max(...curve.grid.map((g) => g.volume_L));
  if (trend.block_s >= 20 && trend.stray_L > mostStray * top_L)
    cautions.push({
      code: "drive-log/no-trend",
      says: `${recording.file}: averaged over ${Math.round(trend.block_s)} s the volume still strays by ${fixed(trend.stray_L, 1)} L from a steady burn: it was filled or drained meanwhile, the float hangs, or the log is of another tank. What is judged against that burn is judged wrongly.`,
      ...mendedBy(byPart, (way) => `Bring a log of one drive, or choose the part of this one that is, ${way}.`),
      weight: "doubtful",
    });
  const log: DriveLog = {
    file: recording.file,
    sha256: recording.sha256,
    rows: n,
    duration_s,
    startsAt_s: range ? time_s[0]! - start_s : 0,
    whole_s: range ? whole_s : duration_s,
    sampleRate_Hz: 1 / interval_s,
    clockJitter_fraction: jitter,
    refreshRate_Hz: refreshRate(values, interval_s),
    parts: drivenParts,
    from_L: trend_L[0]!,
    to_L: trend_L[n - 1]!,
    burn_L_per_h: Math.max(0, (drop_L / duration_s) * 3600),
    burnStandard_L_per_h:
      trend.standard_L === null ? null : (Math.hypot(trend.standard_L, ofCurve_L) / duration_s) * 3600,
    counts: {
      spikes: count(MARK.spike),
      dropouts: count(MARK.dropout),
      held: n - 1 - changes,
      stuck: still.stretches,
      atEnd,
      blank,
      notYetAnswered,
      backwards,
      repeatedStamps,
    },
    trace: traceOf(time_s, volume_L, trend_L, start_s),
    columns: {
      time_s,
      reading: values,
      volume_L,
      trend_L,
      mark,
      along_g: channel(recording, "along", keep),
      across_g: channel(recording, "across", keep),
      speed_kmh: speed,
      flow_L_per_h: flow,
      supply_V: channel(recording, "supply", keep),
    },
  };
  return ready(log, cautions);
}

/** A chosen part as it is said: minutes from the log's start. */
const partWords = ({ from_s, to_s }: LogPart): string =>
  `${fixed(from_s / 60, 1)} min to ${to_s === null ? "its end" : `${fixed(to_s / 60, 1)} min`}`;

function rangeOf(values: Float64Array): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return [low, high];
}
