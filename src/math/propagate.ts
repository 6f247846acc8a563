/**
 * Propagation of uncertainty: the law of propagation with numeric sensitivities (JCGM 100:2008, 5.1–5.2) and the
 * Monte Carlo method with adaptive trials (JCGM 101:2008, 7.9). Seeded: the same seed gives the same interval.
 */
import { createRandom, type Random } from "./random";

export interface Propagated {
  value: number;
  standard: number;
  sensitivities: number[];
  /** Share of the variance by input; shares of correlated inputs hold half of each covariance term. */
  shares: number[];
}

/**
 * Law of propagation of uncertainty, first order.
 * @param covariance of the inputs, row by row; a list of standard uncertainties stands for independent inputs.
 */
export function propagate(
  model: (x: number[]) => number,
  means: number[],
  covariance: number[][] | number[],
): Propagated {
  const n = means.length;
  if (covariance.length !== n) throw new Error(`propagate: ${n} inputs, but ${covariance.length} uncertainties`);
  const c = covariance.map((row, i) =>
    typeof row === "number" ? means.map((_, j) => (i === j ? row * row : 0)) : row,
  );
  const value = model(means);
  const sensitivities = means.map((m, i) => {
    const u = Math.sqrt(c[i]![i]!);
    // Small against the uncertainty and large against rounding; central, so the error is of the second order.
    const h = u > 0 ? 1e-3 * u : 1e-6 * Math.max(1, Math.abs(m));
    const at = (d: number) => model(means.map((v, k) => (k === i ? v + d : v)));
    return (at(h) - at(-h)) / (2 * h);
  });
  const parts = sensitivities.map((s, i) => s * sensitivities.reduce((sum, t, j) => sum + t * c[i]![j]!, 0));
  const variance = parts.reduce((s, v) => s + v, 0);
  return {
    value,
    standard: Math.sqrt(Math.max(0, variance)),
    sensitivities,
    shares: parts.map((p) => (variance > 0 ? p / variance : 0)),
  };
}

/** k-th smallest (from 0) of `values`, which are reordered (quickselect, Hoare 1961). */
export function selectSmallest(values: Float64Array, k: number): number {
  let low = 0;
  let high = values.length - 1;
  if (!(k >= 0 && k <= high)) throw new Error(`selectSmallest: k ${k} outside 0 to ${high}`);
  while (low < high) {
    const a = values[low]!;
    const b = values[(low + high) >> 1]!;
    const c = values[high]!;
    // The middle one of three.
    const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        const t = values[i]!;
        values[i] = values[j]!;
        values[j] = t;
        i++;
        j--;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k]!;
}

export interface MonteCarlo {
  mean: number;
  standard: number;
  median: number;
  /** Equal tails. */
  lower: number;
  upper: number;
  shortest: { lower: number; upper: number };
  trials: number;
  /** Twice the standard deviation of each end over the blocks, at most the tolerance when `settled`. */
  settled: boolean;
}

/**
 * Monte Carlo by blocks until mean, standard deviation and both ends stand to half a unit of the last of `digits`
 * significant digits of the standard deviation (JCGM 101:2008, 7.9.4), or `most` trials are reached.
 */
export function monteCarlo(
  draw: (random: Random) => number,
  options: { seed: number; coverage?: number; digits?: number; block?: number; most?: number },
): MonteCarlo {
  const { seed, coverage = 0.95, digits = 2, block = 10_000, most = 1_000_000 } = options;
  const random = createRandom(seed);
  const tail = (1 - coverage) / 2;
  const blocks: Float64Array[] = [];
  const rows: { mean: number; standard: number; lower: number; upper: number }[] = [];
  let settled = false;
  while (blocks.length * block < most) {
    const values = new Float64Array(block);
    for (let i = 0; i < block; i++) values[i] = draw(random);
    blocks.push(values);
    const scratch = Float64Array.from(values);
    const moments = momentsOf(values);
    rows.push({
      ...moments,
      lower: selectSmallest(scratch, orderOf(tail, block)),
      upper: selectSmallest(scratch, orderOf(1 - tail, block)),
    });
    const h = rows.length;
    if (h < 2) continue;
    const u = rows.reduce((s, r) => s + r.standard, 0) / h;
    const tolerance = u > 0 ? 0.5 * 10 ** (Math.floor(Math.log10(u)) - digits + 1) : 0;
    settled = (["mean", "standard", "lower", "upper"] as const).every((key) => {
      const m = rows.reduce((s, r) => s + r[key], 0) / h;
      const variance = rows.reduce((s, r) => s + (r[key] - m) ** 2, 0) / (h * (h - 1));
      return 2 * Math.sqrt(variance) <= tolerance;
    });
    if (settled) break;
  }
  const trials = blocks.length * block;
  const all = new Float64Array(trials);
  blocks.forEach((b, i) => {
    all.set(b, i * block);
  });
  all.sort();
  const covered = Math.round(coverage * trials);
  let from = 0;
  for (let i = 1; i + covered < trials; i++)
    if (all[i + covered]! - all[i]! < all[from + covered]! - all[from]!) from = i;
  return {
    ...momentsOf(all),
    median: all[orderOf(0.5, trials)]!,
    lower: all[orderOf(tail, trials)]!,
    upper: all[orderOf(1 - tail, trials)]!,
    shortest: { lower: all[from]!, upper: all[Math.min(trials - 1, from + covered)]! },
    trials,
    settled,
  };
}

const orderOf = (p: number, n: number): number => Math.min(n - 1, Math.max(0, Math.round(p * (n - 1))));

function momentsOf(values: Float64Array): { mean: number; standard: number } {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  const mean = sum / values.length;
  let squares = 0;
  for (let i = 0; i < values.length; i++) squares += (values[i]! - mean) ** 2;
  return { mean, standard: Math.sqrt(squares / (values.length - 1)) };
}
