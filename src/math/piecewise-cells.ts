/**
 * Search over cells (one gap between neighbouring readings for each breakpoint). A cell's linear fit without the condition that
 * its corners lie in their gaps is a lower bound and costs a few operations in a depth-first walk; only cells whose bound beats
 * the best fit so far are solved. Walking all cells is therefore exact; walking those that differ from a given cell in two or
 * three breakpoints is a local search far wider than any that moves one.
 */
import { type CellFit, solveCell } from "./piecewise-cell";
import { betterThan, type Products } from "./piecewise-products";

export interface Found extends CellFit {
  gaps: number[];
}

export interface Walk {
  products: Products;
  /** Least number of distinct readings in each piece. */
  least: number;
}

/** Gaps that a breakpoint may stand in, so that both sides keep `least` places. */
export function allGaps(walk: Walk): number[] {
  const d = walk.products.places.length;
  return Array.from({ length: Math.max(0, d - 2 * walk.least + 1) }, (_, i) => i + walk.least - 1);
}

/** Number of ways to put k breakpoints into the gaps. */
export function countCells(gaps: number, k: number, least: number): number {
  let count = 1;
  const free = gaps - (k - 1) * (least - 1);
  for (let j = 0; j < k; j++) count *= Math.max(0, free - j) / (j + 1);
  return count;
}

/**
 * Best way to add `r` breakpoints, each in one of `options`, to those in `fixed`.
 * @param best the best fit of fixed.length + r breakpoints known so far, or null.
 * @returns the better one, `best` itself if none is found.
 */
export function walkCells(walk: Walk, options: number[], fixed: number[], r: number, best: Found | null): Found | null {
  const { products, least } = walk;
  const m0 = options.filter((g) => fixed.every((f) => Math.abs(f - g) >= least));
  const m = m0.length;
  if (m < r) return best;
  const gap = Int32Array.from(m0);
  const k = fixed.length + r;
  // What is left of each option's two columns after the fixed ones and those chosen so far, one layer a depth.
  const layers = Array.from({ length: r }, () => ({
    hh: new Float64Array(m),
    hs: new Float64Array(m),
    ss: new Float64Array(m),
    ch: new Float64Array(m),
    cs: new Float64Array(m),
  }));
  const directions: Float64Array[] = Array.from({ length: 2 * k }, () => new Float64Array(2 * m));
  const column = (o: number) => 2 * gap[o >> 1]! + (o & 1);
  const first = layers[0]!;
  for (let o = 0; o < m; o++) {
    const a = 2 * gap[o]!;
    first.hh[o] = products.gram(a, a);
    first.hs[o] = products.gram(a, a + 1);
    first.ss[o] = products.gram(a + 1, a + 1);
    first.ch[o] = products.along(a);
    first.cs[o] = products.along(a + 1);
  }
  let used = 0;
  let explained = 0;
  const alongs: number[] = [];
  // Fixed breakpoints: both columns of each, made orthonormal in turn.
  const own = fixed.flatMap((f) => [2 * f, 2 * f + 1]);
  const parts: Float64Array[] = [];
  own.forEach((a, i) => {
    // Components of the fixed columns along this one's remainder, and of every option.
    const beside = Float64Array.from(own, (b) => products.gram(a, b));
    const w = directions[used]!;
    for (let o = 0; o < 2 * m; o++) w[o] = products.gram(a, column(o));
    let along = products.along(a);
    for (let q = 0; q < used; q++) {
      const part = parts[q]![i]!;
      if (part === 0) continue;
      const d = directions[q]!;
      for (let o = 0; o < 2 * m; o++) w[o]! -= part * d[o]!;
      for (let b = 0; b < own.length; b++) beside[b]! -= part * parts[q]![b]!;
      along -= part * alongs[q]!;
    }
    const rest = beside[i]!;
    if (!(rest > 1e-13 * products.gram(a, a))) return;
    const size = Math.sqrt(rest);
    for (let o = 0; o < 2 * m; o++) w[o]! /= size;
    parts.push(beside.map((v) => v / size));
    along /= size;
    alongs.push(along);
    explained += along * along;
    takeOut(first, first, w, along, 0, m);
    used++;
  });
  const table = new Float64Array(r > 1 ? 4 * m * m : 0);
  if (r > 1)
    for (let a = 0; a < 2 * m; a++)
      for (let b = 0; b <= a; b++) {
        const v = products.gram(column(a), column(b));
        table[a * 2 * m + b] = v;
        table[b * 2 * m + a] = v;
      }
  let found = best;
  const chosen = new Int32Array(r);
  const visit = (depth: number, from: number, sse: number) => {
    const { hh, hs, ss, ch, cs } = layers[depth]!;
    if (depth === r - 1) {
      let limit = found ? found.sse : Number.POSITIVE_INFINITY;
      for (let o = from; o < m; o++) {
        const a = hh[o]!;
        const b = hs[o]!;
        const e = ss[o]!;
        const det = a * e - b * b;
        const bound = sse - (e * ch[o]! * ch[o]! - 2 * b * ch[o]! * cs[o]! + a * cs[o]! * cs[o]!) / det;
        if (!(bound < limit)) continue;
        // The last corner outside its gap: then the cheaper end of the gap is a bound too (see solveCell).
        const hinge = (e * ch[o]! - b * cs[o]!) / det;
        const step = (a * cs[o]! - b * ch[o]!) / det;
        const width = products.places[gap[o]! + 1]! - products.places[gap[o]!]!;
        if (!(-step / hinge >= 0 && -step / hinge <= width)) {
          const lower = (ch[o]! * ch[o]!) / a;
          const upper = (ch[o]! - width * cs[o]!) ** 2 / (a - 2 * width * b + width * width * e);
          if (!(sse - Math.max(lower, upper) < limit)) continue;
        }
        chosen[depth] = gap[o]!;
        const gaps = [...fixed, ...chosen].sort((p, q) => p - q);
        const fit = solveCell(products, gaps, limit);
        if (fit) {
          found = { ...fit, gaps };
          limit = fit.sse;
        }
      }
      return;
    }
    const next = layers[depth + 1]!;
    for (let o = from; o < m - (r - 1 - depth); o++) {
      let start = o + 1;
      while (start < m && gap[start]! - gap[o]! < least) start++;
      if (start >= m) break;
      if (!(hh[o]! > 0)) continue;
      chosen[depth] = gap[o]!;
      const size = Math.sqrt(hh[o]!);
      const w1 = directions[used]!;
      direction(2 * o, size, w1, start);
      const own1 = hs[o]! / size;
      const left = ss[o]! - own1 * own1;
      if (!(left > 0)) continue;
      const size2 = Math.sqrt(left);
      const b1 = ch[o]! / size;
      const b2 = (cs[o]! - own1 * b1) / size2;
      const w2 = directions[used + 1]!;
      direction(2 * o + 1, size2, w2, start);
      for (let t = 2 * start; t < 2 * m; t++) w2[t]! -= (own1 * w1[t]!) / size2;
      w1[2 * o + 1] = own1;
      takeOut(layers[depth]!, next, w1, b1, start, m);
      takeOut(next, next, w2, b2, start, m);
      used += 2;
      visit(depth + 1, start, sse - b1 * b1 - b2 * b2);
      used -= 2;
    }
  };
  /** What column `a` has in common with the columns from option `start` on, beyond the directions in use. */
  const direction = (a: number, size: number, w: Float64Array, start: number) => {
    const row = a * 2 * m;
    for (let t = 2 * start; t < 2 * m; t++) w[t] = table[row + t]!;
    for (let q = 0; q < used; q++) {
      const d = directions[q]!;
      const part = d[a]!;
      for (let t = 2 * start; t < 2 * m; t++) w[t]! -= part * d[t]!;
    }
    for (let t = 2 * start; t < 2 * m; t++) w[t]! /= size;
  };
  visit(0, 0, products.total - explained);
  return found;
}

