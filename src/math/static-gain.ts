/** Static gain: how far does an output follow inputs that last, although it follows them late? Regression on lagged channels. */
import { tQuantile } from "./distributions";
import { lowPass, smoothingFactor } from "./filter";
import { orthonormal } from "./least-squares";
import { backward, dot, forward } from "./triangular";

export interface StaticGain {
  /** Output units per input unit once the input has lasted: the sum over all lags. */
  gain: number;
  /** Half of the 95 % interval over 1.96; Student's t over the batches is in it. */
  standard: number;
  /** The gain is `Σ influence·output`: for what else is uncertain in the output. */
  influence: Float64Array;
}

export interface StaticGains {
  /** One a channel. */
  gains: StaticGain[];
  /** What of the output follows the channels, as late as it does. */
  followed: Float64Array;
  /** Time constant of the lag in front of the bank that fits best, seconds. */
  ownLag_s: number;
}

/** Every channel stands in the regression as it is and behind first-order lags of 1 and 4 s, each of gain 1, so that their slopes add up to the static gain. */
const bank_s = [0, 1, 4];
/** A slow sender or slow fuel: one more lag in front of the whole bank, the one that leaves least. Named defaults, no source. */
const ownLags_s = [0, 1.5, 3, 5, 7, 10, 14, 20];
/** What is quicker than this is no answer to what lasts. */
const smoothed_s = 2;
/** So long the lags remember what went before the record. */
const settling_s = 20;
const mostBatches = 24;
/** Residuals are alike over some ten seconds; a lag is clearly worse from twice a log-likelihood of 4 on, which chance passes once in twenty times. */
const alike_s = 10;
const clearlyWorse = 4;

/**
 * Distributed lag regression `y = c + d·t + Σ b·lag(x)`, all sides smoothed alike; the gain of a channel is the sum of its b, its uncertainty from the
 * sums of influence times residual over batches, with t of one degree less than their number (Bester, Conley and Hansen 2010, SSRN 1708263: blocks
 * so long that they hardly depend on each other make a t test of what is correlated within them).
 *
 * What the channels alone make of it is made once, for as many outputs as are asked for.
 *
 * @param channels on an even clock of `interval_s`. @param counts samples that count. @param pieces first and behind-last sample of each
 *   stretch that counts, in order: neighbours make the batches.
 * @returns the gains on an output on the same clock; null where the channels do not move or go together too closely to be told apart.
 */
export function createStaticGains(
  channels: Float64Array[],
  counts: Uint8Array,
  pieces: [number, number][],
  interval_s: number,
): ((output: Float64Array) => StaticGains) | null {
  const n = counts.length;
  const alpha = smoothingFactor(smoothed_s, interval_s);
  const counted = new Float64Array(n);
  const settled = Math.ceil(settling_s / interval_s);
  for (const [from, to] of pieces) for (let i = Math.max(from, settled); i < to; i++) counted[i] = counts[i]!;
  const only = (x: Float64Array) => {
    const out = new Float64Array(n);
    for (let i = 0; i < n; i++) out[i] = x[i]! * counted[i]!;
    return out;
  };
  const inputs = channels.map((c) => lowPass(c, alpha));
  const behind = (x: Float64Array, lag_s: number) => (lag_s > 0 ? lowPass(x, smoothingFactor(lag_s, interval_s)) : x);
  // Trend first: what is left of the channels is then about it.
  const trend = [new Float64Array(n).fill(1), Float64Array.from({ length: n }, (_, i) => (2 * i) / n - 1)];
  const banks = [{ bank: [0], ownLag_s: 0 }, ...ownLags_s.map((ownLag_s) => ({ bank: bank_s, ownLag_s }))];
  const behindEach = () =>
    banks.map(({ bank, ownLag_s }) => {
      const lagged = inputs.flatMap((x) => bank.map((lag_s) => behind(behind(x, ownLag_s), lag_s)));
      const columns = [...trend, ...lagged];
      return { bank, ownLag_s, columns, ...orthonormal(columns.map(only)) };
    });
  let bases: ReturnType<typeof behindEach>;
  try {
    bases = behindEach();
  } catch {
    return null;
  }
  return (output) => {
    const y = only(lowPass(output, alpha));
    const fits = bases.map((basis) => {
      const along = basis.q.map((u) => dot(u, y));
      const rest = y.slice();
      basis.q.forEach((u, j) => {
        const share = along[j]!;
        for (let i = 0; i < n; i++) rest[i]! -= share * u[i]!;
      });
      return { ...basis, along, rest, left: dot(rest, rest) };
    });
    const least = fits.reduce((a, f) => (f.left < a.left ? f : a));
    // The simplest that is not clearly worse than the best: noise alone must not choose a slow sender, and a course of one period tells no lags apart.
    const seconds = pieces.reduce((sum, [from, to]) => sum + (to - from) * interval_s, 0);
    const best = fits.find((f) => (f.left / least.left - 1) * (seconds / alike_s) < clearlyWorse)!;
    return gainsOf(best, trend.length, channels.length, pieces, alpha);
  };
}

interface LagFit {
  bank: number[];
  ownLag_s: number;
  columns: Float64Array[];
  q: Float64Array[];
  r: ArrayLike<number>[];
  along: number[];
  rest: Float64Array;
}

/** @param alpha of the smoothing of all sides. */
function gainsOf(
  { bank, ownLag_s, columns, q, r, along, rest }: LagFit,
  trends: number,
  channels: number,
  pieces: [number, number][],
  alpha: number,
): StaticGains {
  const n = rest.length;
  const p = columns.length;
  // R turned over is a lower factor.
  const lower = columns.map((_, j) => Float64Array.from({ length: p }, (_, k) => (k <= j ? r[k]![j]! : 0)));
  const slopes = backward(lower, along);
  const followed = new Float64Array(n);
  for (let j = trends; j < p; j++) {
    const column = columns[j]!;
    const slope = slopes[j]!;
    for (let i = 0; i < n; i++) followed[i]! += slope * column[i]!;
  }
  const batches = Math.min(mostBatches, pieces.length);
  const gains = Array.from({ length: channels }, (_, c): StaticGain => {
    const first = trends + c * bank.length;
    // Rᵀ z = g with g one at the channel's columns: the gain is zᵀ Qᵀ y.
    const z = forward(
      lower,
      columns.map((_, j) => (j >= first && j < first + bank.length ? 1 : 0)),
    );
    const influence = new Float64Array(n);
    q.forEach((u, j) => {
      const share = z[j]!;
      for (let i = 0; i < n; i++) influence[i]! += share * u[i]!;
    });
    const sums = new Float64Array(batches);
    pieces.forEach(([from, to], k) => {
      const batch = Math.floor((k * batches) / pieces.length);
      for (let i = from; i < to; i++) sums[batch]! += influence[i]! * rest[i]!;
    });
    const squares = sums.reduce((s, v) => s + v * v, 0);
    const scatter = Math.sqrt((squares * batches) / (batches - 1));
    return {
      gain: z.reduce((s, v, j) => s + v * along[j]!, 0),
      standard: (scatter * tQuantile(0.975, batches - 1)) / 1.96,
      influence: turnedBack(influence, alpha),
    };
  });
  return { gains, followed, ownLag_s };
}

/** The low-pass run from the end to the start: influence on the output before it was smoothed. */
function turnedBack(influence: Float64Array, alpha: number): Float64Array {
  const out = new Float64Array(influence.length);
  let s = 0;
  for (let i = influence.length - 1; i >= 0; i--) {
    s += alpha * (influence[i]! - s);
    out[i] = s;
  }
  return out;
}
