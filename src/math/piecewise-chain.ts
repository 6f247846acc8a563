/**
 * Long records with equal weights: dynamic programme over candidate knots that keeps, for each knot, the least sum of squares of
 * the points up to it as a function of the line's height there. That function is the lower envelope of parabolas; a parabola
 * that is nowhere on the envelope, or nowhere low enough to beat a known fit with the least that the rest can cost, is dropped.
 * Over the candidates the result is the global optimum; the cells around its best knots are searched afterwards.
 */
import { addParabola, dropCovered, type Envelope, emptyEnvelope } from "./lower-envelope";
import type { SortedPoints } from "./piecewise-products";

export interface Chain {
  sse: number;
  /** Places (indices) of the knots, rising. */
  knots: number[];
}

/** Running sums over the points before each place, places 0 … d (the last: all points). */
class Sums {
  readonly n: Float64Array;
  readonly x: Float64Array;
  readonly xx: Float64Array;
  readonly y: Float64Array;
  readonly xy: Float64Array;
  readonly yy: Float64Array;
  constructor(points: SortedPoints) {
    const d = points.places.length;
    const make = () => new Float64Array(d + 1);
    [this.n, this.x, this.xx, this.y, this.xy, this.yy] = [make(), make(), make(), make(), make(), make()];
    // The straight line through all points is taken off first: sums of squares then lose no digits to it.
    const size = points.x.length;
    const meanX = points.x.reduce((s, v) => s + v, 0) / size;
    const meanY = points.y.reduce((s, v) => s + v, 0) / size;
    let sxx = 0;
    let sxy = 0;
    for (let i = 0; i < size; i++) {
      sxx += (points.x[i]! - meanX) ** 2;
      sxy += (points.x[i]! - meanX) * (points.y[i]! - meanY);
    }
    for (let i = 0; i < size; i++) {
      const t = points.placeOf[i]! + 1;
      const x = points.x[i]!;
      const y = points.y[i]! - meanY - (sxy / sxx) * (x - meanX);
      this.n[t]! += 1;
      this.x[t]! += x;
      this.xx[t]! += x * x;
      this.y[t]! += y;
      this.xy[t]! += x * y;
      this.yy[t]! += y * y;
    }
    for (const column of [this.n, this.x, this.xx, this.y, this.xy, this.yy])
      for (let t = 1; t <= d; t++) column[t]! += column[t - 1]!;
  }
  /** Least sum of squares of one free line through the points of places from … to − 1. */
  line(from: number, to: number): number {
    const n = this.n[to]! - this.n[from]!;
    const x = this.x[to]! - this.x[from]!;
    const y = this.y[to]! - this.y[from]!;
    const sxx = this.xx[to]! - this.xx[from]! - (x * x) / n;
    const sxy = this.xy[to]! - this.xy[from]! - (x * y) / n;
    const syy = this.yy[to]! - this.yy[from]! - (y * y) / n;
    return Math.max(0, sxx > 0 ? syy - (sxy * sxy) / sxx : syy);
  }
}

/**
 * Best k knots among the candidates, and others nearly as good in other places.
 * @param candidates rising indices of places.
 * @param below sum of squares of a known fit; knots that cannot beat it are dropped.
 * @param wanted how many to hand back at most.
 */
export function bestChains(
  points: SortedPoints,
  candidates: number[],
  k: number,
  least: number,
  below: number,
  wanted: number,
): Chain[] {
  const { places } = points;
  const d = places.length;
  const sums = new Sums(points);
  const at = candidates.filter((t) => t + 1 >= least && d - 1 - t >= least);
  const m = at.length;
  if (m < k) return [];
  // Least that the points beyond a candidate can cost with r more breaks: lines that need not meet.
  const rest: Float64Array[] = [Float64Array.from(at, (t) => sums.line(t + 1, d))];
  const between = new Float64Array(m * m);
  for (let i = 0; i < m; i++) for (let j = i + 1; j < m; j++) between[i * m + j] = sums.line(at[i]! + 1, at[j]! + 1);
  for (let r = 1; r < k; r++) {
    const row = new Float64Array(m).fill(Number.POSITIVE_INFINITY);
    for (let i = 0; i < m; i++)
      for (let j = i + 1; j < m; j++) {
        if (at[j]! - at[i]! < least) continue;
        const cost = between[i * m + j]! + rest[r - 1]![j]!;
        if (cost < row[i]!) row[i] = cost;
      }
    rest.push(row);
  }
  const levels: Envelope[][] = [];
  for (let level = 1; level <= k; level++) {
    const remain = rest[k - level]!;
    const before = levels[level - 2];
    const row: Envelope[] = [];
    for (let j = 0; j < m; j++) {
      const envelope = emptyEnvelope();
      row.push(envelope);
      const cap = below - remain[j]!;
      const t = at[j]!;
      if (!before) {
        const first = firstPiece(sums, places[t]!, t + 1);
        addParabola(envelope, first.a, first.b, first.c, -1, -1, cap);
        continue;
      }
      for (let i = 0; i < j; i++) {
        const from = before[i]!;
        if (from.size === 0 || t - at[i]! < least || !(from.least + between[i * m + j]! < cap)) continue;
        join(envelope, from, sums, places, at[i]!, t, i, cap);
      }
      dropCovered(envelope);
    }
    levels.push(row);
  }
  return lastPieces(levels, sums, places, at, k, d, below, wanted);
}

