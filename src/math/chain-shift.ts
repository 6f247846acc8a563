/**
 * Shifts of a chain's readings with all taken out that the filter foresees: what the data tell of two things that may be wrong, for the cost
 * of a few nodes (smooth-chain.ts).
 */
import { type Chain, forwardPass, type Noise, type Store, storeFor } from "./smooth-chain";

/** One pass forward at a setting: what `whitenedShift` needs, with the log likelihood as in `chainLikelihoods`. */
export function chainFilter(chain: Chain, setting: Noise): { store: Store; logLikelihood: number } {
  const store = storeFor(chain.x.length);
  return { store, logLikelihood: forwardPass(chain, setting, store) };
}

/** A whitened shift: `values[i]` belongs to node `from + i`. */
export interface WhitenedShift {
  from: number;
  values: Float64Array;
}

/** A shift has died away where so many readings in a row add less than this share to its squares. */
const diedAway = { readings: 6, share: 1e-13 };

/**
 * What a shift of the readings looks like once everything that the filter foresees is taken out: inner products of two such shifts are what
 * the data tell of both, as with the Cholesky factor in the dense form, but for the cost of a few nodes. The level and slope that are as
 * good as free stand for the free line.
 * @param from first node that the shift moves. @param shift of the reading at a node from there on.
 */
export function whitenedShift(
  chain: Chain,
  store: Store,
  from: number,
  shift: (node: number) => number,
): WhitenedShift {
  const { x, seen, slope } = chain;
  const { variance, gain } = store;
  const values: number[] = [];
  let h = 0;
  let s = 0;
  let e = 0;
  let squares = 0;
  let quiet = 0;
  for (let i = from; i < x.length && quiet < diedAway.readings; i++) {
    if (i > from) h += (x[i]! - x[i - 1]!) * s;
    if (seen[i] !== 1) {
      values.push(0);
      continue;
    }
    const v = shift(i) - h - slope[i]! * e;
    h += gain[3 * i]! * v;
    s += gain[3 * i + 1]! * v;
    e += gain[3 * i + 2]! * v;
    const square = (v * v) / variance[i]!;
    squares += square;
    quiet = square <= diedAway.share * squares && squares > 0 ? quiet + 1 : 0;
    values.push(v / Math.sqrt(variance[i]!));
  }
  return { from, values: Float64Array.from(values) };
}

export function innerProduct(a: WhitenedShift, b: WhitenedShift): number {
  const from = Math.max(a.from, b.from);
  const to = Math.min(a.from + a.values.length, b.from + b.values.length);
  let sum = 0;
  for (let i = from; i < to; i++) sum += a.values[i - a.from]! * b.values[i - b.from]!;
  return sum;
}
