/** Least squares by orthogonal columns, for the reference cases and for straight lines with known uncertainties. */
import { dot } from "./triangular";

export interface LinearFit {
  coefficients: number[];
  standardErrors: number[];
  covariance: number[][];
  residuals: number[];
  residualSd: number;
  freedom: number;
}

/**
 * Coefficients of `columns` for `y`, by modified Gram–Schmidt run twice and one step of refinement; never normal equations.
 * @param standard known standard uncertainties of y: then errors are not scaled by the residuals (ISO/TS 28037:2010, clause 6).
 * @throws if a column depends on the ones before it, or there are fewer rows than columns.
 */
export function leastSquares(columns: number[][], y: number[], standard: number[] | null = null): LinearFit {
  const p = columns.length;
  const n = y.length;
  if (n < p) throw new Error(`leastSquares: ${n} rows for ${p} columns`);
  const w = standard ? standard.map((s) => 1 / s) : y.map(() => 1);
  const a = columns.map((c) => Float64Array.from(c, (v, i) => v * w[i]!));
  const b = Float64Array.from(y, (v, i) => v * w[i]!);
  const q: Float64Array[] = [];
  const r = Array.from({ length: p }, () => new Float64Array(p));
  a.forEach((column, j) => {
    const v = Float64Array.from(column);
    const size = Math.sqrt(dot(v, v));
    for (let pass = 0; pass < 2; pass++)
      for (let k = 0; k < j; k++) {
        const along = dot(q[k]!, v);
        r[k]![j]! += along;
        for (let i = 0; i < n; i++) v[i]! -= along * q[k]![i]!;
      }
    const length = Math.sqrt(dot(v, v));
    if (!(length > 1e-13 * size)) throw new Error(`leastSquares: column ${j} depends on the ones before it`);
    r[j]![j] = length;
    q.push(v.map((t) => t / length));
  });
  const back = (z: ArrayLike<number>) => {
    const x = new Array<number>(p).fill(0);
    for (let j = p - 1; j >= 0; j--) {
      let s = z[j]!;
      for (let k = j + 1; k < p; k++) s -= r[j]![k]! * x[k]!;
      x[j] = s / r[j]![j]!;
    }
    return x;
  };
  const solve = (target: Float64Array) => {
    const rest = Float64Array.from(target);
    const z = new Float64Array(p);
    for (let j = 0; j < p; j++) {
      z[j] = dot(q[j]!, rest);
      for (let i = 0; i < n; i++) rest[i]! -= z[j]! * q[j]![i]!;
    }
    return back(z);
  };
  let coefficients = solve(b);
  const restOf = (x: number[]) => b.map((v, i) => a.reduce((s, c, j) => s - c[i]! * x[j]!, v));
  const correction = solve(restOf(coefficients));
  coefficients = coefficients.map((c, j) => c + correction[j]!);
  const rest = restOf(coefficients);
  const freedom = n - p;
  const residualSd = freedom > 0 ? Math.sqrt(dot(rest, rest) / freedom) : 0;
  const inverse = Array.from({ length: p }, (_, j) => back(Array.from({ length: p }, (__, k) => (k === j ? 1 : 0))));
  const s2 = standard ? 1 : residualSd ** 2;
  const covariance = Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (__, j) => s2 * inverse.reduce((s, row) => s + row[i]! * row[j]!, 0)),
  );
  return {
    coefficients,
    standardErrors: covariance.map((row, i) => Math.sqrt(row[i]!)),
    covariance,
    residuals: Array.from(rest, (v, i) => v / w[i]!),
    residualSd,
    freedom,
  };
}
