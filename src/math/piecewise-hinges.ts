/**
 * Search with every knot on a reading: one column a knot, so that the sum of squares of a choice is exact after a few operations
 * and thousands of readings can be tried. What the gaps between the readings can still win is taken in piecewise-polish.ts.
 */

import { subsets, type Walk } from "./piecewise-cells";
import { betterThan } from "./piecewise-products";

export interface Knots {
  sse: number;
  /** Places (indices), rising. */
  knots: number[];
}

/** Best way to add r knots among `options` to `fixed`; `best` itself if none is better. */
export function walkHinges(
  walk: Walk,
  options: number[],
  fixed: number[],
  r: number,
  best: Knots | null,
): Knots | null {
  const { products, least } = walk;
  const place = Int32Array.from(options.filter((g) => fixed.every((f) => Math.abs(f - g) >= least)));
  const m = place.length;
  if (m < r) return best;
  const k = fixed.length + r;
  const left = Array.from({ length: r }, () => new Float64Array(m));
  const along = Array.from({ length: r }, () => new Float64Array(m));
  const directions = Array.from({ length: k }, () => new Float64Array(m));
  for (let o = 0; o < m; o++) {
    left[0]![o] = products.gram(2 * place[o]!, 2 * place[o]!);
    along[0]![o] = products.along(2 * place[o]!);
  }
  // What is left of a column counts as nothing below this share of it.
  const floor = left[0]!.map((v) => 1e-12 * v);
  let sse = products.total;
  let used = 0;
  const parts: Float64Array[] = [];
  const alongs: number[] = [];
  for (let i = 0; i < fixed.length; i++) {
    const a = 2 * fixed[i]!;
    const beside = Float64Array.from(fixed, (f) => products.gram(a, 2 * f));
    const w = directions[used]!;
    for (let o = 0; o < m; o++) w[o] = products.gram(a, 2 * place[o]!);
    let c = products.along(a);
    for (let q = 0; q < used; q++) {
      const part = parts[q]![i]!;
      const d = directions[q]!;
      for (let o = 0; o < m; o++) w[o]! -= part * d[o]!;
      for (let b = 0; b < fixed.length; b++) beside[b]! -= part * parts[q]![b]!;
      c -= part * alongs[q]!;
    }
    if (!(beside[i]! > 1e-13 * products.gram(a, a))) continue;
    const size = Math.sqrt(beside[i]!);
    parts.push(beside.map((v) => v / size));
    c /= size;
    alongs.push(c);
    sse -= c * c;
    for (let o = 0; o < m; o++) {
      w[o]! /= size;
      left[0]![o]! -= w[o]! * w[o]!;
      along[0]![o]! -= w[o]! * c;
    }
    used++;
  }
  const table = new Float64Array(r > 1 ? m * m : 0);
  if (r > 1)
    for (let a = 0; a < m; a++)
      for (let b = 0; b <= a; b++) {
        const v = products.gram(2 * place[a]!, 2 * place[b]!);
        table[a * m + b] = v;
        table[b * m + a] = v;
      }
  let found = best;
  let limit = best ? best.sse : Number.POSITIVE_INFINITY;
  const chosen = new Int32Array(r);
  const visit = (depth: number, from: number, rest: number) => {
    const l = left[depth]!;
    const c = along[depth]!;
    if (depth === r - 1) {
      let winner = -1;
      for (let o = from; o < m; o++) {
        const value = rest - (c[o]! * c[o]!) / l[o]!;
        if (value < limit && l[o]! > floor[o]!) {
          limit = value;
          winner = o;
        }
      }
      if (winner >= 0) {
        chosen[depth] = place[winner]!;
        found = { sse: limit, knots: [...fixed, ...chosen].sort((p, q) => p - q) };
      }
      return;
    }
    const nextLeft = left[depth + 1]!;
    const nextAlong = along[depth + 1]!;
    for (let o = from; o < m; o++) {
      let start = o + 1;
      while (start < m && place[start]! - place[o]! < least) start++;
      if (start >= m) break;
      if (!(l[o]! > floor[o]!)) continue;
      chosen[depth] = place[o]!;
      const size = Math.sqrt(l[o]!);
      const b = c[o]! / size;
      const w = directions[used]!;
      const row = o * m;
      for (let t = start; t < m; t++) w[t] = table[row + t]!;
      for (let q = 0; q < used; q++) {
        const d = directions[q]!;
        const part = d[o]!;
        for (let t = start; t < m; t++) w[t]! -= part * d[t]!;
      }
      for (let t = start; t < m; t++) {
        const v = w[t]! / size;
        w[t] = v;
        nextLeft[t] = l[t]! - v * v;
        nextAlong[t] = c[t]! - v * b;
      }
      used++;
      visit(depth + 1, start, rest - b * b);
      used--;
    }
  };
  visit(0, 0, sse);
  return found;
}

/** Moves r knots at a time to wherever in `options` they are best, until none moves. */
export function exchangeHinges(walk: Walk, options: number[], start: Knots, r: number): Knots {
  let best = start;
  const all = subsets(start.knots.length, r);
  for (let still = 0, i = 0; still < all.length; i = (i + 1) % all.length) {
    const kept = best.knots.filter((_, j) => !all[i]!.includes(j));
    const next = walkHinges(walk, options, kept, r, best)!;
    still = next.sse < betterThan(best.sse, walk.products) ? 0 : still + 1;
    best = next;
  }
  return best;
}

/** One knot after the other, each where it helps most, then all moved one by one: the fits of 1 … k knots. */
export function stepwiseHinges(walk: Walk, options: number[], k: number): Knots[] {
  const fits: Knots[] = [];
  for (let j = 1; j <= k; j++) {
    const next = walkHinges(walk, options, fits[j - 2]?.knots ?? [], 1, null);
    if (!next) break;
    fits.push(exchangeHinges(walk, options, next, 1));
  }
  return fits;
}

/** The k knots that are left when, from more, the one that is missed least is taken away again and again. */
export function backwardHinges(walk: Walk, from: Knots, k: number): Knots {
  let now = from;
  while (now.knots.length > k) {
    let next: Knots | null = null;
    for (let j = 0; j < now.knots.length; j++) {
      const kept = now.knots.filter((_, i) => i !== j);
      // The last of the kept ones is put back where it was: that computes the sum of squares.
      next = walkHinges(walk, [kept[kept.length - 1]!], kept.slice(0, -1), 1, next);
    }
    if (!next) break;
    now = next;
  }
  return now;
}
