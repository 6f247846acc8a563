/** Level stretches in a noisy rise, and how many independent samples a stretch is worth. */
import { mean, median, standardDeviation, sum } from "simple-statistics";
import { tQuantile } from "./distributions";

/**
 * Effective number of independent samples: n / (1 + 2 Σ (1 − k/n) ρₖ), summed to lag `most`.
 * @param rho autocorrelation at lags 1, 2, …
 * @see closed form for an AR(1) series: reference case effective-sample-size-ar1.
 */
export function effectiveSamples(n: number, rho: (lag: number) => number, most = n - 1): number {
  let s = 0;
  for (let k = 1; k <= most; k++) s += (1 - k / n) * rho(k);
  return n / (1 + 2 * s);
}

export interface SteadyMean {
  mean: number;
  /** Standard uncertainty of the mean, Student's t folded in so that ± 1.96 of it holds 95 %. */
  standardError: number;
  /** Standard deviation of the single samples. */
  sd: number;
  effectiveSamples: number;
  batches: number;
}

/**
 * Mean of correlated samples by batch means: `batches` equal batches, each at least `batchLeast` samples long.
 * Never σ²/n: slosh makes neighbours alike. Fewer than 3 batches: the whole spread counts as the uncertainty.
 */
export function batchMean(values: ArrayLike<number>, batchLeast: number, wanted = 8): SteadyMean {
  const n = values.length;
  if (n === 0) throw new Error("batchMean: needs at least one value, got 0");
  const all = Array.from(values);
  const batches = Math.max(1, Math.min(wanted, Math.floor(n / Math.max(1, batchLeast))));
  const centre = mean(all);
  const sd = n > 1 ? Math.sqrt(sum(all.map((v) => (v - centre) ** 2)) / (n - 1)) : 0;
  if (batches < 3) return { mean: centre, standardError: sd, sd, effectiveSamples: 1, batches };
  const size = Math.floor(n / batches);
  const means = Array.from({ length: batches }, (_, b) => mean(all.slice(b * size, (b + 1) * size)));
  const raw = (standardDeviation(means) * Math.sqrt(batches / (batches - 1))) / Math.sqrt(batches);
  const standardError = (raw * tQuantile(0.975, batches - 1)) / 1.959964;
  const worth = raw > 0 ? Math.min(n, (sd / raw) ** 2) : n;
  return { mean: centre, standardError, sd, effectiveSamples: Math.max(1, worth), batches };
}

export interface Stretch {
  /** First and one-past-last sample. */
  from: number;
  to: number;
}

/**
 * Level stretches of a recording: blocks whose medians stay together within the block noise.
 * @param blockLength samples a block (about two seconds); @param least blocks that make a stretch.
 */
export function levelStretches(values: Float64Array, blockLength: number, least = 4): Stretch[] {
  const blocks = Math.floor(values.length / blockLength);
  if (blocks < least) return [];
  const level = Array.from({ length: blocks }, (_, b) =>
    median(Array.from(values.subarray(b * blockLength, (b + 1) * blockLength))),
  );
  const jumps = level.slice(1).map((v, i) => Math.abs(v - level[i]!));
  const noise = median(jumps) / 0.954 + 1e-12;
  const range = Math.max(...level) - Math.min(...level);
  const limit = Math.max(5 * noise, 0.004 * range);
  const stretches: Stretch[] = [];
  let start = 0;
  for (let b = 1; b <= blocks; b++) {
    const slow = b < blocks && Math.abs(level[b]! - median(level.slice(Math.max(start, b - 4), b))) <= limit;
    if (slow) continue;
    if (b - start >= least) stretches.push({ from: start * blockLength, to: b * blockLength });
    start = b;
  }
  return stretches;
}

/**
 * Samples to drop at the head of a stretch: from where the slosh of the pour has died down, that is, from where neither
 * trend nor spread differs from the last half.
 */
export function settlingSamples(values: Float64Array, blockLength: number): number {
  const n = values.length;
  const half = Array.from(values.subarray(n >> 1));
  const centre = mean(half);
  const spread = standardDeviation(half);
  const blocks = Math.floor(n / 2 / blockLength);
  const limit = Math.max(3 * (spread / Math.sqrt(Math.max(1, half.length / blockLength))), 1e-12);
  for (let b = 0; b < blocks; b++) {
    const block = Array.from(values.subarray(b * blockLength, (b + 1) * blockLength));
    if (Math.abs(mean(block) - centre) <= limit && standardDeviation(block) <= 1.6 * spread + 1e-12)
      return b * blockLength;
  }
  return blocks * blockLength;
}

/**
 * Where the level of a stretch ends because the next pour has begun: a level that turns into a slope is fitted, the
 * turning point searched over blocks. Counters and sheets are often moved on only after a pour, so that its rise still stands under the old
 * volume.
 * @returns samples to keep from the head; all of them if a slope at the end explains no more than chance.
 */
export function steadyEnd(values: Float64Array, blockLength: number): number {
  const n = values.length;
  const blocks = Math.floor(n / blockLength);
  if (blocks < 8) return n;
  const level = Array.from({ length: blocks }, (_, b) =>
    mean(Array.from(values.subarray(b * blockLength, (b + 1) * blockLength))),
  );
  // The head may still slosh: it is left out of this look.
  const from = Math.floor(blocks / 5);
  const y = level.slice(from);
  const m = y.length;
  const squares = (turn: number) => {
    let [t1, t2, y1, ty] = [0, 0, 0, 0];
    for (let i = 0; i < m; i++) {
      const t = Math.max(0, i - turn);
      t1 += t;
      t2 += t * t;
      y1 += y[i]!;
      ty += t * y[i]!;
    }
    const slope = turn < m - 1 ? (ty - (t1 * y1) / m) / (t2 - (t1 * t1) / m) : 0;
    const start = (y1 - slope * t1) / m;
    let s = 0;
    for (let i = 0; i < m; i++) s += (y[i]! - start - slope * Math.max(0, i - turn)) ** 2;
    return s;
  };
  let best = m - 1;
  let least = squares(m - 1);
  const flat = least;
  for (let turn = Math.floor(m / 5); turn < m - 1; turn++) {
    const s = squares(turn);
    if (s < least) [least, best] = [s, turn];
  }
  const gained = (flat - least) / (least / Math.max(1, m - 3) + 1e-300);
  return gained > 25 ? Math.max(4, from + best) * blockLength : n;
}
