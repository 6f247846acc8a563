/**
 * One cell: every breakpoint held between two given neighbouring readings. Inside it the model is linear in hinge and step of
 * each gap, so the best fit is either that linear fit, if its corners lie in their gaps, or has some corners exactly on a
 * reading (Hudson 1966). All such faces are tried, except those that cannot win: where the linear fit puts a corner outside its
 * gap, every fit inside costs at least what the cheaper of the two ends of that gap costs, because the cost is convex.
 */
import type { Products } from "./piecewise-products";

export interface CellFit {
  sse: number;
  /** Scaled x of each breakpoint, rising. */
  at: number[];
}

/** Most breakpoints; scratch space is sized by it. */
export const mostBreaks = 12;
const most = 2 * mostBreaks;
const gram = new Float64Array(most * most);
const along = new Float64Array(most);
/** Working Gram matrix of the columns in use, its Cholesky factor, and the inverse of that. */
const work = new Float64Array(most * most);
const factor = new Float64Array(most * most);
const inverse = new Float64Array(most * most);
const target = new Float64Array(most);
const z = new Float64Array(most);

/**
 * Best continuous fit with breakpoint j inside gap `gaps[j]` (from place g to place g + 1, both ends included).
 * @param below only a fit with a smaller sum of squares is of interest.
 * @param held for each breakpoint 1 where it must stand on the lower reading of its gap, 0 where it is free in it.
 * @returns null if there is none.
 */
export function solveCell(
  products: Products,
  gaps: ArrayLike<number>,
  below: number,
  held: ArrayLike<number> | null = null,
): CellFit | null {
  const k = gaps.length;
  if (k > mostBreaks) throw new Error(`solveCell: at most ${mostBreaks} breakpoints, got ${k}`);
  const { places, total } = products;
  for (let i = 0; i < k; i++)
    for (let p = 0; p < 2; p++) {
      along[2 * i + p] = products.along(2 * gaps[i]! + p);
      for (let j = 0; j <= i; j++)
        for (let q = 0; q < 2; q++) {
          const v = products.gram(2 * gaps[i]! + p, 2 * gaps[j]! + q);
          gram[(2 * i + p) * most + 2 * j + q] = v;
          gram[(2 * j + q) * most + 2 * i + p] = v;
        }
    }
  const width = (j: number) => places[gaps[j]! + 1]! - places[gaps[j]!]!;
  // 0: anywhere in its gap; 1: on the lower reading; 2: on the upper one.
  const hold = held ? Uint8Array.from(held) : new Uint8Array(k);
  let best: CellFit | null = null;
  let limit = below;
  const visit = (first: number) => {
    const p = load(k, hold, width);
    const sse = factorise(p, total);
    if (!(sse < limit)) return;
    const at: number[] = new Array<number>(k);
    const ends = new Float64Array(2 * k);
    let inside = true;
    for (let j = 0, i = 0; j < k; j++) {
      const low = places[gaps[j]!]!;
      if (hold[j] !== 0) {
        at[j] = hold[j] === 1 ? low : places[gaps[j]! + 1]!;
        i++;
        continue;
      }
      let hinge = 0;
      let step = 0;
      for (let t = i; t < p; t++) hinge += inverse[t * most + i]! * z[t]!;
      for (let t = i + 1; t < p; t++) step += inverse[t * most + i + 1]! * z[t]!;
      const shift = -step / hinge;
      at[j] = low + shift;
      // What it costs to hold this corner at either end: a linear condition, so its cost has a closed form.
      ends[2 * j] = sse + conditionCost(p, i, 0, step);
      ends[2 * j + 1] = sse + conditionCost(p, i, width(j), step + width(j) * hinge);
      if (!(shift >= 0 && shift <= width(j))) {
        inside = false;
        if (!(Math.min(ends[2 * j]!, ends[2 * j + 1]!) < limit)) return;
      }
      i += 2;
    }
    if (inside) {
      limit = sse;
      best = { sse, at };
      return;
    }
    for (let j = first; j < k; j++)
      for (const side of [1, 2] as const) {
        if (hold[j] !== 0 || !(ends[2 * j + side - 1]! < limit)) continue;
        hold[j] = side;
        visit(j + 1);
        hold[j] = 0;
      }
  };
  visit(0);
  return best;
}

/** Puts the columns in use into `work`; how many there are. */
function load(k: number, hold: Uint8Array, width: (j: number) => number): number {
  let p = 0;
  // Each column in use: hinge or step of a gap, or hinge − width × step.
  const first = new Int32Array(2 * k);
  const minus = new Float64Array(2 * k);
  for (let j = 0; j < k; j++) {
    first[p] = 2 * j;
    minus[p] = hold[j] === 2 ? width(j) : 0;
    p++;
    if (hold[j] === 0) first[p++] = 2 * j + 1;
  }
  for (let a = 0; a < p; a++) {
    const i = first[a]!;
    const wi = minus[a]!;
    target[a] = along[i]! - (wi === 0 ? 0 : wi * along[i + 1]!);
    for (let b = 0; b <= a; b++) {
      const j = first[b]!;
      const wj = minus[b]!;
      let v = gram[i * most + j]!;
      if (wi !== 0) v -= wi * gram[(i + 1) * most + j]!;
      if (wj !== 0) v -= wj * (gram[i * most + j + 1]! - (wi === 0 ? 0 : wi * gram[(i + 1) * most + j + 1]!));
      work[a * most + b] = v;
    }
  }
  return p;
}

/** Cholesky factor and its inverse of `work`; the sum of squares left, infinite if columns depend on each other. */
function factorise(p: number, total: number): number {
  let sse = total;
  for (let i = 0; i < p; i++) {
    const ri = i * most;
    for (let j = 0; j <= i; j++) {
      const rj = j * most;
      let s = work[ri + j]!;
      for (let t = 0; t < j; t++) s -= factor[ri + t]! * factor[rj + t]!;
      if (j < i) factor[ri + j] = s / factor[rj + j]!;
      else {
        if (!(s > 1e-13 * work[ri + i]!)) return Number.POSITIVE_INFINITY;
        factor[ri + i] = Math.sqrt(s);
      }
    }
    const d = factor[ri + i]!;
    let s = target[i]!;
    for (let t = 0; t < i; t++) s -= factor[ri + t]! * z[t]!;
    z[i] = s / d;
    sse -= z[i]! * z[i]!;
    for (let j = 0; j < i; j++) {
      let v = 0;
      for (let t = j; t < i; t++) v -= factor[ri + t]! * inverse[t * most + j]!;
      inverse[ri + j] = v / d;
    }
    inverse[ri + i] = 1 / d;
  }
  return sse;
}

/** What the sum of squares gains when `a` × coefficient i + coefficient i + 1, now `value`, is made zero. */
function conditionCost(p: number, i: number, a: number, value: number): number {
  let s = 0;
  for (let t = i; t < p; t++) {
    const v = a * inverse[t * most + i]! + (t > i ? inverse[t * most + i + 1]! : 0);
    s += v * v;
  }
  return (value * value) / s;
}
