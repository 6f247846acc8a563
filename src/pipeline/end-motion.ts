/**
 * End motion: what of a drive log's motion would be the same at another level, and what does it add to the mean reading near empty?
 *
 * Motion is the reading less what the burn trend alone would read, on a scale on which it is as large at one level as at another.
 */
import { volumeAt } from "./curve-lookup";
import type { VolumeByReading } from "./curve-types";
import type { Features } from "./device-features";
import { beforeTable } from "./device-model";
import { atDeviceRate, type DeviceRecord } from "./device-record";
import { lookUp, type TablePoint } from "./device-table";
import type { DriveLog } from "./drive-log";
import type { EndCurve, FaultLimits } from "./end-replay";
import type { Job } from "./job";

/** What reads further outside the sender's travel than this share of it comes from no level: a wire or a spike. Named default, no source. */
const beyondShare = 0.03;

/** Readings of many volumes: the curve turned round once. */
export function readingsOf(curve: Pick<EndCurve, "grid" | "sense">, volume_L: Float64Array): Float64Array {
  const rows: TablePoint[] = [];
  for (const g of curve.sense > 0 ? curve.grid : [...curve.grid].reverse())
    if (rows.length === 0 || g.volume_L > rows[rows.length - 1]!.reading)
      rows.push({ reading: g.volume_L, volume_L: g.reading });
  return rows.length < 2 ? volume_L.map(() => rows[0]?.volume_L ?? 0) : lookUp(rows, volume_L);
}

export interface EvenScale {
  to(reading: number): number;
  from(even: number): number;
}

/**
 * A scale on which motion is as large at one level as at another: through a pull-up that is the sender's resistance (V/(Vs−V), its unit
 * does not matter), else the reading itself.
 */
export const evenScale = (curve: VolumeByReading, job: EvenScaleJob): EvenScale => scaleUnder(topOf(curve, job));

/** What is read of the job. */
type EvenScaleJob = { circuit: Pick<Job["circuit"], "kind" | "supplyVolts" | "adcBits"> };

/** The reading of an open pull-up, of which the scale is made; null where the reading itself is the scale. */
export function topOf(curve: VolumeByReading, job: EvenScaleJob): number | null {
  const { kind, supplyVolts, adcBits } = job.circuit;
  const top =
    curve.readingUnit === "V" ? supplyVolts : curve.readingUnit === "count" && adcBits ? 2 ** adcBits - 1 : null;
  return kind !== "pull-up" || top === null || curve.grid.some((g) => g.reading >= 0.97 * top) ? null : top;
}

/** @param top as `topOf` tells it. */
export function scaleUnder(top: number | null): EvenScale {
  if (top === null) return { to: (r) => r, from: (x) => x };
  return { to: (r) => r / Math.max(0.01 * top, top - r), from: (x) => (top * x) / (1 + Math.max(-0.5, x)) };
}

/** What of a log is laid at an end. */
export type MovingLog = Pick<DriveLog, "columns" | "burn_L_per_h" | "from_L" | "to_L">;

/** A log at the device's rate, and its motion. */
export interface Moving extends Pick<MovingLog, "burn_L_per_h" | "from_L" | "to_L"> {
  record: DeviceRecord;
  /** What the trend alone would read. */
  expected: Float64Array;
  /** On the even scale, its mean taken off. */
  motion: Float64Array;
  /** 1 where the reading is faulty, or so far outside the travel that it is no motion. */
  apart: Uint8Array;
}

/** Motion of each log: it holds for both ends, and for every setting. */
export function movingOf(
  logs: MovingLog[],
  curve: EndCurve,
  limits: FaultLimits,
  job: Pick<Job, "circuit" | "device">,
): Moving[] {
  const scale = evenScale(curve, job);
  const { low, high } = travelOf(curve);
  const beyond = beyondShare * (high - low);
  return logs.map((log) => {
    const record = atDeviceRate(log, job.device.rate_Hz, limits.low, limits.high);
    const { reading, faulty } = record;
    const expected = readingsOf(curve, record.trend_L);
    const motion = new Float64Array(reading.length);
    const apart = new Uint8Array(reading.length);
    let sum = 0;
    let good = 0;
    for (let i = 0; i < reading.length; i++) {
      const r = reading[i]!;
      apart[i] = faulty[i] || !(r >= low - beyond && r <= high + beyond) ? 1 : 0;
      if (!apart[i]) motion[i] = scale.to(r) - scale.to(expected[i]!);
      if (faulty[i]) continue;
      sum += motion[i]!;
      good++;
    }
    const mean = sum / Math.max(1, good);
    for (let i = 0; i < motion.length; i++) motion[i]! -= mean;
    const { burn_L_per_h, from_L, to_L } = log;
    return { burn_L_per_h, from_L, to_L, record, expected, motion, apart };
  });
}

/** The sender's travel, its lower and its higher reading. */
export function travelOf({ overall }: EndCurve): { low: number; high: number } {
  const { emptyReading, fullReading } = overall;
  return { low: Math.min(emptyReading, fullReading), high: Math.max(emptyReading, fullReading) };
}

/** How many times as large the reading moves at one reading of the travel as at another, for the same motion of the float. */
export function moves(curve: VolumeByReading, job: Pick<Job, "circuit">, at: number, against: number): number {
  const scale = evenScale(curve, job);
  const first = curve.grid[0]!.reading;
  const d = 1e-4 * Math.abs(curve.grid[curve.grid.length - 1]!.reading - first);
  const perReading = (reading: number) => Math.abs(scale.to(reading + d) - scale.to(reading - d));
  const times = perReading(against) / perReading(at);
  return Number.isFinite(times) ? times : 1;
}

