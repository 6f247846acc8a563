/**
 * Inner products behind the search of breakpoints. Between two neighbouring readings a breakpoint splits the points into the
 * same two groups wherever it stands; there the model is two columns, the hinge at the lower reading and the step behind it,
 * and the place of the break is their ratio (Hudson 1966). All that a search needs are the inner products of these columns
 * with each other and with y, after the straight line common to all has been taken out.
 */
import { dot, forward } from "./triangular";

export interface Products {
  /** Distinct x, rising, scaled so that the whole range is 2 and its middle 0. */
  places: Float64Array;
  /** Inner product of columns a and b: 2 g is the hinge (x − place g)₊, 2 g + 1 the step (x > place g). */
  gram(a: number, b: number): number;
  /** Inner product of a column with y. */
  along(a: number): number;
  /** Sum of squares about the one straight line. */
  total: number;
  /** From scaled x back to x. */
  unscale(place: number): number;
}

/**
 * What a sum of squares must come under to count as better than `sse`: by more than rounding, also where the fit is exact and
 * the sum itself is nothing but rounding.
 */
export function betterThan(sse: number, products: Products): number {
  return Number.isFinite(sse) ? sse - 1e-12 * Math.abs(sse) - 1e-14 * products.total : sse;
}

/** Readings closer than this share of the range count as one: a piece between them would have no slope to speak of. */
const sameWithin = 1e-9;

export interface SortedPoints {
  x: Float64Array;
  y: Float64Array;
  places: Float64Array;
  /** For each point the index of its place. */
  placeOf: Int32Array;
  unscale(place: number): number;
}

/** Points in rising order of x, x scaled to −1 … 1. */
export function sortPoints(x: number[], y: number[]): SortedPoints {
  const n = x.length;
  const order = Array.from({ length: n }, (_, i) => i).sort((a, b) => x[a]! - x[b]! || a - b);
  const low = x[order[0]!]!;
  const high = x[order[n - 1]!]!;
  const middle = (low + high) / 2;
  const half = (high - low) / 2 || 1;
  const placeOf = new Int32Array(n);
  const scaled = new Float64Array(n);
  const places: number[] = [];
  order.forEach((from, i) => {
    const v = (x[from]! - middle) / half;
    if (places.length === 0 || v - places[places.length - 1]! > 2 * sameWithin) places.push(v);
    placeOf[i] = places.length - 1;
    scaled[i] = v;
  });
  return {
    x: scaled,
    y: Float64Array.from(order, (i) => y[i]!),
    places: Float64Array.from(places),
    placeOf,
    unscale: (v) => middle + half * v,
  };
}

/** Equal weights: every product in closed form from running sums, O(1) each after O(n). */
export function plainProducts(points: SortedPoints): Products {
  const { x, y, places, placeOf } = points;
  const n = x.length;
  const d = places.length;
  const meanX = x.reduce((s, v) => s + v, 0) / n;
  const meanY = y.reduce((s, v) => s + v, 0) / n;
  let sxx = 0;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    sxx += (x[i]! - meanX) ** 2;
    sxy += (x[i]! - meanX) * (y[i]! - meanY);
  }
  const slope = sxy / sxx;
  const length = Math.sqrt(sxx);
  const count = new Float64Array(d);
  const sum = new Float64Array(d);
  const squares = new Float64Array(d);
  const rest = new Float64Array(d);
  const restX = new Float64Array(d);
  let total = 0;
  // Sums over the points beyond each place.
  let [c, s, q, r, rx] = [0, 0, 0, 0, 0];
  let at = d - 1;
  for (let i = n - 1; i >= 0; i--) {
    while (at >= placeOf[i]!) {
      [count[at], sum[at], squares[at], rest[at], restX[at]] = [c, s, q, r, rx];
      at--;
    }
    const e = y[i]! - meanY - slope * (x[i]! - meanX);
    total += e * e;
    c += 1;
    s += x[i]!;
    q += x[i]! * x[i]!;
    r += e;
    rx += e * x[i]!;
  }
  // Products with the two orthonormal columns of the straight line.
  const base0 = new Float64Array(2 * d);
  const base1 = new Float64Array(2 * d);
  for (let g = 0; g < d; g++) {
    const p = places[g]!;
    base0[2 * g] = (sum[g]! - p * count[g]!) / Math.sqrt(n);
    base0[2 * g + 1] = count[g]! / Math.sqrt(n);
    base1[2 * g] = (squares[g]! - (p + meanX) * sum[g]! + p * meanX * count[g]!) / length;
    base1[2 * g + 1] = (sum[g]! - meanX * count[g]!) / length;
  }
  const raw = (a: number, b: number) => {
    const g = Math.max(a >> 1, b >> 1);
    const pa = places[a >> 1]!;
    const pb = places[b >> 1]!;
    if ((a & 1) === 0 && (b & 1) === 0) return squares[g]! - (pa + pb) * sum[g]! + pa * pb * count[g]!;
    if ((a & 1) === 1 && (b & 1) === 1) return count[g]!;
    return sum[g]! - ((a & 1) === 0 ? pa : pb) * count[g]!;
  };
  return {
    places,
    gram: (a, b) => raw(a, b) - base0[a]! * base0[b]! - base1[a]! * base1[b]!,
    along: (a) => ((a & 1) === 0 ? restX[a >> 1]! - places[a >> 1]! * rest[a >> 1]! : rest[a >> 1]!),
    total,
    unscale: points.unscale,
  };
}

/**
 * Correlated or unequal errors: all columns whitened once, their products in a table.
 * @param l lower factor of the covariance of y in the order of `x` as given.
 */
export function whitenedProducts(x: number[], y: number[], l: Float64Array[], points: SortedPoints): Products {
  const { places, unscale } = points;
  const d = places.length;
  const low = unscale(-1);
  const half = (unscale(1) - low) / 2;
  const u = x.map((v) => (v - low) / half - 1);
  const base: Float64Array[] = [];
  const reject = (v: Float64Array) => {
    for (let pass = 0; pass < 2; pass++)
      for (const b of base) {
        const part = dot(b, v);
        for (let i = 0; i < v.length; i++) v[i]! -= part * b[i]!;
      }
    return v;
  };
  for (const column of [u.map(() => 1), u]) {
    const v = reject(forward(l, column));
    const size = Math.sqrt(dot(v, v));
    base.push(v.map((t) => t / size));
  }
  const rest = reject(forward(l, y));
  const columns: Float64Array[] = [];
  for (let g = 0; g < d; g++) {
    const p = places[g]!;
    const beyond = (v: number) => v - p > sameWithin;
    columns.push(
      reject(
        forward(
          l,
          u.map((v) => (beyond(v) ? v - p : 0)),
        ),
      ),
      reject(
        forward(
          l,
          u.map((v) => (beyond(v) ? 1 : 0)),
        ),
      ),
    );
  }
  const size = 2 * d;
  const table = new Float64Array(size * size);
  for (let a = 0; a < size; a++)
    for (let b = 0; b <= a; b++) {
      const v = dot(columns[a]!, columns[b]!);
      table[a * size + b] = v;
      table[b * size + a] = v;
    }
  const c = columns.map((v) => dot(v, rest));
  return {
    places,
    gram: (a, b) => table[a * size + b]!,
    along: (a) => c[a]!,
    total: dot(rest, rest),
    unscale,
  };
}