interface Layer {
  hh: Float64Array;
  hs: Float64Array;
  ss: Float64Array;
  ch: Float64Array;
  cs: Float64Array;
}

/** Takes one orthonormal direction out of what is left. */
function takeOut(from: Layer, to: Layer, w: Float64Array, along: number, start: number, end: number): void {
  for (let o = start; o < end; o++) {
    const h = w[2 * o]!;
    const s = w[2 * o + 1]!;
    to.hh[o] = from.hh[o]! - h * h;
    to.hs[o] = from.hs[o]! - h * s;
    to.ss[o] = from.ss[o]! - s * s;
    to.ch[o] = from.ch[o]! - h * along;
    to.cs[o] = from.cs[o]! - s * along;
  }
}

/** Every choice of r out of k. */
export function subsets(k: number, r: number): number[][] {
  if (r === 0) return [[]];
  if (k < r) return [];
  return [...subsets(k - 1, r), ...subsets(k - 1, r - 1).map((s) => [...s, k - 1])];
}

/** Moves `r` breakpoints at a time to wherever in `options` they are best, until none moves. */
export function exchange(walk: Walk, options: number[], start: Found, r: number): Found {
  let best = start;
  const all = subsets(start.gaps.length, r);
  for (let still = 0, i = 0; still < all.length; i = (i + 1) % all.length) {
    const kept = best.gaps.filter((_, j) => !all[i]!.includes(j));
    const next = walkCells(walk, options, kept, r, best)!;
    still = next.sse < betterThan(best.sse, walk.products) ? 0 : still + 1;
    best = next;
  }
  return best;
}
