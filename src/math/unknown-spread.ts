/** A spread that is not known beside one that is: analysis of variance when part of the errors, and their correlation, is stated. */
import { EigenvalueDecomposition, Matrix } from "ml-matrix";
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
  const { q } = orthonormal(columns.map((c) => Float64Array.from(c)));
  const freedom = n - q.length;
  if (freedom < 1) return null;
  const terms = independentTerms(values, q, known, shape);
  /** Weighted squares; endless where nothing is left to explain a scatter. */
  const squares = (variance: number) => {
    let s = 0;
    for (const t of terms) if (t.square > 0) s += t.square / (t.known + variance);
    return s;
  };
  const largest = Math.max(...terms.map((t) => t.square));
  if (!(largest > 0)) return { sd: 0, lower: 0, upper: 0, freedom };
  const solve = (target: number) => {
    if (!(squares(0) > target)) return 0;
    // In steps of the logarithm: no spread above the sum of all squares can be needed.
    let [low, high] = [Math.log(largest) - 80, Math.log((largest * terms.length) / target) + 1];
    if (squares(Math.exp(low)) <= target) return 0;
    for (let k = 0; k < 60; k++) {
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

/**
 * What is left of the values beside the columns, turned so that it falls into independent terms: each has the variance `known` + s².
 * @throws if the shape is not positive definite beside the columns.
 */
function independentTerms(
  values: number[],
  q: Float64Array[],
  known: number[][],
  shape: number[][],
): { square: number; known: number }[] {
  const n = values.length;
  // Directions at right angles to the columns: the unit vectors with the columns taken off.
  const beside = orthonormal([
    ...q,
    ...values.map((_, i) =>
      project(
        q,
        Float64Array.from({ length: n }, (__, j) => (i === j ? 1 : 0)),
      ),
    ),
  ]).q.slice(q.length, n);
  const form = (c: number[][]) => {
    const right = beside.map((u) => c.map((row) => dot(row, u)));
    return beside.map((u) => right.map((v) => dot(u, v)));
  };
  const l = cholesky(form(shape));
  if (!l) throw new Error("unknownSpread: the shape is not positive definite");
  // L⁻¹ K L⁻ᵀ, column by column.
  const half = form(known).map((row) => forward(l, row));
  const whole = half.map((_, i) =>
    forward(
      l,
      half.map((row) => row[i]!),
    ),
  );
  const symmetric = whole.map((row, i) => Array.from(row, (v, j) => (v + whole[j]![i]!) / 2));
  const eigen = new EigenvalueDecomposition(new Matrix(symmetric), { assumeSymmetric: true });
  const left = forward(
    l,
    beside.map((u) => dot(u, values)),
  );
  const turn = eigen.eigenvectorMatrix;
  return eigen.realEigenvalues.map((value, k) => {
    const along = dot(turn.getColumn(k), left);
    return { square: along * along, known: Math.max(0, value) };
  });
}
