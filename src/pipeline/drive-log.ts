/**
 * Drive log: how does the volume move on the road?
 *
 * Takes a recording and the curve, returns readings on their own clock with every oddity marked (never removed),
 * the parts of the drive, and the burn trend.
 */
import { type Answer, all, ready } from "../answer";
import { fixed } from "../format";
import { say } from "../said";
import { type BurnTrend, burnTrend } from "./burn-trend";
import { burntStandard_L, type CurveDoubt } from "./curve-doubt";
import type { VolumeByReading } from "./curve-types";
import { lookUp } from "./device-table";
import { doubtsOf, mayLieBeyond, type SeenInLog } from "./drive-doubts";
import { drivenSeconds, partsOf, steadyRise, traceOf } from "./drive-marks";
import type { LogChannels } from "./drive-rows";
import { type Even, unfit } from "./even-samples";
import type { Job } from "./job";
import { litresTo } from "./litres";
import type { MarkedLog } from "./log-marks";
import { flowDisagrees } from "./logged-flow";
import { MARK } from "./marks";
import { stuckStretches } from "./stuck";

/** Ten minutes of log, a little less: its last row stands a sample short of them. */
export const tenMinutes_s = 594;

export interface DriveColumns extends LogChannels {
  time_s: Float64Array;
  /** Reading unit of the curve; NaN where blank or not yet answered. */
  reading: Float64Array;
  /** Litres on the fill-day curve; NaN where blank. */
  volume_L: Float64Array;
  /** Burn trend, litres. */
  trend_L: Float64Array;
  mark: Uint8Array;
  /** The good readings on the log's own clock. */
  even: Even;
}

export type Shows = "motion" | "sender-end" | "parked" | "noise-alone";

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
  /** Whether the fuel is seen to move: else the reading stands at an end of the sender, the vehicle stands, or nothing but noise is in it. */
  shows: Shows;
  from_L: number;
  to_L: number;
  burn_L_per_h: number;
  /** So much of the log stands at an end of the sender that more may have been burnt: how much more no reading says. */
  burnIsLeast: boolean;
  /** Standard uncertainty of it, from the scatter of this log and from how well the curve knows what lies between its ends; null where the flow was logged. */
  burnStandard_L_per_h: number | null;
  /** Seconds that the burn is reckoned over: all of the log but refuels and, where the level stands while the vehicle does, but its stands. */
  burnOver_s: number;
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
 * Reads the drive logs through a curve.
 *
 * @param doubt how well the curve is known; null for a table found in a device. @param senderKind as the job states it.
 * @returns cautions for backward time, held values, gaps, readings outside the curve.
 */
export function readDrive(
  logs: MarkedLog[],
  curve: VolumeByReading,
  senderKind: Job["sender"]["kind"],
  doubt: CurveDoubt | null = null,
): Answer<DriveLog[]> {
  return all(logs.map((log) => readOne(log, curve, senderKind, doubt)));
}

