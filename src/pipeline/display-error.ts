/**
 * Display error: how wrong is a pair of time constant and deadband to be expected on a long drive?
 *
 * A log is one short drive. Where its digits happen to stand, a filter that has just been switched on and does not lag yet, and a slow sway
 * that its own trend has swallowed all flatter a slow filter. So what is known is reckoned (lag, rounding), and only the rest is counted.
 */
import type { ShownCount } from "./display-count";

/** So many time constants after it is switched on a filter is taken to lag as it always does; at most this share of the log goes by. */
const settled = 3;
const mostSettling = 0.5;
/** Of a slow sway at least this share is taken to show on the log. */
const leastSeen = 0.25;

/**
 * First sample that is counted.
 * @param from the sample from which the filter settles: after a refuel early in the log. Counted for a quick filter and not for a slow one that has not
 *   settled yet, such a refuel would make the slow one look better.
 */
export function settledFrom(timeConstant_s: number, interval_s: number, samples: number, from = 0): number {
  return (
    from + Math.min(Math.ceil((settled * timeConstant_s) / interval_s), Math.floor(mostSettling * (samples - from)))
  );
}

/** The sample after the last refuel that ends in the first half of a log; 0 without one. @param trend_L rises nowhere else. */
export function afterEarlyRefuel(trend_L: Float64Array): number {
  for (let i = trend_L.length >> 1; i > 0; i--) if (trend_L[i]! - trend_L[i - 1]! > 1e-6) return i + 1;
  return 0;
}

/**
 * Mean square of shown less true, litres².
 *
 * Mean: what the level reads high, the lag at steady burn, and what the deadband adds to the mean of the same log without it. Spread: that
 * about its own mean, and since noise behind a low-pass hangs together over 2τ, a log of length T hides 2τ/T of its variance in that mean
 * (Bartlett 1946). Rounding to steps of q adds q²/12.
 *
 * @param count held volume with the deadband, counted by four places; `bare` the same without.
 */
export function expectedSquare(
  count: ShownCount,
  bare: ShownCount,
  at: { high_L: number; lag_L: number; timeConstant_s: number; duration_s: number; step_L: number },
): number {
  const n = Math.max(1, count.heldSamples);
  const mean = count.heldSum / n;
  const drag_L = mean - bare.heldSum / n;
  // A quarter of a step, to which it is counted, adds a sixteenth of the rounding by itself.
  const rounding = at.step_L ** 2 / 12;
  const spread = Math.max(0, count.heldSquares / n - mean ** 2 - rounding / 16);
  const seen = Math.max(leastSeen, 1 - (2 * at.timeConstant_s) / Math.max(1e-9, at.duration_s));
  return (at.high_L + at.lag_L + drag_L) ** 2 + spread / seen + rounding;
}
