/**
 * Continuous piecewise straight line with free breakpoints, by generalised least squares: the best breakpoints over the
 * whole range, not the nearest local optimum. All pairs (or triples) of a fine grid are tried through their inner products,
 * then each is polished by golden section in turn; within one interval the sum of squares has a single closed form
 * (Hudson 1966), so the grid of several places an interval cannot miss a basin by more than its own width.
 */
import { chiSquaredQuantile } from "./distributions";
import { cholesky, dot, forward } from "./triangular";

export interface Breakpoint {
  at: number;
  standardError: number;
  /** Profile-likelihood interval, 95 %. */
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
 * @throws if x and y differ in length.
 */
export function fitAt(
  x: number[],
  y: number[],
  l: Float64Array[],
  at: number[],
): { coefficients: number[]; sse: number } {
  const columns = [x.map(() => 1), x, ...at.map((b) => x.map((v) => Math.max(0, v - b)))].map((c) => forward(l, c));
  return solve(columns, forward(l, y));
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
  /** Least number of points in each piece, ends included. */
  leastPoints?: number;
  /** Grid places for the whole range; more cost more than linear time. */
  places?: number;
}

/**
 * Best `k` breakpoints.
 * @param x need not be sorted; distinct values at least k + 2.
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
  const n = x.length;
  if (n !== y.length) throw new Error(`fitPiecewise: x has ${n} values, y ${y.length}`);
  const sorted = [...x].sort((a, b) => a - b);
  const least = options.leastPoints ?? 2;
  const from = sorted[least - 1]!;
  const to = sorted[n - least]!;
  if (n < 2 + 2 * k || !(to > from)) return null;
  const l = whitener(covariance, n);
  const yw = forward(l, y);
  const ones = forward(
    l,
    x.map(() => 1),
  );
  const xw = forward(l, x);
  const enough = (breaks: number[]) => {
    const all = [Number.NEGATIVE_INFINITY, ...breaks, Number.POSITIVE_INFINITY];
    return all.slice(1).every((b, i) => sorted.filter((v) => v >= all[i]! && v <= b).length >= least);
  };
  const m = options.places ?? (k === 1 ? 200 : k === 2 ? 70 : 34);
  const places = gridOf(sorted, from, to, m);
  const hinges = places.map((b) =>
    forward(
      l,
      x.map((v) => Math.max(0, v - b)),
    ),
  );
  // 1 and x are taken out once; what is left of hinges and y decides.
  const base = orthonormalPair(ones, xw);
  const h = hinges.map((c) => reject(base, c));
  const yr = reject(base, yw);
  const gram = h.map((a, i) => Float64Array.from({ length: i + 1 }, (_, j) => dot(a, h[j]!)));
  const g = (i: number, j: number) => (i >= j ? gram[i]![j]! : gram[j]![i]!);
  const c = h.map((a) => dot(a, yr));
  const total = dot(yr, yr);
  const best: { sse: number; at: number[] }[] = [];
  const keep = (sse: number, indices: number[]) => {
    if (best.length >= 12 && sse >= best[best.length - 1]!.sse) return;
    const at = indices.map((i) => places[i]!);
    if (!enough(at)) return;
    best.push({ sse, at });
    best.sort((a, b) => a.sse - b.sse);
    if (best.length > 12) best.pop();
  };
  const walk = (chosen: number[], start: number) => {
    if (chosen.length === k) {
      keep(total - explained(chosen, g, c), chosen);
      return;
    }
    for (let i = start; i < places.length; i++) walk([...chosen, i], i + 1);
  };
  if (k <= 3) walk([], 0);
  else for (const at of greedy(k, x, y, covariance, options)) best.push({ sse: fitAt(x, y, l, at).sse, at });
  if (best.length === 0) return null;
  let answer = { sse: Number.POSITIVE_INFINITY, at: [] as number[] };
  for (const start of best.slice(0, k === 1 ? 3 : 2)) {
    const polished = polish(x, y, l, start.at, from, to, enough);
    if (polished.sse < answer.sse) answer = polished;
  }
  const { coefficients, sse } = fitAt(x, y, l, answer.at);
  const fitted = x.map((v) => piecewiseValue(coefficients, answer.at, v));
  return {
    breakpoints: answer.at.map((at, j) => ({
      at,
      ...spread(x, y, l, answer.at, j, sse, n - 2 - 2 * k, from, to, covariance !== null),
    })),
    coefficients,
    sse,
    residuals: y.map((v, i) => v - fitted[i]!),
  };
}

/** Volume on the piecewise line. */
export function piecewiseValue(coefficients: number[], at: number[], x: number): number {
  return (
    coefficients[0]! + coefficients[1]! * x + at.reduce((s, b, j) => s + coefficients[2 + j]! * Math.max(0, x - b), 0)
  );
}

/** More than three: the best three or more so far, and one more where it helps most, from several starts. */
function greedy(
  k: number,
  x: number[],
  y: number[],
  covariance: number[][] | null,
  options: PiecewiseOptions,
): number[][] {
  const fewer = fitPiecewise(x, y, k - 1, covariance, options);
  if (!fewer) return [];
  const sorted = [...x].sort((a, b) => a - b);
  const least = options.leastPoints ?? 2;
  const places = gridOf(sorted, sorted[least - 1]!, sorted[sorted.length - least]!, 60);
  const at = fewer.breakpoints.map((b) => b.at);
  const l = whitener(covariance, x.length);
  return places
    .filter((p) => at.every((b) => Math.abs(b - p) > 1e-9))
    .map((p) => [...at, p].sort((a, b) => a - b))
    .map((breaks) => ({ breaks, sse: fitAt(x, y, l, breaks).sse }))
    .sort((a, b) => a.sse - b.sse)
    .slice(0, 6)
    .map((t) => t.breaks);
}

/** The points themselves and places between them, at least `m` in all. */
function gridOf(sorted: number[], from: number, to: number, m: number): number[] {
  const distinct = sorted.filter((v, i) => v >= from && v <= to && (i === 0 || v > sorted[i - 1]!));
  if (distinct.length >= m) {
    const stride = Math.ceil(distinct.length / m);
    return distinct.filter((_, i) => i % stride === 0);
  }
  const per = Math.max(1, Math.floor(m / Math.max(1, distinct.length - 1)));
  const places: number[] = [];
  for (let i = 0; i + 1 < distinct.length; i++)
    for (let j = 0; j < per; j++) places.push(distinct[i]! + ((distinct[i + 1]! - distinct[i]!) * j) / per);
  places.push(distinct[distinct.length - 1]!);
  return places;
}

function orthonormalPair(a: Float64Array, b: Float64Array): [Float64Array, Float64Array] {
  const na = Math.sqrt(dot(a, a));
  const u = a.map((v) => v / na);
  const along = dot(u, b);
  const w = b.map((v, i) => v - along * u[i]!);
  const nw = Math.sqrt(dot(w, w));
  return [u, w.map((v) => v / nw)];
}

function reject(base: [Float64Array, Float64Array], v: Float64Array): Float64Array {
  const out = Float64Array.from(v);
  for (let pass = 0; pass < 2; pass++)
    for (const u of base) {
      const along = dot(u, out);
      for (let i = 0; i < out.length; i++) out[i]! -= along * u[i]!;
    }
  return out;
}

/** Sum of squares that the chosen hinges explain, from their inner products. */
function explained(chosen: number[], g: (i: number, j: number) => number, c: number[]): number {
  const rows = chosen.map((i) => chosen.map((j) => g(i, j)));
  const l = cholesky(rows);
  if (!l) return Number.NEGATIVE_INFINITY;
  const z = forward(
    l,
    chosen.map((i) => c[i]!),
  );
  return dot(z, z);
}

const golden = (Math.sqrt(5) - 1) / 2;

/** Golden section on one place at a time, until nothing moves. */
function polish(
  x: number[],
  y: number[],
  l: Float64Array[],
  start: number[],
  from: number,
  to: number,
  enough: (b: number[]) => boolean,
): { sse: number; at: number[] } {
  let at = [...start];
  let sse = fitAt(x, y, l, at).sse;
  const span = (to - from) / 12;
  for (let pass = 0, width = span; pass < 7; pass++, width *= 0.5) {
    for (let j = 0; j < at.length; j++) {
      let low = Math.max(from, at[j]! - width, j > 0 ? at[j - 1]! + 1e-9 : from);
      let high = Math.min(to, at[j]! + width, j + 1 < at.length ? at[j + 1]! - 1e-9 : to);
      const cost = (b: number) => {
        const trial = at.map((v, i) => (i === j ? b : v));
        return enough(trial) ? fitAt(x, y, l, trial).sse : Number.POSITIVE_INFINITY;
      };
      let a = high - golden * (high - low);
      let b = low + golden * (high - low);
      let fa = cost(a);
      let fb = cost(b);
      for (let i = 0; i < 14; i++) {
        if (fa <= fb) {
          [high, b, fb] = [b, a, fa];
          a = high - golden * (high - low);
          fa = cost(a);
        } else {
          [low, a, fa] = [a, b, fb];
          b = low + golden * (high - low);
          fb = cost(b);
        }
      }
      const [trial, value] = fa < fb ? [a, fa] : [b, fb];
      if (value < sse) {
        at = at.map((v, i) => (i === j ? trial : v));
        sse = value;
      }
    }
  }
  return { sse, at };
}

/** Standard error from the curvature of the linearised fit, and the profile-likelihood interval of one breakpoint. */
function spread(
  x: number[],
  y: number[],
  l: Float64Array[],
  at: number[],
  j: number,
  sse: number,
  freedom: number,
  from: number,
  to: number,
  known: boolean,
): Omit<Breakpoint, "at"> {
  const s2 = known ? Math.max(1, sse / Math.max(1, freedom)) : sse / Math.max(1, freedom);
  const { coefficients } = fitAt(x, y, l, at);
  // Linearised model: the breakpoint's own column is −slope change × step (Muggeo 2003).
  const columns = [
    x.map(() => 1),
    x,
    ...at.map((b) => x.map((v) => Math.max(0, v - b))),
    ...at.map((b, i) => x.map((v) => (v > b ? -coefficients[2 + i]! : 0))),
  ].map((c) => forward(l, c));
  const own = Float64Array.from(columns[2 + at.length + j]!);
  const others = columns.filter((_, i) => i !== 2 + at.length + j);
  const q: Float64Array[] = [];
  for (const c of others) {
    const v = Float64Array.from(c);
    for (const u of q) {
      const along = dot(u, v);
      for (let i = 0; i < v.length; i++) v[i]! -= along * u[i]!;
    }
    const size = Math.sqrt(dot(v, v));
    if (size > 1e-10) q.push(v.map((t) => t / size));
  }
  for (let pass = 0; pass < 2; pass++)
    for (const u of q) {
      const along = dot(u, own);
      for (let i = 0; i < own.length; i++) own[i]! -= along * u[i]!;
    }
  const information = dot(own, own);
  const standardError = information > 0 ? Math.sqrt(s2 / information) : Number.POSITIVE_INFINITY;
  const limit = sse + s2 * chiSquaredQuantile(0.95, 1);
  const cost = (b: number) =>
    fitAt(
      x,
      y,
      l,
      at.map((v, i) => (i === j ? b : v)).sort((p, r) => p - r),
    ).sse;
  const edge = (bound: number) => {
    const inside = at[j]!;
    let good = inside;
    const stride = (bound - inside) / 40;
    if (stride === 0) return bound;
    for (let i = 1; i <= 40; i++) {
      const b = inside + i * stride;
      if (cost(b) > limit) {
        let [lowEnd, highEnd] = [good, b];
        for (let k = 0; k < 20; k++) {
          const middle = (lowEnd + highEnd) / 2;
          if (cost(middle) > limit) highEnd = middle;
          else lowEnd = middle;
        }
        return (lowEnd + highEnd) / 2;
      }
      good = b;
    }
    return bound;
  };
  const lowest = j > 0 ? at[j - 1]! : from;
  const highest = j + 1 < at.length ? at[j + 1]! : to;
  return {
    standardError: Number.isFinite(standardError) ? standardError : highest - lowest,
    lower: edge(lowest),
    upper: edge(highest),
  };
}
