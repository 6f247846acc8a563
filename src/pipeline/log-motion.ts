/**
 * Motion of the logs: what is left of the readings once the burn is taken off, its spectrum, and how it leans with acceleration.
 *
 * The slow half of what is told of the noise; nothing of the job is read for it.
 */
import { type Answer, ready, stuck } from "../answer";
import { powerBelow, type Spectrum, welch } from "../math/spectrum";
import type { CurveDoubt } from "./curve-doubt";
import type { VolumeByReading } from "./curve-types";
import type { DriveLog } from "./drive-log";
import { detrend, type Even, litresPerReading, senseOf } from "./even-samples";
import { longestOf } from "./floor-of-log";
import { MARK } from "./marks";
import { type LevelLog, movedLitres } from "./noise-by-level";
import { type Tilt, type tiltGround, tiltOf } from "./tilt";

export interface LogMotion {
  /** The longest log: of it is all that follows, but for the levels. */
  log: DriveLog;
  /** Variance of the reading once burn trend and mean are off, and its spectrum by segments of `length` samples of the log's own clock. */
  total: number;
  length: number;
  spectrum: Spectrum;
  /** Litres a unit of the reading: at the log's middle level, and over the whole of the motion, as the curve bends under it. */
  slope: number;
  perReading_L: number;
  tilt: Tilt | null;
  /** Root mean square of what spikes and dropouts put on top, the reading's unit. */
  spikesSd: number;
  /** All logs that leave enough samples, ready to be told by level. */
  levels: LevelLog[];
}

/**
 * @param ground of the longest log. @param doubt how well the curve is known; null for a table found in a device.
 * @returns stuck `noise/too-few` when hardly a reading of the longest log is good.
 */
export function motionOf(
  logs: DriveLog[],
  ground: ReturnType<typeof tiltGround>,
  curve: VolumeByReading,
  doubt: CurveDoubt | null,
): Answer<LogMotion> {
  const log = longestOf(logs);
  const { even } = log.columns;
  const n = even.reading.length;
  if (n < 64)
    return stuck({
      code: "noise/too-few",
      says: `${log.file} leaves ${n} good readings; to find the slosh takes 64.`,
      remedy: "Bring a longer log.",
    });
  const slope = litresPerReading(curve, even);
  const moved_L = movedLitres(log, even, curve);
  const detrended = motionInReading(even, log, slope, moved_L);
  const rate_Hz = log.sampleRate_Hz;
  const wanted = powerBelow(Math.min(n, Math.round(60 * rate_Hz)));
  const length = Math.max(32, wanted > n / 3 && n >= 128 ? powerBelow(n / 3) : wanted);
  const spectrum = welch(detrended, rate_Hz, length);
  const total = variance(detrended);
  // Over the whole of the motion, as the curve bends under it: what is said in litres of one log goes together.
  const perReading_L = total > 0 ? Math.sqrt(aboutMean(moved_L) / total) : slope;
  return ready({
    log,
    total,
    length,
    spectrum,
    slope,
    perReading_L,
    tilt: tiltOf(ground, moved_L, doubt),
    spikesSd: spikesOf(log, even),
    levels: logs.flatMap((l) => (l === log ? [{ log, even, detrended, moved_L }] : levelLog(l, curve))),
  });
}

/** Root mean square distance of the marked readings from what stands in their place, over all rows. */
function spikesOf(log: DriveLog, even: Even): number {
  const { reading, mark } = log.columns;
  let squares = 0;
  for (let i = 0; i < even.reading.length; i++)
    if ((mark[i + even.first]! & (MARK.spike | MARK.dropout)) !== 0)
      squares += (reading[i + even.first]! - even.reading[i]!) ** 2;
  return Math.sqrt(squares / Math.max(1, even.reading.length));
}

/** Another log, ready to be told by level; none where it leaves too little. */
function levelLog(log: DriveLog, curve: VolumeByReading): LevelLog[] {
  const { even } = log.columns;
  if (even.reading.length < 64) return [];
  const moved_L = movedLitres(log, even, curve);
  return [{ log, even, detrended: motionInReading(even, log, litresPerReading(curve, even), moved_L), moved_L }];
}

/**
 * Motion in the reading's unit. One slope turns a burn back into readings; a refuel goes from one end of a curve that bends to the other, and what the
 * slope leaves of it would be motion: there the litres that moved are brought back by the slope, less their mean.
 */
function motionInReading(even: Even, log: DriveLog, slope: number, moved_L: Float64Array): Float64Array {
  if (!(slope > 0) || !log.parts.some((p) => p.kind === "refuelling")) return detrend(even, log, slope);
  const sense = senseOf(even, log);
  const mean = moved_L.reduce((sum, v) => sum + v, 0) / moved_L.length;
  return moved_L.map((v) => (sense * (v - mean)) / slope);
}

/** Variance about the mean; the numbers stay as they are. */
function aboutMean(x: Float64Array): number {
  const mean = x.reduce((s, v) => s + v, 0) / x.length;
  return x.reduce((s, v) => s + (v - mean) ** 2, 0) / x.length;
}

function variance(x: Float64Array): number {
  let s = 0;
  for (const v of x) s += v * v;
  return s / Math.max(1, x.length - 1);
}
