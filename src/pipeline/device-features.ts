/**
 * Features: what a device may have beside low-pass and deadband, each as it is replayed.
 *
 * The order in the device: fault limits → median → hold in a corner → low-pass (with the refuelling rule) → table → rate limit → deadband;
 * in a device that smooths the volume the table comes before the low-pass, and nothing else moves. Devices differ in detail; what stands here is one plain reading of each (common practice, no source), and it is what was replayed.
 */
import { smoothingFactor } from "../math/filter";

export interface Features {
  /** Median of so many readings before the low-pass; 1: none. */
  medianOf: number;
  /** Over this sideways acceleration the last reading is held; null: no hold. */
  holdOver_g: number | null;
  /** Most litres a second by which the volume moves; null: no limit. */
  rateLimit_L_per_s: number | null;
  /** The quick reading over the smoothed one by `rise_L` for `seconds`: the smoothing follows quickly until the level stands again. */
  refuel: { rise_L: number; seconds: number } | null;
}

export const noFeatures: Features = { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null };

/** Time constant of the quick reading that the refuelling rule looks at. Named default, no source. */
export const quick_s = 1.5;
/** Seconds without a rise after which the refuelling rule lets go. Named default, no source. */
const settled_s = 5;

/** Median of the last `count` values (fewer at the start), `count` odd. */
export function runningMedian(values: Float64Array, count: number): Float64Array {
  if (count <= 1) return values;
  const out = new Float64Array(values.length);
  const window: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const from = Math.max(0, i - count + 1);
    window.length = 0;
    for (let k = from; k <= i; k++) window.push(values[k]!);
    window.sort((a, b) => a - b);
    out[i] = window[(window.length - 1) >> 1]!;
  }
  return out;
}

/** Holds the last reading while the sideways acceleration is over the limit. */
export function holdInCorner(values: Float64Array, across_g: Float64Array, over_g: number): Float64Array {
  const out = new Float64Array(values.length);
  let last = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    if (!(Math.abs(across_g[i]!) > over_g)) last = values[i]!;
    out[i] = last;
  }
  return out;
}

/** Moves towards the values by at most `most` a sample; while a refuel is followed, freely. */
export function rateLimited(values: Float64Array, most: number, following: Uint8Array | null = null): Float64Array {
  const out = new Float64Array(values.length);
  let y = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    if (following?.[i]) y = values[i]!;
    else y += Math.max(-most, Math.min(most, values[i]! - y));
    out[i] = y;
  }
  return out;
}

/** Low-pass that follows the quick reading while a refuel goes on. `volumeOf` turns what is smoothed, a reading or a volume, into litres. */
export function refuelLowPass(
  values: Float64Array,
  timeConstant_s: number,
  interval_s: number,
  rule: { rise_L: number; seconds: number },
  volumeOf: (reading: number) => number,
): { filtered: Float64Array; following: Uint8Array } {
  const slow = smoothingFactor(timeConstant_s, interval_s);
  const fast = smoothingFactor(Math.min(timeConstant_s, quick_s), interval_s);
  const filtered = new Float64Array(values.length);
  const following = new Uint8Array(values.length);
  let y = values[0] ?? 0;
  let q = y;
  let over = 0;
  let left = 0;
  let top_L = 0;
  for (let i = 0; i < values.length; i++) {
    q += fast * (values[i]! - q);
    if (left > 0) {
      y = q;
      following[i] = 1;
      const now_L = volumeOf(q);
      // Still rising: a fifth of the rule's rise more than before.
      if (now_L > top_L + 0.2 * rule.rise_L) {
        top_L = now_L;
        left = settled_s;
      } else left -= interval_s;
    } else {
      y += slow * (values[i]! - y);
      over = volumeOf(q) - volumeOf(y) >= rule.rise_L ? over + interval_s : 0;
      if (over >= rule.seconds) {
        over = 0;
        left = settled_s;
        following[i] = 1;
        y = q;
        top_L = volumeOf(q);
      }
    }
    filtered[i] = y;
  }
  return { filtered, following };
}
