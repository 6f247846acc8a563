/** A spread that is not known beside one that is: analysis of variance when part of the errors, and their correlation, is stated. */
import { chiSquaredQuantile } from "./distributions";
import { cholesky, dot, forward, orthonormal, project } from "./triangular";

export interface UnknownSpread {
  /** Standard deviation on top of the known covariance; 0 where that explains all. */
  sd: number;
  lower: number;
  upper: number;
  freedom: number;
}

/**
 * Finds s so that `values`, less what `columns` explain, scatter as `known` + s²·`shape` says: the weighted sum of squares, which falls as s
 * grows, is set to its degrees of freedom, and for the interval to the χ² quantiles of them. Without a known part and with a shape of
 * independent values it is the residual mean square of an analysis of variance.
 *
 * @param known covariance row by row; may be all zeros.
 * @returns null without a degree of freedom. The upper end is 0 where the known part alone is far too large for the values.
 * @see Mandel and Paule 1970, Viechtbauer 2007 (Q-profile), both from memory; coverage counted by simulation in the tests.
 */
export function unknownSpread(
  values: number[],
  columns: number[][],
  known: number[][],
  shape: number[][],
  coverage = 0.95,
): UnknownSpread | null {
  const n = values.length;
  const freedom = n - orthonormal(columns.map((c) => Float64Array.from(c))).q.length;
  if (freedom < 1) return null;
  /** Weighted squares; endless where nothing is left to explain a scatter. */
  const squares = (variance: number) => {
    const l = cholesky(known.map((row, i) => row.map((v, j) => v + variance * shape[i]![j]!)));
    if (!l) return Number.POSITIVE_INFINITY;
    const { q } = orthonormal(columns.map((c) => forward(l, c)));
    const rest = project(q, forward(l, values));
    return dot(rest, rest);
  };
  const size = Math.max(...values.map(Math.abs));
  const top = (size * size || 1) * 1e6;
  const solve = (target: number) => {
    if (!(squares(0) > target)) return 0;
    // In steps of the logarithm: the spread may lie anywhere under the size of the values.
    let [low, high] = [Math.log(top) - 70, Math.log(top)];
    if (squares(Math.exp(low)) <= target) return 0;
    for (let k = 0; k < 44; k++) {
      const middle = (low + high) / 2;
      if (squares(Math.exp(middle)) > target) low = middle;
      else high = middle;
    }
    return Math.exp((low + high) / 4);
  };
  const tail = (1 - coverage) / 2;
  return {
    sd: solve(freedom),
    lower: solve(chiSquaredQuantile(1 - tail, freedom)),
    upper: solve(chiSquaredQuantile(tail, freedom)),
    freedom,
  };
}
