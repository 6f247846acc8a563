/**
 * Drive log: how does the volume move on the road?
 *
 * Takes a recording and the curve, returns readings on their own clock with every oddity marked (never removed),
 * the parts of the drive, and the burn trend.
 */
import { type Answer, all, ready, stuck } from "../answer";
import { burnTrend } from "./burn-trend";
import type { Choices, LogPart } from "./choices";
import type { BelievedLimits } from "./circuit";
import { burntStandard_L, type CurveDoubt } from "./curve-doubt";
import type { VolumeByReading } from "./curve-types";
import { lookUp } from "./device-table";
import { doubtsOf, mayLieBeyond, type SeenInLog } from "./drive-doubts";
import { channel, markSamples, partsOf, refreshRate, steadyRise, traceOf } from "./drive-marks";
import { usableRows } from "./drive-rows";
import type { Job } from "./job";
import { levelsIn } from "./log-levels";
import type { Recording } from "./recording";
import { stuckStretches } from "./stuck";
import { bringDrive, mendedBy } from "./ways";

/** Bit flags of `columns.mark`. A marked sample stays in the record. */
export const MARK = { spike: 1, dropout: 2, held: 4, atEnd: 8, blank: 16, notYetAnswered: 32 } as const;

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

/** What a drive log reads of the job: of the sender its kind alone, so that no other change of it reads an hour of driving again. */
type DriveJob = Pick<Job, "circuit"> & { sender: Pick<Job["sender"], "kind"> };

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
  /** So much of the log stands at an end of the sender that more may have been burnt: how much more no reading says. */
  burnIsLeast: boolean;
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
 * @param widestStep of a ladder of levels, in the curve's reading; 0 for a sender without.
 * @returns stuck `drive-log/…` for: no log, no reading column, no time column, under ten seconds, a reading that never
 *   moves, a unit that does not fit the curve; cautions for backward time, held values, gaps, readings outside the curve.
 */
export function readDrive(
  recordings: Recording[],
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: DriveJob,
  parts: Choices["driveParts"],
  doubt: CurveDoubt | null = null,
  widestStep = 0,
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
    readOne(r, curve, limits, job, parts[r.sha256] ?? null, doubt, widestStep),
  );
  return all(logs);
}

function readOne(
  recording: Recording,
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: DriveJob,
  range: LogPart | null,
  doubt: CurveDoubt | null,
  widestStep: number,
): Answer<DriveLog> {
  const used = usableRows(recording, curve, job, range);
  if (used.state !== "ready") return used;
  const rows = used.value;
  const { keep, time_s, values, duration_s, interval_s, start_s } = rows;
  const n = keep.length;
  const mark = markSamples(values, curve, limits, widestStep);
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
  // A tank that is fuller than the run was filled reads on a little past its last step.
  let fuller = 0;
  const past = 0.15 * Math.abs(last - first);
  const fullIsHigh = curve.grid[curve.grid.length - 1]!.volume_L > curve.grid[0]!.volume_L;
  for (let i = 0; i < n; i++)
    if (
      (mark[i]! & (MARK.blank | MARK.notYetAnswered)) === 0 &&
      (values[i]! < first - room || values[i]! > last + room)
    ) {
      outside++;
      if (fullIsHigh ? values[i]! > last && values[i]! < last + past : values[i]! < first && values[i]! > first - past)
        fuller++;
    }
  const count = (flag: number) => {
    let runs = 0;
    for (let i = 0; i < n; i++) if ((mark[i]! & flag) !== 0 && (i === 0 || (mark[i - 1]! & flag) === 0)) runs++;
    return runs;
  };
  let changes = 0;
  for (let i = 1; i < n; i++) if (values[i] !== values[i - 1]) changes++;
  const speed = channel(recording, "speed", keep);
  const drivenParts = partsOf(time_s, trend_L, speed, interval_s, start_s);
  const still = stuckStretches(values, time_s, mark, drivenParts, start_s);
  // A refuel is no burn backwards: only the falls count.
  let drop_L = 0;
  for (let i = 1; i < n; i++) drop_L += Math.max(0, trend_L[i - 1]! - trend_L[i]!);
  // What was burnt while it was filled is hidden in the rise, but a logged flow has counted it.
  if (flow) drop_L = trend.burnt_L;
  const [low_L, high_L] = rangeOf(trend_L);
  const ofCurve_L = doubt ? burntStandard_L(curve, doubt, { low_L, high_L, burnt_L: drop_L }) : 0;
  const parked_s = drivenParts.reduce((sum, p) => sum + (p.kind === "parked" ? p.to_s - p.from_s : 0), 0);
  const atEnd = mark.reduce((s, m) => s + ((m & MARK.atEnd) !== 0 ? 1 : 0), 0);
  const burnIsLeast = flow === null && mayLieBeyond(atEnd, n);
  const log: DriveLog = {
    file: recording.file,
    sha256: recording.sha256,
    rows: n,
    duration_s,
    startsAt_s: range ? time_s[0]! - start_s : 0,
    whole_s: range ? rows.whole_s : duration_s,
    sampleRate_Hz: 1 / interval_s,
    clockJitter_fraction: rows.jitter,
    refreshRate_Hz: refreshRate(values, interval_s),
    parts: drivenParts,
    from_L: trend_L[0]!,
    to_L: trend_L[n - 1]!,
    burn_L_per_h: Math.max(0, (drop_L / duration_s) * 3600),
    burnIsLeast,
    burnStandard_L_per_h:
      trend.standard_L === null ? null : (Math.hypot(trend.standard_L, ofCurve_L) / duration_s) * 3600,
    counts: {
      spikes: count(MARK.spike),
      dropouts: count(MARK.dropout),
      held: n - 1 - changes,
      stuck: still.stretches,
      atEnd,
      blank: rows.blank,
      notYetAnswered,
      backwards: rows.backwards,
      repeatedStamps: rows.repeatedStamps,
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
  const seen: SeenInLog = {
    outside,
    fuller,
    atEnd,
    rise_L: flow === null ? steadyRise(volume_L, good) : null,
    stuck: still,
    parked_s,
    trend,
    top_L: Math.max(...curve.grid.map((g) => g.volume_L)),
    levels: doubt && widestStep === 0 ? levelsIn(values, [first, last]) : null,
    ladderStated: job.sender.kind === "reed-ladder",
  };
  return ready(log, [...used.cautions, ...doubtsOf(recording.file, rows, seen)]);
}

function rangeOf(values: Float64Array): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return [low, high];
}
