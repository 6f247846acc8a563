/** Quantiles of a weighted mixture of normal distributions: what is not known is which of several things is so, and each has its own spread. */
import { normalProbability, normalQuantile } from "./distributions";

export interface NormalPart {
  /** Not negative; weights need not add to 1. */
  weight: number;
  mean: number;
  standard: number;
}

/** Parts that together weigh less than this share move no quantile that is asked for. */
const faint = 1e-5;

/**
 * The value under which the mixture lies with probability `p`.
 * @param parts at least one with weight and a standard deviation over 0. @param p between 0 and 1, both left out.
 * @throws RangeError where no part has weight.
 * @see The distribution function of a mixture is the weighted mean of its parts' own; its quantile lies between theirs (derived here).
 */
export function mixtureQuantile(parts: NormalPart[], p: number): number {
  const total = parts.reduce((s, t) => s + t.weight, 0);
  if (!(total > 0)) throw new RangeError("mixtureQuantile: no part has weight");
  const kept = parts.filter((t) => t.weight * parts.length > faint * total);
  const z = normalQuantile(p);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let finest = Number.POSITIVE_INFINITY;
  for (const t of kept) {
    low = Math.min(low, t.mean + z * t.standard);
    high = Math.max(high, t.mean + z * t.standard);
    finest = Math.min(finest, t.standard);
  }
  const sum = kept.reduce((s, t) => s + t.weight, 0);
  const short = (v: number) =>
    kept.reduce((s, t) => s + t.weight * normalProbability((v - t.mean) / t.standard), 0) - p * sum;
  for (let i = 0; i < 60 && high - low > 1e-4 * finest; i++) {
    const middle = (low + high) / 2;
    if (short(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
