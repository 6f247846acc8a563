/** Device counts: how often a shown record changes and turns round, how far it is off, and how often it leaves an end and comes back. */
import { countChanges } from "../math/filter";
import { type DeviceRecord, minutesOf } from "./device-record";

export interface Steadiness {
  /** Changes and reversals while the vehicle moves, and the minutes in which it does; the changes while it is parked beside them. */
  minutes: number;
  changes: number;
  reversals: number;
  parkedMinutes: number;
  parkedChanges: number;
  rmsError_L: number;
  meanError_L: number;
  worstError_L: number;
}

/** Counts of a shown record, and its errors against the trend; errors over all of it, parked or not. */
export function steadiness(
  shown_L: Float64Array,
  record: Pick<DeviceRecord, "trend_L" | "interval_s" | "reading" | "parked">,
): Steadiness {
  const { trend_L } = record;
  const { changes, reversals, apart } = countChanges(shown_L, record.parked ?? null);
  let squares = 0;
  let sum = 0;
  let worst = 0;
  for (let i = 0; i < shown_L.length; i++) {
    const d = shown_L[i]! - trend_L[i]!;
    squares += d * d;
    sum += d;
    if (Math.abs(d) > worst) worst = Math.abs(d);
  }
  const n = Math.max(1, shown_L.length);
  const minutes = minutesOf(record);
  return {
    minutes: minutes.driven,
    changes,
    reversals,
    parkedMinutes: minutes.parked,
    parkedChanges: apart,
    rmsError_L: Math.sqrt(squares / n),
    meanError_L: sum / n,
    worstError_L: worst,
  };
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

/** Flickers at an end: leaving the end value and coming back, an hour. Null when the record never stands there. */
export function flickersPerHour(
  shown_L: Float64Array,
  end_L: number,
  interval_s: number,
): { perHour: number; flickers: number; hours: number } | null {
  const { flickers, samples } = leavesAndReturns(shown_L, end_L);
  const hours = (samples * interval_s) / 3600;
  return hours > 0 ? { perHour: flickers / Math.max(hours, 1 / 60), flickers, hours } : null;
}
