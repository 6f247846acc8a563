/**
 * Display count: how steady and how wrong is the display with one pair of time constant and deadband?
 *
 * Every pair of the device is counted on every log, so that this is the innermost loop of the page: one pass, nothing kept.
 */
import { lowPass, smoothingFactor } from "../math/filter";
import { type DeviceRecord, lookUp, type Shown, type TablePoint } from "./device-model";

/** Counts of one record behind deadband and displayed step. */
export interface ShownCount {
  changes: number;
  reversals: number;
  /** Reversals with the digits standing a quarter, a half and three quarters of a step further on, added up. */
  turnsElsewhere: number;
  /** Sum of the squares of shown less true, litres². */
  squares: number;
}

/**
 * One record behind the table, through a deadband of the play kind (half-width `deadband_L`, 0 for none) onto the displayed steps.
 *
 * How often digits turn back depends on where the level stands between two of them, so that four places are counted at once: with
 * `q` = floor(4·((v − offset)/step + ½)) the digit at the place j/4 is floor((q − j)/4), and nothing turns while q stays.
 */
export function countShown(
  volume_L: Float64Array,
  trend_L: Float64Array,
  deadband_L: number,
  { step_L, offset_L }: Shown,
): ShownCount {
  const n = volume_L.length;
  const digit = new Float64Array(4);
  const direction = new Int8Array(4);
  const reversals = new Int32Array(4);
  let changes = 0;
  let squares = 0;
  let held = volume_L[0] ?? 0;
  let quarter = Number.NaN;
  let shown_L = 0;
  for (let i = 0; i < n; i++) {
    const v = volume_L[i]!;
    if (v > held + deadband_L) held = v - deadband_L;
    else if (v < held - deadband_L) held = v + deadband_L;
    const q = Math.floor(4 * ((held - offset_L) / step_L + 0.5));
    if (q !== quarter) {
      for (let j = 0; j < 4; j++) {
        const k = Math.floor((q - j) / 4);
        const d = k - digit[j]!;
        if (i > 0 && d !== 0) {
          const sign = d > 0 ? 1 : -1;
          if (j === 0) changes++;
          if (direction[j] === -sign) reversals[j]!++;
          direction[j] = sign;
        }
        digit[j] = k;
      }
      quarter = q;
      shown_L = digit[0]! * step_L + offset_L;
    }
    const off = shown_L - trend_L[i]!;
    squares += off * off;
  }
  return {
    changes,
    reversals: reversals[0]!,
    turnsElsewhere: reversals[1]! + reversals[2]! + reversals[3]!,
    squares,
  };
}

/** Records behind low-pass and table, each time constant worked out once. */
export function createSmoothed(records: DeviceRecord[], believedReadings: Float64Array[], table: TablePoint[]) {
  let filtered: Float64Array = new Float64Array(0);
  let kept: { timeConstant_s: number; volumes: Float64Array[] } | null = null;
  return (timeConstant_s: number): Float64Array[] => {
    if (kept?.timeConstant_s === timeConstant_s) return kept.volumes;
    // Asked for one after the other: only the last one is kept, in the same memory.
    const volumes = believedReadings.map((reading, k) => {
      if (filtered.length !== reading.length) filtered = new Float64Array(reading.length);
      lowPass(reading, smoothingFactor(timeConstant_s, records[k]!.interval_s), filtered);
      return lookUp(table, filtered, kept?.volumes[k] ?? new Float64Array(reading.length));
    });
    kept = { timeConstant_s, volumes };
    return volumes;
  };
}
