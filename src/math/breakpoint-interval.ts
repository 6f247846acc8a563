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

/** Places at which a profile is looked at, at most; crossings are then found between two of them. */
const mostPlaces = 120;
const mostSteps = 40;
/** An end is found when the profile misses its limit by less than this share of its rise. */
const closeEnough = 1e-5;
/** With fewer gaps than this the middle of each is looked at too: a dip could hide there. */
const wideGaps = 40;

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
    let others = fit.gaps.filter((_, i) => i !== j);
    let good: Look = { place: fit.at[j]!, over: fit.sse - limit, others };
    let bad: Look | null = null;
    for (const place of gapsAhead(places, gaps, good.place, side)) {
      const at = profileAt(walk, gaps, place, others, j);
      if (at) others = at.gaps;
      const look: Look = { place, over: at ? at.sse - limit : Number.POSITIVE_INFINITY, others };
      if (look.over <= 0) {
        good = look;
        bad = null;
      } else bad ??= look;
    }
    if (bad === null) return side < 0 ? first : last;
    return crossing(good, bad, limit - fit.sse, (place, from) => profileAt(walk, gaps, place, from, j), limit);
  };
  return { lower: unscale(edge(-1)), upper: unscale(edge(1)) };
}

/** A place that was looked at: how far its sum of squares is over the limit, and where the other breakpoints were. */
interface Look {
  place: number;
  over: number;
  others: number[];
}

/** Where the profile meets its limit between a place under it and one over it: false position, the kept end halved (Illinois). */
function crossing(
  good: Look,
  bad: Look,
  rise: number,
  profile: (place: number, others: number[]) => { sse: number; gaps: number[] } | null,
  limit: number,
): number {
  let [a, fa, b, fb] = [good.place, good.over, bad.place, bad.over];
  let { others } = good;
  for (let i = 0; i < mostSteps && Math.abs(b - a) > 1e-9; i++) {
    const place = Number.isFinite(fb) && i % 6 < 5 ? (a * fb - b * fa) / (fb - fa) : (a + b) / 2;
    const at = profile(place, others);
    const over = at ? at.sse - limit : Number.POSITIVE_INFINITY;
    if (Math.abs(over) < closeEnough * rise) return place;
    if (over <= 0) {
      others = at!.gaps;
      [a, fa] = [place, over];
      fb /= 2;
    } else {
      [b, fb] = [place, over];
      fa /= 2;
    }
  }
  return a;
}

/** Readings on one side of a place, nearest first, with the middles between few; thinned where there are many. */
function gapsAhead(places: Float64Array, gaps: number[], here: number, side: -1 | 1): number[] {
  const low = gaps[0]!;
  const high = gaps[gaps.length - 1]! + 1;
  const all: number[] = [];
  for (let g = low; g <= high; g++) {
    all.push(places[g]!);
    if (g < high && gaps.length < wideGaps) all.push((places[g]! + places[g + 1]!) / 2);
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
  // Each product is asked for many times, and mostly of few columns.
  const known = new Float64Array(2 * products.places.length).fill(Number.NaN);
  const partOf = (a: number): number => {
    if (Number.isNaN(known[a]!)) known[a] = part(a);
    return known[a]!;
  };
  const along = (products.along(h) - shift * products.along(h + 1)) / size;
  return {
    ...products,
    gram: (a, b) => products.gram(a, b) - partOf(a) * partOf(b),
    along: (a) => products.along(a) - partOf(a) * along,
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