function readOne(
  marked: MarkedLog,
  curve: VolumeByReading,
  senderKind: Job["sender"]["kind"],
  doubt: CurveDoubt | null,
): Answer<DriveLog> {
  const { rows, values, mark, levels } = marked;
  const { file, keep, time_s, duration_s, interval_s, start_s, range, channels } = rows;
  const n = keep.length;
  const volume_L = lookUp(curve.grid, values);
  const good = (i: number) => (mark[i]! & unfit) === 0;
  const logged = channels.flow_L_per_h;
  const driven_s = drivenSeconds(time_s, channels.speed_kmh);
  const fromLevel = () => burnTrend(time_s, volume_L, good, null, driven_s);
  const byFlow = logged ? burnTrend(time_s, volume_L, good, logged) : null;
  const byLevel = byFlow && marked.outside < n ? fromLevel() : null;
  const contradicted =
    byFlow !== null && byLevel !== null && flowDisagrees(byFlow, byLevel, levelStandard_L(byLevel, curve, doubt));
  // A flow that the level contradicts would make motion of what the level burns: the level is what is calibrated.
  const flow = contradicted ? null : logged;
  const trend = (contradicted ? byLevel : byFlow) ?? fromLevel();
  const { trend_L } = trend;
  const drivenParts = partsOf(time_s, trend_L, channels.speed_kmh, interval_s, start_s);
  const still = stuckStretches(marked.standing, drivenParts);
  // A refuel is no burn backwards: only the falls count.
  let drop_L = 0;
  for (let i = 1; i < n; i++) drop_L += Math.max(0, trend_L[i - 1]! - trend_L[i]!);
  // What was burnt while it was filled is hidden in the rise, but a logged flow has counted it.
  if (flow) drop_L = trend.burnt_L;
  const [low_L, high_L] = rangeOf(trend_L);
  const ofCurve_L = doubt ? burntStandard_L(curve, doubt, { low_L, high_L, burnt_L: drop_L }) : 0;
  const parked_s = drivenParts.reduce((sum, p) => sum + (p.kind === "parked" ? p.to_s - p.from_s : 0), 0);
  const burnIsLeast = flow === null && mayLieBeyond(marked.atEnd, n);
  // What an engine takes while the vehicle stands or is filled is not seen beside the rest.
  const burnOver_s = trend.over_s > 0 ? trend.over_s : duration_s;
  const log: DriveLog = {
    file,
    sha256: rows.sha256,
    rows: n,
    duration_s,
    startsAt_s: range ? time_s[0]! - start_s : 0,
    whole_s: range ? rows.whole_s : duration_s,
    sampleRate_Hz: 1 / interval_s,
    clockJitter_fraction: rows.jitter,
    refreshRate_Hz: marked.refreshRate_Hz,
    parts: drivenParts,
    shows: shownBy(mark, volume_L, trend_L, parked_s / duration_s, drop_L <= 2 * (trend.standard_L ?? 0)),
    from_L: trend_L[0]!,
    to_L: trend_L[n - 1]!,
    burn_L_per_h: Math.max(0, (drop_L / burnOver_s) * 3600),
    burnIsLeast,
    burnStandard_L_per_h:
      trend.standard_L === null ? null : (Math.hypot(trend.standard_L, ofCurve_L) / burnOver_s) * 3600,
    burnOver_s,
    counts: {
      spikes: marked.spikes,
      dropouts: marked.dropouts,
      held: marked.held,
      stuck: still.stretches,
      atEnd: marked.atEnd,
      blank: rows.blank,
      notYetAnswered: marked.notYetAnswered,
      backwards: rows.backwards,
      repeatedStamps: rows.repeatedStamps,
    },
    trace: traceOf(time_s, volume_L, trend_L, start_s),
    columns: { time_s, reading: values, volume_L, trend_L, mark, even: marked.even, ...channels },
  };
  const seen: SeenInLog = {
    outside: marked.outside,
    fuller: marked.fuller,
    atEnd: marked.atEnd,
    rise_L: flow === null ? steadyRise(volume_L, good) : null,
    stuck: still,
    parked_s,
    trend,
    isFound: doubt === null,
    top_L: Math.max(...curve.grid.map((g) => g.volume_L)),
    noiseAlone: log.shows === "noise-alone",
    levels,
    ladderStated: senderKind === "reed-ladder",
  };
  const doubts = doubtsOf(file, rows, seen);
  if (contradicted) {
    const perHour = 3600 / duration_s;
    doubts.unshift({
      code: "drive-log/flow-disagrees",
      says: say`${file}: the logged flow says that ${litresTo(byFlow.burnt_L, 1)} were burnt (${fixed(byFlow.burnt_L * perHour, 1)} L/h), and the level falls by ${litresTo(byLevel.burnt_L, 1)}: the flow is in another unit than its column says, or one of them is of another tank. The burn is taken from the level.`,
      remedy: "Write the flow’s unit into the head of its column, or leave that column out.",
      where: { file },
      weight: "doubtful",
    });
  }
  return ready(log, [...rows.cautions, ...marked.cautions, ...doubts]);
}

/** How well the litres burnt are known that the level shows: its scatter, and the curve between its ends. */
function levelStandard_L(trend: BurnTrend, curve: VolumeByReading, doubt: CurveDoubt | null): number {
  const [low_L, high_L] = rangeOf(trend.trend_L);
  const ofCurve_L = doubt ? burntStandard_L(curve, doubt, { low_L, high_L, burnt_L: trend.burnt_L }) : 0;
  return Math.hypot(trend.standard_L ?? 0, ofCurve_L);
}

/** Share of the rows, or of the log, from which on nothing is seen of the fuel's motion. Named default, no source. */
const nearlyAll = 0.9;
/** Motion hangs together from row to row: where its variance is no more than so many times half the mean square of the steps, it is noise. Named default, no source. */
const mostOfSteps = 1.2;

/** @param isLevel whether no burn stands out of the scatter. */
function shownBy(
  mark: Uint8Array,
  volume_L: Float64Array,
  trend_L: Float64Array,
  parked: number,
  isLevel: boolean,
): Shows {
  let [read, atEnd, squares, n, steps, pairs] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < mark.length; i++) {
    if ((mark[i]! & (MARK.blank | MARK.notYetAnswered)) !== 0) continue;
    read++;
    if ((mark[i]! & (MARK.atEnd | MARK.dropout)) !== 0) atEnd++;
    if ((mark[i]! & unfit) !== 0) continue;
    squares += (volume_L[i]! - trend_L[i]!) ** 2;
    n++;
    if (i === 0 || (mark[i - 1]! & unfit) !== 0) continue;
    steps += (volume_L[i]! - volume_L[i - 1]!) ** 2;
    pairs++;
  }
  if (atEnd >= nearlyAll * read) return "sender-end";
  if (parked > nearlyAll) return "parked";
  return isLevel && n > 0 && pairs > 0 && squares / n <= (mostOfSteps * steps) / pairs / 2 ? "noise-alone" : "motion";
}

function rangeOf(values: Float64Array): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return [low, high];
}
