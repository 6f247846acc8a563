/**
 * Continuous piecewise straight line with free breakpoints, by generalised least squares: the best breakpoints over the whole
 * range, not the nearest local optimum. Every point belongs to one piece, and each piece has `leastPoints` distinct readings or
 * more. The parts: inner products (piecewise-products.ts), one cell exactly (piecewise-cell.ts), all cells (piecewise-cells.ts),
 * knots on readings (piecewise-hinges.ts), long records (piecewise-chain.ts), and how they work together (piecewise-search.ts).
 */
import { linearisedErrors, profileInterval, profileLimit, whiteningBy } from "./breakpoint-interval";
import { type Products, plainProducts, type SortedPoints, sortPoints, whitenedProducts } from "./piecewise-products";
import { type SearchMode, searchBreaks } from "./piecewise-search";
import { cholesky, dot } from "./triangular";

export interface Breakpoint {
  at: number;
  /** From the linearised fit; null where that would be wider than the room between its neighbours: the points do not place it. */
  standardError: number | null;
  /** Profile-likelihood interval, 95 %, all other parameters fitted again at each place. */
  lower: number;
  upper: number;
}

export interface PiecewiseFit {
  breakpoints: Breakpoint[];
  /** Coefficients of 1, x, and (x − breakpoint)₊ for each breakpoint. */
  coefficients: number[];
  /** Sum of squares of the whitened residuals. */
  sse: number;
  residuals: number[];
}

/** Whitener: lower Cholesky factor of the covariance of y; equal weights without one. */
export function whitener(covariance: number[][] | null, n: number): Float64Array[] {
  const l = covariance
    ? cholesky(covariance)
    : Array.from({ length: n }, (_, i) => Float64Array.from({ length: n }, (_, j) => (i === j ? 1 : 0)));
  if (!l) throw new Error("whitener: the covariance is not positive definite");
  return l;
}

/**
 * Least squares on given breakpoints.
 * @param l whitener of y in the order of x; null for equal weights.
 * @throws if x and y differ in length.
 */
export function fitAt(
  x: number[],
  y: number[],
  l: Float64Array[] | null,
  at: number[],
): { coefficients: number[]; sse: number } {
  const columns = [x.map(() => 1), x, ...at.map((b) => x.map((v) => Math.max(0, v - b)))].map(whiteningBy(l));
  return solve(columns, whiteningBy(l)(y));
}

/** Least squares by modified Gram–Schmidt on the whitened columns. */
function solve(columns: Float64Array[], y: Float64Array): { coefficients: number[]; sse: number } {
  const p = columns.length;
  const q: Float64Array[] = [];
  const r = Array.from({ length: p }, () => new Float64Array(p));
  const rest = Float64Array.from(y);
  const z = new Float64Array(p);
  for (let j = 0; j < p; j++) {
    const v = Float64Array.from(columns[j]!);
    const size = Math.sqrt(dot(v, v));
    for (let pass = 0; pass < 2; pass++)
      for (let k = 0; k < j; k++) {
        const along = dot(q[k]!, v);
        r[k]![j]! += along;
        for (let i = 0; i < v.length; i++) v[i]! -= along * q[k]![i]!;
      }
    const length = Math.sqrt(dot(v, v));
    r[j]![j] = length;
    if (!(length > 1e-12 * size))
      return { coefficients: new Array<number>(p).fill(Number.NaN), sse: Number.POSITIVE_INFINITY };
    for (let i = 0; i < v.length; i++) v[i]! /= length;
    q.push(v);
    z[j] = dot(v, rest);
    for (let i = 0; i < v.length; i++) rest[i]! -= z[j]! * v[i]!;
  }
  const coefficients = new Array<number>(p).fill(0);
  for (let j = p - 1; j >= 0; j--) {
    let s = z[j]!;
    for (let k = j + 1; k < p; k++) s -= r[j]![k]! * coefficients[k]!;
    coefficients[j] = s / r[j]![j]!;
  }
  return { coefficients, sse: dot(rest, rest) };
}

export interface PiecewiseOptions {
  /** Least number of distinct x in each piece; 2 if not said. */
  leastPoints?: number;
  /** "exact" looks at all cells up to some millions, "fast" answers in a few hundredths of a second for 60 points; exact if not said. */
  search?: SearchMode;
}

/** What all numbers of breakpoints share: computed once for the same points. */
export interface PreparedPoints {
  x: number[];
  y: number[];
  l: Float64Array[] | null;
  points: SortedPoints;
  products: Products;
}

/**
 * Sorts, whitens and takes the inner products.
 * @param covariance of y, row by row; null for equal weights.
 * @returns null when all x are alike.
 * @throws if x and y differ in length or the covariance is not positive definite.
 */
export function preparePoints(x: number[], y: number[], covariance: number[][] | null = null): PreparedPoints | null {
  if (x.length !== y.length) throw new Error(`fitPiecewise: x has ${x.length} values, y ${y.length}`);
  const points = sortPoints(x, y);
  if (points.places.length < 2) return null;
  const l = covariance ? whitener(covariance, x.length) : null;
  return { x, y, l, points, products: l ? whitenedProducts(x, y, l, points) : plainProducts(points) };
}

/**
 * Best `k` breakpoints.
 * @param x need not be sorted; distinct values at least (k + 1) × leastPoints.
 * @param covariance of y, row by row; null for equal weights.
 * @returns null when the points cannot carry k breakpoints.
 */
export function fitPiecewise(
  x: number[],
  y: number[],
  k: number,
  covariance: number[][] | null = null,
  options: PiecewiseOptions = {},
): PiecewiseFit | null {
  const prepared = preparePoints(x, y, covariance);
  return prepared && fitPrepared(prepared, k, options);
}

/** The same for prepared points. */
export function fitPrepared(prepared: PreparedPoints, k: number, options: PiecewiseOptions = {}): PiecewiseFit | null {
  const { x, y, l, points, products } = prepared;
  const least = options.leastPoints ?? 2;
  const found = searchBreaks(products, points, l === null, k, least, options.search ?? "exact");
  if (!found) return null;
  const at = found.at.map(products.unscale);
  const { coefficients, sse } = fitAt(x, y, l, at);
  const freedom = x.length - 2 - 2 * k;
  const s2 = l ? Math.max(1, sse / Math.max(1, freedom)) : sse / Math.max(1, freedom);
  const errors = linearisedErrors(x, whiteningBy(l), at, coefficients.slice(2), s2);
  const limit = profileLimit(found.sse, freedom, l !== null);
  return {
    breakpoints: at.map((place, j) => {
      const { lower, upper } = profileInterval({ products, least }, found, j, limit);
      const below = j > 0 ? at[j - 1]! : products.unscale(-1);
      const above = j + 1 < k ? at[j + 1]! : products.unscale(1);
      return {
        at: place,
        standardError: errors[j]! < above - below ? errors[j]! : null,
        lower: Math.min(lower, place),
        upper: Math.max(upper, place),
      };
    }),
    coefficients,
    sse,
    residuals: y.map((v, i) => v - piecewiseValue(coefficients, at, x[i]!)),
  };
}

/** Value of the piecewise line at x. */
export function piecewiseValue(coefficients: number[], at: number[], x: number): number {
  return (
    coefficients[0]! + coefficients[1]! * x + at.reduce((s, b, j) => s + coefficients[2 + j]! * Math.max(0, x - b), 0)
  );
}
