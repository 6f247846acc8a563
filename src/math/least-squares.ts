/** Least squares by orthogonal columns, refined until the coefficients stand to working precision. */
import { exactDot } from "./exact-sum";
import { dot } from "./triangular";

export interface LinearFit {
  coefficients: number[];
  standardErrors: number[];
  covariance: number[][];
  /** In the unit of y. */
  residuals: number[];
  /** Each over its standard uncertainty where that is given, else the residuals themselves. */
  whitened: number[];
  /** From the residuals; 0 without degrees of freedom. */
  residualSd: number;
  freedom: number;
  /** Weight of each row on its own fitted value: the diagonal of the hat matrix, 0 to 1. */
  leverage: number[];
  /** Sum of squares of `whitened`. */
  squares: number;
}

/**
 * Coefficients of `columns` for `y`, by modified Gram–Schmidt run twice on columns of unit length, then refined together with the
 * residuals (augmented system, Björck 1967, from memory) with sums of twice the precision; never normal equations.
 * @param standard known standard uncertainties of y: then errors are not scaled by the residuals (ISO/TS 28037:2010, clause 6).
 * @throws if a column depends on the ones before it, or there are fewer rows than columns.
 */
export function leastSquares(columns: number[][], y: number[], standard: number[] | null = null): LinearFit {
  const p = columns.length;
  const n = y.length;
  if (n < p) throw new Error(`leastSquares: ${n} rows for ${p} columns`);
  const w = standard ? standard.map((s) => 1 / s) : y.map(() => 1);
  const weighted = columns.map((c) => Float64Array.from(c, (v, i) => v * w[i]!));
  // A power of two: scaling then costs no digit.
  const scale = weighted.map((c) => 2 ** Math.round(Math.log2(Math.sqrt(dot(c, c)) || 1)));
  const a = weighted.map((c, j) => c.map((v) => v / scale[j]!));
  const b = Float64Array.from(y, (v, i) => v * w[i]!);
  const { q, r } = orthonormal(a);
  const back = (z: ArrayLike<number>) => {
    const x = new Array<number>(p).fill(0);
    for (let j = p - 1; j >= 0; j--) {
      let s = z[j]!;
      for (let k = j + 1; k < p; k++) s -= r[j]![k]! * x[k]!;
      x[j] = s / r[j]![j]!;
    }
    return x;
  };
  /** Solves Rᵀ z = g. */
  const ahead = (g: ArrayLike<number>) => {
    const z = new Array<number>(p).fill(0);
    for (let j = 0; j < p; j++) {
      let s = g[j]!;
      for (let k = 0; k < j; k++) s -= r[k]![j]! * z[k]!;
      z[j] = s / r[j]![j]!;
    }
    return z;
  };
  let x = new Array<number>(p).fill(0);
  let rest = Float64Array.from(b);
  const row = new Float64Array(p + 1);
  const weights = new Float64Array(p + 1);
  for (let pass = 0; pass < 4; pass++) {
    // What rest + A x = b and Aᵀ rest = 0 still lack, told in twice the precision.
    const lack = b.map((v, i) => {
      for (let j = 0; j < p; j++) {
        row[j] = a[j]![i]!;
        weights[j] = -x[j]!;
      }
      row[p] = rest[i]!;
      weights[p] = -1;
      return exactDot(row, weights, v);
    });
    const slant = a.map((c) => -exactDot(c, rest));
    const along = new Float64Array(p);
    const left = Float64Array.from(lack);
    for (let j = 0; j < p; j++) {
      along[j] = dot(q[j]!, left);
      for (let i = 0; i < n; i++) left[i]! -= along[j]! * q[j]![i]!;
    }
    const lean = ahead(slant);
    const step = back(lean.map((v, j) => along[j]! - v));
    x = x.map((v, j) => v + step[j]!);
    // The part of the correction that lies in the columns is told by `lean`, the rest is what the projection left.
    rest = rest.map((v, i) => v + left[i]! + q.reduce((s, u, j) => s + u[i]! * lean[j]!, 0));
  }
  const freedom = n - p;
  const squares = dot(rest, rest);
  const residualSd = freedom > 0 ? Math.sqrt(squares / freedom) : 0;
  const inverse = Array.from({ length: p }, (_, j) => back(Array.from({ length: p }, (__, k) => (k === j ? 1 : 0))));
  const s2 = standard ? 1 : residualSd ** 2;
  const covariance = Array.from({ length: p }, (_, i) =>
    Array.from(
      { length: p },
      (__, j) => (s2 * inverse.reduce((s, c) => s + c[i]! * c[j]!, 0)) / (scale[i]! * scale[j]!),
    ),
  );
  return {
    coefficients: x.map((v, j) => v / scale[j]!),
    standardErrors: covariance.map((c, i) => Math.sqrt(c[i]!)),
    covariance,
    residuals: Array.from(rest, (v, i) => v / w[i]!),
    whitened: Array.from(rest),
    residualSd,
    freedom,
    leverage: Array.from({ length: n }, (_, i) => q.reduce((s, u) => s + u[i]! * u[i]!, 0)),
    squares,
  };
}

/** Orthonormal columns q and the upper triangle r with a = q r, rows of r first. @throws if a column depends on the ones before it. */
export function orthonormal(a: Float64Array[]): { q: Float64Array[]; r: Float64Array[] } {
  const p = a.length;
  const q: Float64Array[] = [];
  const r = Array.from({ length: p }, () => new Float64Array(p));
  a.forEach((column, j) => {
    const v = Float64Array.from(column);
    const size = Math.sqrt(dot(v, v));
    for (let pass = 0; pass < 2; pass++)
      for (let k = 0; k < j; k++) {
        const u = q[k]!;
        const along = dot(u, v);
        r[k]![j]! += along;
        for (let i = 0; i < v.length; i++) v[i]! -= along * u[i]!;
      }
    const length = Math.sqrt(dot(v, v));
    if (!(length > 1e-13 * size)) throw new Error(`leastSquares: column ${j} depends on the ones before it`);
    r[j]![j] = length;
    for (let i = 0; i < v.length; i++) v[i]! /= length;
    q.push(v);
  });
  return { q, r };
}
