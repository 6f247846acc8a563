/** What the smoothing does in its first seconds, and what it does behind the table instead of before it. */
import { lowPass, smoothingFactor } from "../math/filter";
import type { Order } from "./device-model";
import type { DeviceRecord } from "./device-record";
import { lookUp, type TablePoint } from "./device-table";

/** Seconds of readings that a start value may be the mean of. Named default, no source: two or three swings of most tanks. */
const mean_s = 3;
/** A mean that leaves more than this share of what one reading leaves is not worth waiting for. Named default, no source. */
const worthWaiting = 0.8;

export interface SwitchOn {
  /** Seconds until nine tenths of what is there are shown, where the filter starts at nothing: 2.303 τ. */
  fromNothing_s: number;
  /** How far off the first value stands, root mean square over all moments of the log: started at the first reading, and at the mean of the first `mean_s`. */
  firstReading_L: number;
  mean_s: number;
  mean_L: number;
  /** Which of both is worth it, and the seconds after which 95 of 100 starts with it are within one displayed step of the fuel. */
  startAt: "first-reading" | "mean";
  settled_s: number;
}

/**
 * A start may fall on any moment: every sample of the log is one. What the start value is off by dies away as exp(−t/τ). The mean is of what
 * the device smooths: readings, or their volumes.
 * @param readings believed ones, record by record.
 */
export function switchOn(
  records: DeviceRecord[],
  readings: Float64Array[],
  table: TablePoint[],
  timeConstant_s: number,
  step_L: number,
  order: Order,
): SwitchOn {
  const rms = (seconds: number): number => {
    let squares = 0;
    let n = 0;
    records.forEach((record, k) => {
      const width = Math.max(1, Math.round(seconds / record.interval_s));
      const volume_L =
        order === "reading-then-table"
          ? lookUp(table, movingMean(readings[k]!, width))
          : movingMean(lookUp(table, readings[k]!), width);
      // The mean stands at the end of its seconds.
      for (let i = width - 1; i < volume_L.length; i++) {
        squares += (volume_L[i]! - record.trend_L[i]!) ** 2;
        n++;
      }
    });
    return n > 0 ? Math.sqrt(squares / n) : 0;
  };
  const firstReading_L = rms(0);
  const mean_L = rms(mean_s);
  const startAt = mean_L < worthWaiting * firstReading_L ? "mean" : "first-reading";
  const off_L = startAt === "mean" ? mean_L : firstReading_L;
  return {
    fromNothing_s: Math.LN10 * timeConstant_s,
    firstReading_L,
    mean_s,
    mean_L,
    startAt,
    settled_s: timeConstant_s * Math.max(0, Math.log((1.96 * off_L) / step_L)),
  };
}

/** Mean of each value and the `width − 1` before it; shorter at the start. */
function movingMean(values: Float64Array, width: number): Float64Array {
  if (width <= 1) return values;
  const out = new Float64Array(values.length);
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    sum += values[i]!;
    if (i >= width) sum -= values[i - width]!;
    out[i] = sum / Math.min(width, i + 1);
  }
  return out;
}

export interface OrderDifference {
  /** Whichever of both the device is: shown by a device that smooths behind the table, less what is shown by one that smooths before it; litres over the log. */
  mean_L: number;
  rms_L: number;
}

/**
 * Both orders, replayed: on average they differ by `½·g″·(σ² − σ_f²)`, with what the smoothing takes out of the reading's variance
 * (Taylor, to second order).
 */
export function orderDifference(
  records: DeviceRecord[],
  readings: Float64Array[],
  table: TablePoint[],
  timeConstant_s: number,
): OrderDifference {
  let sum = 0;
  let squares = 0;
  let n = 0;
  records.forEach((record, k) => {
    const factor = smoothingFactor(timeConstant_s, record.interval_s);
    const before = lookUp(table, lowPass(readings[k]!, factor));
    const behind = lowPass(lookUp(table, readings[k]!), factor);
    for (let i = 0; i < before.length; i++) {
      const d = behind[i]! - before[i]!;
      sum += d;
      squares += d * d;
    }
    n += before.length;
  });
  return { mean_L: n > 0 ? sum / n : 0, rms_L: n > 0 ? Math.sqrt(squares / n) : 0 };
}

/** Part of a displayed step from which on the order matters. Named default, no source. */
const matteringPart = 0.1;
export const orderMatters = ({ mean_L }: OrderDifference, step_L: number): boolean =>
  Math.abs(mean_L) >= matteringPart * step_L;