/** Points before place `end` on one line of height v at x = p: a parabola in v. */
function firstPiece(sums: Sums, p: number, end: number): { a: number; b: number; c: number } {
  return oneEnd(sums.n[end]!, sums.x[end]!, sums.xx[end]!, sums.y[end]!, sums.xy[end]!, sums.yy[end]!, p);
}

function oneEnd(n: number, x: number, xx: number, y: number, xy: number, yy: number, p: number) {
  // Σ (y − v − s (x − p))², the slope s at its best for each v.
  const d1 = x - n * p;
  const d2 = xx - 2 * p * x + n * p * p;
  const dy = xy - p * y;
  return { a: n - (d1 * d1) / d2, b: -2 * (y - (d1 * dy) / d2), c: yy - (dy * dy) / d2 };
}

/** All parabolas at the knot s carried over the piece from s to t, the height at s at its best for each height at t. */
function join(
  into: Envelope,
  from: Envelope,
  sums: Sums,
  places: Float64Array,
  s: number,
  t: number,
  index: number,
  cap: number,
): void {
  const n = sums.n[t + 1]! - sums.n[s + 1]!;
  const x = sums.x[t + 1]! - sums.x[s + 1]!;
  const xx = sums.xx[t + 1]! - sums.xx[s + 1]!;
  const y = sums.y[t + 1]! - sums.y[s + 1]!;
  const xy = sums.xy[t + 1]! - sums.xy[s + 1]!;
  const yy = sums.yy[t + 1]! - sums.yy[s + 1]!;
  const p = places[s]!;
  const w = places[t]! - p;
  // τ = (x − p) / w runs from 0 to 1 over the piece.
  const t1 = (x - n * p) / w;
  const t2 = (xx - 2 * p * x + n * p * p) / (w * w);
  const ty = (xy - p * y) / w;
  const A = n - 2 * t1 + t2;
  const B = t1 - t2;
  const P = y - ty;
  for (let q = 0; q < from.size; q++) {
    const sum = from.a[q]! + A;
    const linear = from.b[q]! - 2 * P;
    const a = t2 - (B * B) / sum;
    const b = -2 * ty - (B * linear) / sum;
    const c = from.c[q]! + yy - (linear * linear) / (4 * sum);
    addParabola(into, a, b, c, index, q, cap);
  }
}

function lastPieces(
  levels: Envelope[][],
  sums: Sums,
  places: Float64Array,
  at: number[],
  k: number,
  d: number,
  below: number,
  wanted: number,
): Chain[] {
  const ends: { sse: number; j: number; q: number }[] = [];
  levels[k - 1]!.forEach((envelope, j) => {
    const e = at[j]! + 1;
    const tail = oneEnd(
      sums.n[d]! - sums.n[e]!,
      sums.x[d]! - sums.x[e]!,
      sums.xx[d]! - sums.xx[e]!,
      sums.y[d]! - sums.y[e]!,
      sums.xy[d]! - sums.xy[e]!,
      sums.yy[d]! - sums.yy[e]!,
      places[at[j]!]!,
    );
    for (let q = 0; q < envelope.size; q++) {
      const a = envelope.a[q]! + tail.a;
      const b = envelope.b[q]! + tail.b;
      const sse = envelope.c[q]! + tail.c - (b * b) / (4 * a);
      if (sse < below) ends.push({ sse, j, q });
    }
  });
  ends.sort((p, q) => p.sse - q.sse);
  const chains: Chain[] = [];
  for (const end of ends) {
    if (chains.length >= wanted) break;
    const knots: number[] = [];
    let { j, q } = end;
    for (let level = k - 1; level >= 0; level--) {
      knots.unshift(at[j]!);
      const envelope = levels[level]![j]!;
      [j, q] = [envelope.fromKnot[q]!, envelope.fromParabola[q]!];
    }
    // One of each family: a chain whose knots are all neighbours of another's leads to the same cells.
    const near = chains.some((c) => c.knots.every((v, i) => Math.abs(v - knots[i]!) <= 2));
    if (!near) chains.push({ sse: end.sse, knots });
  }
  return chains;
}
