/** First-order low-pass, deadbands, spikes: what a display does to a reading. */

/** Factor of a first-order low-pass at this update interval: α = 1 − exp(−Δt/τ); 1 without smoothing. */
export const smoothingFactor = (timeConstant_s: number, interval_s: number): number =>
  timeConstant_s > 0 ? 1 - Math.exp(-interval_s / timeConstant_s) : 1;

/** The time constant that a factor means at this update interval. */
export const timeConstantOf = (factor: number, interval_s: number): number =>
  factor >= 1 ? 0 : -interval_s / Math.log(1 - factor);

/**
 * Factor of a device that asks for a number of samples N: 2/(N+1), whose mean delay is that of a moving average over N samples.
 * A named convention (common practice, no source): the one place where it stands, for the pipeline and for those who measure it.
 */
export const factorOfSamples = (samples: number): number => (samples > 1 ? 2 / (samples + 1) : 1);

/** Number of samples to type for a factor: the inverse of `factorOfSamples`. */
export const samplesOf = (factor: number): number => 2 / factor - 1;

/** −3 dB frequency of a first-order low-pass. */
export const cutoffOf = (timeConstant_s: number): number => 1 / (2 * Math.PI * timeConstant_s);

/** Standard deviation of white noise after a first-order low-pass with this factor, as a share of what it was: √(α/(2 − α)). */
export const whiteNoiseAfter = (factor: number): number => Math.sqrt(factor / (2 - factor));

/** Smooths with factor α; starts at the first value. */
export function lowPass(
  values: Float64Array,
  factor: number,
  out: Float64Array = new Float64Array(values.length),
): Float64Array {
  let y = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    y += factor * (values[i]! - y);
    out[i] = y;
  }
  return out;
}

/** Deadband of the play kind: the output is dragged at distance d. */
export function play(
  values: Float64Array,
  d: number,
  out: Float64Array = new Float64Array(values.length),
): Float64Array {
  let y = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    if (v > y + d) y = v - d;
    else if (v < y - d) y = v + d;
    out[i] = y;
  }
  return out;
}

/** Deadband of the jump kind: the output moves to the input once it is d away. */
export function jump(values: Float64Array, d: number, out = new Float64Array(values.length)): Float64Array {
  let y = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    if (Math.abs(values[i]! - y) > d) y = values[i]!;
    out[i] = y;
  }
  return out;
}

export interface Changes {
  changes: number;
  reversals: number;
  upward: number;
  /** Changes at the samples that were to be counted apart; in none of the others. */
  apart: number;
}

/**
 * Changes of a stepped value, and changes opposite in sign to the change before.
 * @param apart 1 at samples whose changes are counted apart; the one before a reversal may be among them.
 */
export function countChanges(shown: Float64Array, apart: Uint8Array | null = null): Changes {
  let changes = 0;
  let reversals = 0;
  let upward = 0;
  let beside = 0;
  let direction = 0;
  for (let i = 1; i < shown.length; i++) {
    const d = shown[i]! - shown[i - 1]!;
    if (d === 0 || Number.isNaN(d)) continue;
    const sign = d > 0 ? 1 : -1;
    const turned = direction !== 0 && sign !== direction;
    direction = sign;
    if (apart?.[i] === 1) {
      beside++;
      continue;
    }
    changes++;
    if (sign > 0) upward++;
    if (turned) reversals++;
  }
  return { changes, reversals, upward, apart: beside };
}

/**
 * Hampel identifier: samples further than `limit` scaled MADs from the median of a window of 2·half + 1.
 * The median is taken on a stride when windows overlap almost wholly; flags are per sample.
 */
export function hampel(values: Float64Array, half: number, limit: number, floor: number): Uint8Array {
  const n = values.length;
  const flags = new Uint8Array(n);
  const window = new Float64Array(2 * half + 1);
  const stride = Math.max(1, half >> 1);
  for (let centre = 0; centre < n; centre += stride) {
    let size = 0;
    for (let i = Math.max(0, centre - half); i <= Math.min(n - 1, centre + half); i++)
      if (!Number.isNaN(values[i]!)) size = insert(window, size, values[i]!);
    if (size < 3) continue;
    const median = window[size >> 1]!;
    const scaled = Math.max(1.4826 * middleDistance(window, size), floor);
    for (let i = centre; i < Math.min(n, centre + stride); i++)
      if (Math.abs(values[i]! - median) > limit * scaled) flags[i] = 1;
  }
  return flags;
}

/** Puts a value into its place among the first `size`, which rise. @returns how many there are now. */
function insert(sorted: Float64Array, size: number, value: number): number {
  let at = size;
  while (at > 0 && sorted[at - 1]! > value) {
    sorted[at] = sorted[at - 1]!;
    at--;
  }
  sorted[at] = value;
  return size + 1;
}

/** Upper median of the distances to the upper median, among values that rise: taken from both sides, nearest first. */
function middleDistance(sorted: Float64Array, size: number): number {
  const median = sorted[size >> 1]!;
  let below = (size >> 1) - 1;
  let above = (size >> 1) + 1;
  let distance = 0;
  for (let k = 0; k < size >> 1; k++) {
    const down = below >= 0 ? median - sorted[below]! : Number.POSITIVE_INFINITY;
    const up = above < size ? sorted[above]! - median : Number.POSITIVE_INFINITY;
    if (down < up) {
      distance = down;
      below--;
    } else {
      distance = up;
      above++;
    }
  }
  return distance;
}

/** Autocorrelation at one lag. */
export function autocorrelation(values: Float64Array, lag: number): number {
  const n = values.length;
  let mean = 0;
  for (let i = 0; i < n; i++) mean += values[i]!;
  mean /= n;
  let above = 0;
  let below = 0;
  for (let i = 0; i < n; i++) {
    const d = values[i]! - mean;
    below += d * d;
    if (i + lag < n) above += d * (values[i + lag]! - mean);
  }
  return below > 0 ? above / below : 0;
}
