/**
 * End replay: what would this log's motion do at an end of the sender?
 *
 * A log seldom stands at both ends. Its motion (reading less what the burn trend alone would read) is laid over a level that falls through
 * the end at the log's own burn, and is cut off at the sender's stop, beyond which no level reads. What reads beyond it all the same is a wire
 * that lets go: that reads the same at every level.
 */
import { autocorrelation, lowPass, play, smoothingFactor } from "../math/filter";
import { volumeAt } from "./curve-lookup";
import type { Curve, VolumeByReading } from "./curve-types";
import {
  atDeviceRate,
  believed,
  type DeviceRecord,
  filteredReading,
  lookUp,
  type Shown,
  shownValue,
  type TablePoint,
} from "./device-model";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";

export type End = "empty" | "full";

/** Limits of belief, reading unit; null: no limit on that side. */
export interface FaultLimits {
  low: number | null;
  high: number | null;
}

/** Readings behind the device's filter: they hold for every table and margin that is tried. */
export interface Carried {
  filtered: Float64Array[];
  hours: number;
}

/** What of the display an end depends on. */
export type EndSetting = Pick<Display, "timeConstant_s" | "deadband_L" | "uses" | "features">;

/** What of the curve an end depends on. */
export interface EndCurve extends VolumeByReading {
  sense: 1 | -1;
  grid: Curve["grid"];
  overall: Pick<Curve["overall"], "emptyReading" | "fullReading">;
}

/** So many times a log is laid at an end, at levels spread over the reach; fewer where a log is long. Named defaults, no source. */
const mostPasses = 7;
const leastPasses = 3;
const enoughHours = 3;
/** What reads further outside the sender's travel than this share of it comes from no level: a wire or a spike. Named default, no source. */
const beyondShare = 0.03;