/**
 * How many times more litres the same motion means at the steeper end than at the level of the logs; held between one and two. A reading that
 * moves more for each litre near an end proves no calm there: fuel moves as far as the surface is wide, which the reading does not show.
 */
export function steepestEnd(
  logs: Pick<DriveLog, "from_L" | "to_L">[],
  curve: VolumeByReading,
  job: Pick<Job, "circuit">,
): number {
  const slope = slopeOf(curve, evenScale(curve, job));
  const { first, last, width } = slope;
  const times =
    Math.max(slope.at(first + 1.5 * width), slope.at(last - 1.5 * width)) / slope.at(readingOfLog(logs[0]!, curve));
  return Number.isFinite(times) ? Math.min(2, Math.max(1, times)) : 1;
}

/**
 * Litres by which the mean reading on the road stands over a level near empty: a course that turns one way lifts the fuel at the sender, by the same
 * height at any level (how many litres that is goes with the surface there); and where the sender's stop cuts motion off below, what is left of it
 * lifts the mean. No filter takes either away. The log with the larger lift counts.
 *
 * @param turning_L what a turning course adds at the level of the logs.
 */
export function liftNearEmpty(
  level_L: number,
  turning_L: number,
  logs: Moving[],
  curve: EndCurve,
  job: Pick<Job, "circuit">,
): number {
  const scale = evenScale(curve, job);
  const { low, high } = travelOf(curve);
  const still = scale.to(readingsOf(curve, Float64Array.of(level_L))[0]!);
  const level = volumeAt(curve, scale.from(still));
  const lifts = logs.map((log) => {
    const { motion, apart } = log;
    const beside = slopeOf(curve, scale).at(readingOfLog(log, curve));
    const turn = beside > 0 ? (curve.sense * turning_L) / beside : 0;
    let sum = 0;
    let n = 0;
    for (let i = 0; i < motion.length; i++) {
      if (apart[i]) continue;
      sum += Math.min(high, Math.max(low, scale.from(still + turn + motion[i]!)));
      n++;
    }
    return n > 0 ? volumeAt(curve, sum / n) - level : 0;
  });
  return Math.max(0, ...lifts);
}

/** A log's motion on the even scale, thinned to values that stand for as many of its samples each. */
export interface MotionSample {
  motion: Float64Array;
  /** What a turning course adds to the level, on the even scale. */
  turn: number;
}

/** So many values stand for a log, picked from so many of its samples. Named defaults, no source. */
const sampleValues = 120;
const sampleOf = 6000;

/**
 * What of a log's motion comes to the table at a level, in a device that smooths behind it: median and hold are before the table, and pick one of
 * the readings. Either way alike: which way its tail is longer goes with the walls at the level of the log, and is another at an end.
 * @param turning_L what a turning course adds at the level of the logs. @param times the motion taken so many times as large.
 */
export function motionSamples(
  turning_L: number,
  logs: Moving[],
  curve: EndCurve,
  job: Pick<Job, "circuit">,
  features: Features,
  times: number,
): MotionSample[] {
  const scale = evenScale(curve, job);
  return logs.map((log) => {
    const { record, motion, apart } = log;
    // Believed as they are: what is faulty is not picked below.
    const moving = { ...record, reading: motion, faulty: new Uint8Array(motion.length) };
    const { reading } = beforeTable(moving, {
      order: "table-then-filter",
      timeConstant_s: 0,
      faultLimits: false,
      table: curve.grid,
      features,
    });
    const stride = Math.max(1, Math.floor(reading.length / sampleOf));
    const picked: number[] = [];
    for (let i = 0; i < reading.length; i += stride)
      if (!apart[i]) picked.push(times * reading[i]!, -times * reading[i]!);
    picked.sort((a, b) => a - b);
    const count = Math.min(sampleValues, picked.length);
    const beside = slopeOf(curve, scale).at(readingOfLog(log, curve));
    return {
      motion: Float64Array.from({ length: count }, (_, k) => picked[Math.floor(((k + 0.5) * picked.length) / count)]!),
      turn: beside > 0 ? (curve.sense * turning_L) / beside : 0,
    };
  });
}

/** Litres a unit of the even scale, over a tenth of the travel. */
function slopeOf(curve: VolumeByReading, scale: EvenScale) {
  const first = curve.grid[0]!.reading;
  const last = curve.grid[curve.grid.length - 1]!.reading;
  const width = 0.05 * (last - first);
  const at = (reading: number) => {
    const a = Math.max(first, reading - width);
    const b = Math.min(last, reading + width);
    return Math.abs((volumeAt(curve, b) - volumeAt(curve, a)) / (scale.to(b) - scale.to(a)));
  };
  return { first, last, width, at };
}

/** What the middle of a log's levels reads. */
function readingOfLog(log: Pick<DriveLog, "from_L" | "to_L">, curve: VolumeByReading): number {
  const middle_L = (log.from_L + log.to_L) / 2;
  return curve.grid.reduce((best, g) =>
    Math.abs(g.volume_L - middle_L) < Math.abs(best.volume_L - middle_L) ? g : best,
  ).reading;
}
