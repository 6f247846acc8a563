/** Level crossings of Gaussian noise (Rice 1944/45) and cycles that a deadband lets through (rainflow). */
import { normalProbability, normalQuantile } from "./distributions";

/** Mean-crossing rate one way of a sampled record: arccos(ρ)/(2πΔ), ρ the autocorrelation at the update interval Δ. Exact at the mean. */
export const crossingRate = (rho: number, interval_s: number): number =>
  Math.acos(Math.max(-1, Math.min(1, rho))) / (2 * Math.PI * interval_s);

/** One-way crossings a second of level m: f₀·exp(−m²/2σ²). */
export const crossingsAt = (level: number, sd: number, f0_Hz: number): number =>
  f0_Hz * Math.exp(-(level * level) / (2 * sd * sd));

/**
 * Margin that lets through at most `rate_Hz` crossings on average, and at most the share `share` of time off the end.
 * The larger of the two is needed.
 */
export function marginFor(sd: number, f0_Hz: number, rate_Hz: number, share: number): number {
  const byRate = f0_Hz > rate_Hz ? sd * Math.sqrt(2 * Math.log(f0_Hz / rate_Hz)) : 0;
  return Math.max(byRate, -normalQuantile(share) * sd);
}

/** Share of time that Gaussian noise spends beyond a level. */
export const shareBeyond = (level: number, sd: number): number =>
  sd > 0 ? normalProbability(-level / sd) : level > 0 ? 0 : 1;

/**
 * Ranges of the rainflow cycles of a record, full ones and the remaining halves (counted as half).
 * Reversals under a play of half-width d are twice the full cycles of range over 2d.
 */
export function rainflow(values: Float64Array): { range: number; count: number }[] {
  const turning: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    const n = turning.length;
    if (n > 0 && v === turning[n - 1]) continue;
    if (n >= 2 && (turning[n - 1]! - turning[n - 2]!) * (v - turning[n - 1]!) > 0) turning[n - 1] = v;
    else turning.push(v);
  }
  const cycles: { range: number; count: number }[] = [];
  const stack: number[] = [];
  for (const v of turning) {
    stack.push(v);
    while (stack.length >= 4) {
      const n = stack.length;
      const inner = Math.abs(stack[n - 2]! - stack[n - 3]!);
      if (inner > Math.abs(stack[n - 1]! - stack[n - 2]!) || inner > Math.abs(stack[n - 3]! - stack[n - 4]!)) break;
      cycles.push({ range: inner, count: 1 });
      stack.splice(n - 3, 2);
    }
  }
  for (let i = 1; i < stack.length; i++) cycles.push({ range: Math.abs(stack[i]! - stack[i - 1]!), count: 0.5 });
  return cycles;
}
