/**
 * How well a breakpoint is known. Its standard error comes from the fit made linear at the breakpoints (Muggeo 2003); with few
 * points it fails, so the 95 % interval comes from the profile: where the sum of squares, everything else fitted again for each
 * place, stays under its limit. The profile has kinks at the readings and may dip twice: the interval spans all of the dips.
 */
import { chiSquaredQuantile, tQuantile } from "./distributions";
import { type CellFit, solveCell } from "./piecewise-cell";
import { allGaps, type Found, type Walk, walkCells } from "./piecewise-cells";
import { betterThan, type Products } from "./piecewise-products";
import { dot, forward, orthonormal, project } from "./triangular";

/** Places at which a profile is looked at, at most; crossings are then found by halving. */
const mostPlaces = 120;
const halvings = 24;

/**
 * Largest sum of squares that a place may have and still lie in the interval.
 * @param known whether the covariance was given: a misfit beyond it widens, a fit better than it never narrows.
 */
export function profileLimit(sse: number, freedom: number, known: boolean): number {
  const nu = Math.max(1, freedom);
  if (known && sse <= nu) return sse + chiSquaredQuantile(0.95, 1);
  return sse + (sse / nu) * tQuantile(0.975, nu) ** 2;
}

/** Profile-likelihood interval of breakpoint j, in x. */
export function profileInterval(walk: Walk, fit: Found, j: number, limit: number): { lower: number; upper: number } {
  const { places, unscale } = walk.products;
  const gaps = allGaps(walk);
  const first = places[gaps[0]!]!;
  const last = places[gaps[gaps.length - 1]! + 1]!;
  const edge = (side: -1 | 1): number => {
    const here = fit.at[j]!;
    const ahead = gapsAhead(places, gaps, here, side);
    let others = fit.gaps.filter((_, i) => i !== j);
    let good = here;
    let next: number | null = null;
    let start = others;
    for (const place of ahead) {
      const at = profileAt(walk, gaps, place, others, j);
      if (at) others = at.gaps;
      if (at && at.sse <= limit) {
        good = place;
        next = null;
        start = at.gaps;
      } else if (next === null) next = place;
    }
    if (next === null) return side < 0 ? first : last;
    let bad = next;
    for (let i = 0; i < halvings; i++) {
      const middle = (good + bad) / 2;
      const at = profileAt(walk, gaps, middle, start, j);
      if (at && at.sse <= limit) good = middle;
      else bad = middle;
    }
    return good;
  };
  return { lower: unscale(edge(-1)), upper: unscale(edge(1)) };
}

/** Readings on one side of a place, and the middles between them, nearest first; thinned where there are many. */
function gapsAhead(places: Float64Array, gaps: number[], here: number, side: -1 | 1): number[] {
  const low = gaps[0]!;
  const high = gaps[gaps.length - 1]! + 1;
  const all: number[] = [];
  for (let g = low; g <= high; g++) {
    all.push(places[g]!);
    if (g < high) all.push((places[g]! + places[g + 1]!) / 2);
  }
  const ahead = all.filter((v) => side * (v - here) > 0).sort((a, b) => side * (a - b));
  if (ahead.length <= mostPlaces) return ahead;
  // Dense near the estimate, sparse far from it.
  const picked = new Set<number>([ahead.length - 1]);
  for (let i = 0; i < mostPlaces; i++) picked.add(Math.round((i / mostPlaces) ** 2 * (ahead.length - 1)));
  return [...picked].sort((a, b) => a - b).map((i) => ahead[i]!);
}

/** Least sum of squares with one breakpoint held at a place; the others start from `others` and keep their side of it. */
function profileAt(
  walk: Walk,
  gaps: number[],
  place: number,
  others: number[],
  j: number,
): { sse: number; gaps: number[] } | null {
  const { places } = walk.products;
  let gap = gaps[0]!;
  while (gap < gaps[gaps.length - 1]! && places[gap + 1]! <= place) gap++;
  const held = holding(walk.products, gap, place);
  if (others.length === 0) return { sse: held.total, gaps: [] };
  const inner: Walk = { products: held, least: walk.least };
  const least = walk.least;
  if (others.length === 1) {
    const options = gaps.filter((g) => (j === 0 ? g >= gap + least : g <= gap - least));
    return walkCells(inner, options, [], 1, null);
  }
  // Pushed aside as far as the held one and each other ask for.
  const now = [...others];
  for (let i = j; i < now.length; i++) now[i] = Math.max(now[i]!, (i === j ? gap : now[i - 1]!) + least);
  for (let i = j - 1; i >= 0; i--) now[i] = Math.min(now[i]!, (i === j - 1 ? gap : now[i + 1]!) - least);
  if (now[0]! < gaps[0]! || now[now.length - 1]! > gaps[gaps.length - 1]!) return null;
  const allowed = (list: number[]) =>
    list.every(
      (g, i) =>
        g >= gaps[0]! &&
        g <= gaps[gaps.length - 1]! &&
        (i === 0 || g - list[i - 1]! >= least) &&
        (i < j ? gap - g >= least : g - gap >= least),
    );
  const first = solveCell(held, now, Number.POSITIVE_INFINITY);
  if (!first) return null;
  let best: CellFit = first;
  for (let again = true; again; ) {
    again = false;
    for (let i = 0; i < now.length; i++)
      for (const step of [-1, 1, -2, 2]) {
        const trial = now.map((g, q) => (q === i ? g + step : g));
        const fit: CellFit | null = allowed(trial) ? solveCell(held, trial, betterThan(best.sse, walk.products)) : null;
        if (!fit) continue;
        best = fit;
        now[i]! += step;
        again = true;
      }
  }
  return { sse: best.sse, gaps: now };
}

/** The products that are left when the hinge at a place inside a gap is part of the model in any case. */
function holding(products: Products, gap: number, place: number): Products {
  const shift = place - products.places[gap]!;
  const h = 2 * gap;
  const size = Math.sqrt(
    products.gram(h, h) - 2 * shift * products.gram(h, h + 1) + shift * shift * products.gram(h + 1, h + 1),
  );
  const part = (a: number) => (products.gram(h, a) - shift * products.gram(h + 1, a)) / size;
  const along = (products.along(h) - shift * products.along(h + 1)) / size;
  return {
    ...products,
    gram: (a, b) => products.gram(a, b) - part(a) * part(b),
    along: (a) => products.along(a) - part(a) * along,
    total: products.total - along * along,
  };
}

/**
 * Standard error of each breakpoint from the linearised fit: its own column is −slope change behind the break (Muggeo 2003).
 * @param s2 variance of the whitened residuals.
 * @returns infinite where the points do not determine it.
 */
export function linearisedErrors(
  x: number[],
  whiten: (column: number[]) => Float64Array,
  at: number[],
  changes: number[],
  s2: number,
): number[] {
  const hinges = at.map((b) => x.map((v) => Math.max(0, v - b)));
  const steps = at.map((b, i) => x.map((v) => (v > b ? -changes[i]! : 0)));
  return at.map((_, j) => {
    const others = [x.map(() => 1), x, ...hinges, ...steps.filter((_, i) => i !== j)].map(whiten);
    const own = whiten(steps[j]!);
    const { q } = orthonormal(others);
    project(q, own);
    project(q, own);
    const information = dot(own, own);
    return information > 0 ? Math.sqrt(s2 / information) : Number.POSITIVE_INFINITY;
  });
}

/** Whitening by a factor, or nothing to do without one. */
export const whiteningBy =
  (l: Float64Array[] | null) =>
  (column: number[]): Float64Array =>
    l ? forward(l, column) : Float64Array.from(column);
