/** Mean, spread and lag correlation of a plain sample that may lie far from zero: sums about the mean, rounded once. */
import { exactDot, exactSum } from "./exact-sum";

export interface Moments {
  n: number;
  mean: number;
  /** Over n − 1; 0 for one value. */
  sd: number;
  /** Σ(v − mean)². */
  squares: number;
}

/** @throws without a value. */
export function momentsOf(values: ArrayLike<number>): Moments {
  const n = values.length;
  if (n === 0) throw new Error("momentsOf: needs at least one value, got 0");
  // Taken off the first value, so that digits are not spent on a large offset; then once more off what is left of the mean.
  const first = values[0]!;
  const off = Float64Array.from(values, (v) => v - first);
  const middle = exactSum(off) / n;
  const about = off.map((v) => v - middle);
  const left = exactSum(about) / n;
  const squares = Math.max(0, exactDot(about, about) - n * left * left);
  return { n, mean: first + (middle + left), sd: n > 1 ? Math.sqrt(squares / (n - 1)) : 0, squares };
}

/** Σ of products with the value `lag` later over Σ of squares, both about the overall mean; 0 for a sample that does not vary. */
export function lagCorrelation(values: ArrayLike<number>, lag: number): number {
  const first = values[0] ?? 0;
  const off = Float64Array.from(values, (v) => v - first);
  const middle = exactSum(off) / Math.max(1, off.length);
  const about = off.map((v) => v - middle);
  const below = exactDot(about, about);
  return below > 0 ? exactDot(about.subarray(0, about.length - lag), about.subarray(lag)) / below : 0;
}
