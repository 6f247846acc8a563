/**
 * Where to put k breakpoints. Where all cells can be counted off, they are (exact). Otherwise knots on the readings come first, from
 * several starts: stepwise, backward from more, and a dynamic programme over candidate knots that is exact for equal weights.
 * Exchanges of one, two and three knots at a time improve them; the programme once more over every reading near them moves all
 * knots together; then the breakpoints leave the readings.
 * There is no chance in it: the same points give the same answer.
 */
import { allGaps, countCells, exchange, type Found, type Walk, walkCells } from "./piecewise-cells";
import { bestChains } from "./piecewise-chain";
import { backwardHinges, exchangeHinges, type Knots, stepwiseHinges } from "./piecewise-hinges";
import { polishKnots } from "./piecewise-polish";
import { betterThan, type Products, plainProducts, type SortedPoints } from "./piecewise-products";

export type SearchMode = "exact" | "fast";

/** What each mode spends. Chosen by the times of the bench's sets (tests/bench/piecewise.ts); no other source. */
const spend = {
  exact: {
    cells: 6e6,
    candidates: 700,
    chains: 24,
    together: 3,
    pairs: 260,
    triples: 110,
    kept: 4,
    window: 12,
    close: 4,
  },
  fast: { cells: 6e4, candidates: 240, chains: 8, together: 2, pairs: 160, triples: 0, kept: 2, window: 6, close: 3 },
};
/** Up to so many gaps, exchanges are made over cells too, not over readings alone. */
const fewGaps = 110;
/** The same with a covariance: whitening makes the sum of squares so rough that knots on readings show it badly. */
const fewGapsWhitened = 260;
/** The second programme's candidates: every reading within so many of a knot. */
const closeReadings = 16;
/** How much worse on readings than the knots it starts from the second programme's may be: between readings the order can change. */
const worseOnReadings = 1 + 1e-3;
/** Single knots are first moved among so many readings at most, then among all near them. */
const mostSingles = 400;

/**
 * Best k breakpoints.
 * @param points the same points, for the dynamic programme.
 * @param plain whether `products` are those of equal weights: its bounds hold only then.
 * @returns null when the points cannot carry k breakpoints.
 */
export function searchBreaks(
  products: Products,
  points: SortedPoints,
  plain: boolean,
  k: number,
  least: number,
  mode: SearchMode,
): Found | null {
  const walk: Walk = { products, least };
  const gaps = allGaps(walk);
  const limits = spend[mode];
  const cells = countCells(gaps.length, k, least);
  if (!(cells > 0)) return null;
  // Where not all cells can be counted off, wider limits keep other starts: only with the fast search's among them is exact never worse.
  const bounded = mode === "exact" && cells > limits.cells;
  let best: Found | null = bounded ? searchBreaks(products, points, plain, k, least, "fast") : null;
  for (const knots of onReadings(walk, gaps, points, plain, k, mode)) {
    const fit = polishKnots(walk, knots.knots);
    if (fit && (!best || fit.sse < best.sse)) best = fit;
  }
  if (cells <= limits.cells) return walkCells(walk, gaps, [], k, best);
  if (!best) return null;
  const everywhere = gaps.length <= (plain ? fewGaps : fewGapsWhitened);
  const options = (at: number[], reach: number) => (everywhere ? gaps : withNear([], gaps, at, reach));
  for (;;) {
    const before: number = best.sse;
    best = exchange(walk, options(best.gaps, limits.window), best, Math.min(k, 2));
    if (limits.together > 2 && gaps.length <= fewGaps) best = exchange(walk, gaps, best, Math.min(k, 3));
    else if (limits.together > 2) best = exchange(walk, withNear([], gaps, best.gaps, 2), best, Math.min(k, 3));
    if (!(best.sse < betterThan(before, products))) return best;
  }
}

/** The best few choices of knots on readings, best first. */
function onReadings(
  walk: Walk,
  gaps: number[],
  points: SortedPoints,
  plain: boolean,
  k: number,
  mode: SearchMode,
): Knots[] {
  const limits = spend[mode];
  const singles = thinned(gaps, mostSingles);
  const countable = countCells(gaps.length, k, walk.least) <= limits.cells;
  const more = stepwiseHinges(walk, singles, countable ? k : k + 3);
  const starts: Knots[] = [];
  if (more[k - 1]) starts.push(more[k - 1]!);
  const last = more[more.length - 1];
  if (last && last.knots.length > k) starts.push(exchangeHinges(walk, singles, backwardHinges(walk, last, k), 1));
  if (countable) return best(starts, 1);
  // The programme's bounds are those of equal weights; with a covariance it only proposes starts, so they may be a little worse.
  const bounds = plain
    ? starts
    : stepwiseHinges({ products: plainProducts(points), least: walk.least }, singles, k).filter(
        (t) => t.knots.length === k,
      );
  const below = (plain ? 1 + 1e-6 : 1.3) * bounds.reduce((s, t) => Math.min(s, t.sse), Number.POSITIVE_INFINITY);
  const d = walk.products.places.length;
  const places = Array.from({ length: d }, (_, i) => i);
  const candidates = thinned(places, plain ? limits.candidates : Math.min(limits.candidates, 80));
  const settled = (chain: Knots, options: number[] = []) =>
    exchangeHinges(walk, withNear(options, gaps, chain.knots), { ...chain, sse: Number.POSITIVE_INFINITY }, 1);
  for (const chain of bestChains(points, candidates, k, walk.least, below, limits.chains))
    starts.push(settled(chain, singles));
  const improved = best(
    best(starts, limits.kept).map((start) => {
      let now = start;
      for (;;) {
        const before = now.sse;
        now = exchangeHinges(walk, withNear(thinned(gaps, limits.pairs), gaps, now.knots), now, Math.min(k, 2));
        if (limits.triples > 0 && k > 2)
          now = exchangeHinges(walk, withNear(thinned(gaps, limits.triples), gaps, now.knots), now, 3);
        now = exchangeHinges(walk, gaps, now, 1);
        if (!(now.sse < betterThan(before, walk.products))) return now;
      }
    }),
    limits.kept,
  );
  if (!plain) return improved;
  const close = improved.flatMap((fit) => {
    const near = withNear([], places, fit.knots, closeReadings);
    return bestChains(points, near, k, walk.least, worseOnReadings * fit.sse, limits.close).map((chain) =>
      settled(chain),
    );
  });
  return best([...improved, ...close], limits.kept + limits.close);
}

/** The best `count` that differ. */
function best(fits: Knots[], count: number): Knots[] {
  const kept: Knots[] = [];
  for (const fit of [...fits].sort((a, b) => a.sse - b.sse))
    if (kept.length < count && !kept.some((t) => t.knots.every((v, i) => v === fit.knots[i]))) kept.push(fit);
  return kept;
}

/** `options`, and every gap within four of a knot. */
function withNear(options: number[], gaps: number[], knots: number[], reach = 4): number[] {
  const first = gaps[0] ?? 0;
  const last = gaps[gaps.length - 1] ?? -1;
  const close = knots
    .flatMap((t) => Array.from({ length: 2 * reach + 1 }, (_, i) => t + i - reach))
    .filter((g) => g >= first && g <= last);
  return [...new Set([...options, ...close])].sort((a, b) => a - b);
}

/** At most `most` of a list, evenly. */
function thinned(list: number[], most: number): number[] {
  if (list.length <= most) return list;
  return Array.from({ length: most }, (_, i) => list[Math.round((i * (list.length - 1)) / (most - 1))]!);
}