/** Reading of a volume on the curve. */
export function readingAt(curve: Pick<Curve, "grid" | "sense">, volume_L: number): number {
  const grid = curve.sense > 0 ? curve.grid : [...curve.grid].reverse();
  for (let i = 1; i < grid.length; i++) {
    const a = grid[i - 1]!;
    const b = grid[i]!;
    if (b.volume_L >= volume_L && b.volume_L > a.volume_L)
      return a.reading + (Math.max(0, volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
  }
  return grid[grid.length - 1]!.reading;
}

/** Readings of many volumes: the curve turned round once. */
function readingsOf(curve: Pick<EndCurve, "grid" | "sense">, volume_L: Float64Array): Float64Array {
  const rows: TablePoint[] = [];
  for (const g of curve.sense > 0 ? curve.grid : [...curve.grid].reverse())
    if (rows.length === 0 || g.volume_L > rows[rows.length - 1]!.reading)
      rows.push({ reading: g.volume_L, volume_L: g.reading });
  return rows.length < 2 ? volume_L.map(() => rows[0]?.volume_L ?? 0) : lookUp(rows, volume_L);
}

/**
 * A scale on which motion is as large at one level as at another: through a pull-up that is the sender's resistance (V/(Vs−V), its unit
 * does not matter), else the reading itself.
 */
function evenScale(
  curve: VolumeByReading,
  job: Pick<Job, "circuit">,
): { to(r: number): number; from(x: number): number } {
  const { kind, supplyVolts, adcBits } = job.circuit;
  const top =
    curve.readingUnit === "V" ? supplyVolts : curve.readingUnit === "count" && adcBits ? 2 ** adcBits - 1 : null;
  if (kind !== "pull-up" || top === null || curve.grid.some((g) => g.reading >= 0.97 * top))
    return { to: (r) => r, from: (x) => x };
  return { to: (r) => r / Math.max(0.01 * top, top - r), from: (x) => (top * x) / (1 + Math.max(-0.5, x)) };
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
  const scale = evenScale(curve, job);
  const first = curve.grid[0]!.reading;
  const last = curve.grid[curve.grid.length - 1]!.reading;
  const width = 0.05 * (last - first);
  const slope = (reading: number) => {
    const a = Math.max(first, reading - width);
    const b = Math.min(last, reading + width);
    return Math.abs((volumeAt(curve, b) - volumeAt(curve, a)) / (scale.to(b) - scale.to(a)));
  };
  const log = logs[0]!;
  const middle_L = (log.from_L + log.to_L) / 2;
  const there = curve.grid.reduce((best, g) =>
    Math.abs(g.volume_L - middle_L) < Math.abs(best.volume_L - middle_L) ? g : best,
  );
  const times = Math.max(slope(first + 1.5 * width), slope(last - 1.5 * width)) / slope(there.reading);
  return Number.isFinite(times) ? Math.min(2, Math.max(1, times)) : 1;
}

/** A log's motion laid over levels that fall through one end, at the device's rate, before the device: it holds for every setting. */
export interface Laid {
  records: DeviceRecord[];
  hours: number;
}

export function layAt(
  end: End,
  logs: Pick<DriveLog, "columns" | "burn_L_per_h">[],
  curve: EndCurve,
  limits: FaultLimits,
  job: Pick<Job, "circuit" | "device">,
  /** On another day the end reads this much further inside (reading unit, signed): the margin must hold for that too. */
  dayShift: number,
  /**
   * Litres inside the travel that must be passed: where the digit of the end turns. A log that burns less is laid at several levels between
   * there and the end, so that one fall through them is seen piece by piece.
   */
  reach_L: number,
  /** The motion taken so many times as large: 1 as logged. */
  roughness = 1,
): Laid {
  const scale = evenScale(curve, job);
  const { emptyReading, fullReading } = curve.overall;
  const low = Math.min(emptyReading, fullReading);
  const high = Math.max(emptyReading, fullReading);
  const beyond = beyondShare * (high - low);
  const edge_L = volumeAt(curve, end === "empty" ? emptyReading : fullReading);
  const out: Laid = { records: [], hours: 0 };
  for (const log of logs) {
    const record = atDeviceRate(log, job.device.rate_Hz, limits.low, limits.high);
    const n = record.reading.length;
    const expected = readingsOf(curve, record.trend_L);
    const motion = Float64Array.from(record.reading, (r, i) =>
      record.faulty[i] || r < low - beyond || r > high + beyond ? 0 : scale.to(r) - scale.to(expected[i]!),
    );
    let sum = 0;
    let good = 0;
    for (let i = 0; i < n; i++)
      if (!record.faulty[i] && Number.isFinite(motion[i]!)) {
        sum += motion[i]!;
        good++;
      }
    const mean = sum / Math.max(1, good);
    const hours = (n * record.interval_s) / 3600;
    const burn_L = log.burn_L_per_h * hours;
    const inside_L = Math.max(burn_L, reach_L);
    const passes = Math.min(mostPasses, Math.max(leastPasses, Math.ceil(enoughHours / Math.max(1e-9, hours))));
    for (let pass = 0; pass < passes; pass++) {
      const away_L = 0.1 * burn_L + (pass / (passes - 1)) * (inside_L - 0.1 * burn_L);
      // At full the level starts over the edge and leaves it; at empty it comes down to the edge and stands there.
      const start_L = end === "full" ? edge_L + burn_L - away_L : edge_L + away_L;
      const level = record.reading.map((_, i) => start_L - (burn_L * i) / n);
      const still = readingsOf(curve, level);
      const reading = record.reading.map((r, i) =>
        record.faulty[i] || Number.isNaN(r) || r < low - beyond || r > high + beyond
          ? r
          : Math.min(high, Math.max(low, scale.from(scale.to(still[i]!) + roughness * (motion[i]! - mean)))) + dayShift,
      );
      out.records.push({ ...record, reading });
      out.hours += hours;
    }
  }
  return out;
}

/** The motion laid at one end, behind fault limits and low-pass of the device. */
export function carry(laid: Laid, curve: EndCurve, setting: Omit<EndSetting, "deadband_L">): Carried {
  return {
    filtered: laid.records.map(
      (record) =>
        filteredReading(record, {
          timeConstant_s: setting.timeConstant_s,
          faultLimits: setting.uses.includes("fault-limits"),
          table: curve.grid,
          features: setting.features,
        }).filtered,
    ),
    hours: laid.hours,
  };
}

/** Flickers an hour of carried motion with this table. */
export function carriedFlickers(
  carried: Carried,
  table: TablePoint[],
  end_L: number,
  deadband_L: number,
  shown: Shown,
): number {
  let flickers = 0;
  const shows = shownValue(Float64Array.of(end_L), shown)[0]!;
  for (const filtered of carried.filtered) {
    const volume = lookUp(table, filtered);
    const held = deadband_L > 0 ? play(volume, deadband_L) : volume;
    flickers += leavesAndReturns(shownValue(held, shown), shows).flickers;
  }
  return flickers / Math.max(carried.hours, 1 / 60);
}

/** Times that the end value is left and comes back, and samples on it. */
export function leavesAndReturns(shown_L: Float64Array, end_L: number): { flickers: number; samples: number } {
  let samples = 0;
  let flickers = 0;
  let left = false;
  for (let i = 0; i < shown_L.length; i++) {
    if (Math.abs(shown_L[i]! - end_L) < 1e-9) {
      samples++;
      if (left) flickers++;
      left = false;
    } else left = samples > 0;
  }
  return { flickers, samples };
}

/** What the readings of a log are, and what its trend alone would read, at the device's rate. */
export interface Expected {
  record: DeviceRecord;
  expected: Float64Array;
}

export const expectedOf = (
  logs: Pick<DriveLog, "columns">[],
  curve: EndCurve,
  limits: FaultLimits,
  rate_Hz: number,
): Expected[] =>
  logs.map((log) => {
    const record = atDeviceRate(log, rate_Hz, limits.low, limits.high);
    return { record, expected: readingsOf(curve, record.trend_L) };
  });

/** Filtered noise over the logs: standard deviation in the reading's unit, the middle reading where it was seen, its autocorrelation from update to update. */
export function filteredNoise(
  logs: Expected[],
  setting: Pick<EndSetting, "timeConstant_s" | "uses">,
): { sd: number; middle: number; rho: number; interval_s: number } {
  let worst = { sd: 0, middle: logs[0]!.expected[0]!, rho: 1, interval_s: logs[0]!.record.interval_s };
  for (const { record, expected } of logs) {
    const factor = smoothingFactor(setting.timeConstant_s, record.interval_s);
    const rest = lowPass(believed(record, setting.uses.includes("fault-limits")), factor);
    // What the trend alone would read is taken off through the curve itself.
    const still = lowPass(expected, factor);
    let mean = 0;
    for (let i = 0; i < rest.length; i++) {
      rest[i]! -= still[i]!;
      mean += rest[i]! / rest.length;
    }
    for (let i = 0; i < rest.length; i++) rest[i]! -= mean;
    const sd = Math.sqrt(rest.reduce((s, v) => s + v * v, 0) / rest.length);
    const middle = expected.reduce((s, v) => s + v / expected.length, 0);
    if (sd > worst.sd) worst = { sd, middle, rho: autocorrelation(rest, 1), interval_s: record.interval_s };
  }
  return worst;
}
