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
import { leavesAndReturns } from "./device-counts";
import { type BeforeTable, beforeTable, behindTable } from "./device-model";
import { believed, type DeviceRecord } from "./device-record";
import { type Shown, shownValue, type TablePoint } from "./device-table";
import type { Display } from "./display";
import { evenScale, type Moving, readingsOf, travelOf } from "./end-motion";
import type { Job } from "./job";

export type End = "empty" | "full";

/** Limits of belief, reading unit; null: no limit on that side. */
export interface FaultLimits {
  low: number | null;
  high: number | null;
}

/** What of the display an end depends on. */
export type EndSetting = Pick<Display, "timeConstant_s" | "deadband_L" | "uses" | "features" | "order">;

/** Readings as they come to the table: they hold for every table and margin that is tried. */
export interface Carried {
  before: BeforeTable[];
  /** What a device that smooths behind its table goes on with. */
  setting: Pick<EndSetting, "timeConstant_s" | "features" | "order">;
  hours: number;
}

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
/** A log's motion laid over levels that fall through one end, at the device's rate, before the device: it holds for every setting. */
export interface Laid {
  records: DeviceRecord[];
  hours: number;
}

/** @returns one for each roughness: the motion taken so many times as large, 1 as logged. */
export function layAt(
  end: End,
  logs: Moving[],
  curve: EndCurve,
  job: Pick<Job, "circuit">,
  /** On another day the end reads this much further inside (reading unit, signed): the margin must hold for that too. */
  dayShift: number,
  /**
   * Litres inside the travel that must be passed: where the digit of the end turns. A log that burns less is laid at several levels between
   * there and the end, so that one fall through them is seen piece by piece.
   */
  reach_L: number,
  roughness = [1],
): Laid[] {
  const scale = evenScale(curve, job);
  const { low, high } = travelOf(curve);
  const { emptyReading, fullReading } = curve.overall;
  const edge_L = volumeAt(curve, end === "empty" ? emptyReading : fullReading);
  const out = roughness.map((): Laid => ({ records: [], hours: 0 }));
  for (const { record, motion, apart, burn_L_per_h } of logs) {
    const n = record.reading.length;
    const hours = (n * record.interval_s) / 3600;
    const burn_L = burn_L_per_h * hours;
    const inside_L = Math.max(burn_L, reach_L);
    const passes = Math.min(mostPasses, Math.max(leastPasses, Math.ceil(enoughHours / Math.max(1e-9, hours))));
    for (let pass = 0; pass < passes; pass++) {
      const away_L = 0.1 * burn_L + (pass / (passes - 1)) * (inside_L - 0.1 * burn_L);
      // At full the level starts over the edge and leaves it; at empty it comes down to the edge and stands there.
      const start_L = end === "full" ? edge_L + burn_L - away_L : edge_L + away_L;
      const level = new Float64Array(n);
      for (let i = 0; i < n; i++) level[i] = start_L - (burn_L * i) / n;
      const still = readingsOf(curve, level);
      for (let i = 0; i < n; i++) still[i] = scale.to(still[i]!);
      roughness.forEach((times, k) => {
        const reading = record.reading.slice();
        for (let i = 0; i < n; i++)
          if (!apart[i])
            reading[i] = Math.min(high, Math.max(low, scale.from(still[i]! + times * motion[i]!))) + dayShift;
        out[k]!.records.push({ ...record, reading });
        out[k]!.hours += hours;
      });
    }
  }
  return out;
}

/** The motion laid at one end, up to the device's table. */
export function carry(laid: Laid, curve: EndCurve, setting: Omit<EndSetting, "deadband_L">): Carried {
  return {
    before: laid.records.map((record) =>
      beforeTable(record, { ...setting, faultLimits: setting.uses.includes("fault-limits"), table: curve.grid }),
    ),
    setting,
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
  for (const before of carried.before) {
    const volume = behindTable(before, { ...carried.setting, table }).volume_L;
    // It is looked up anew for every table: nobody else holds it.
    if (deadband_L > 0) play(volume, deadband_L, volume);
    flickers += leavesAndReturns(shownValue(volume, shown, volume), shows).flickers;
  }
  return flickers / Math.max(carried.hours, 1 / 60);
}

/**
 * Filtered noise over the logs: standard deviation in the reading's unit, the middle reading where it was seen, its autocorrelation from update to
 * update. Of the reading, whichever the device smooths: away from the ends a smoothed volume moves as much, times the slope (to first order).
 */
export function filteredNoise(
  logs: Pick<Moving, "record" | "expected">[],
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
