/**
 * Is a piece of a fit no more than a spike of correlated noise? Noise whose neighbours resemble each other makes short excursions,
 * and a search over the whole range finds the best of them: two breakpoints close together around a few points. Such a piece is
 * believed only if it pays for its two breakpoints when the noise may be a course, AR(1), as correlated as the residuals are.
 */
import { fitAt, type PiecewiseFit } from "./breakpoints";
import { dot, forward, orthonormal, project } from "./triangular";

export interface Spike {
  /** Ends of the piece, in x. */
  from: number;
  to: number;
  /** Readings in it. */
  points: number;
  /** Correlation of neighbouring residuals that was allowed for. */
  correlation: number;
}

/** A piece is short when it holds at most so many readings, or at most this share of all. Chosen for the simulations in the tests. */
const shortPoints = 4;
const shortShare = 1 / 8;
const fewReadings = 30;
/** No more correlation than this is allowed for: beyond it anything would be noise. */
const mostCorrelation = 0.95;

/**
 * Short inner pieces that correlated noise would explain as well.
 * @param l whitener of y in the order of x; null for equal weights. Correlation that it knows of is not counted twice.
 */
export function findSpikes(x: number[], y: number[], l: Float64Array[] | null, fit: PiecewiseFit): Spike[] {
  const at = fit.breakpoints.map((b) => b.at);
  const n = x.length;
  const spikes: Spike[] = [];
  for (let j = 0; j + 1 < at.length; j++) {
    const points = x.filter((v) => v > at[j]! && v <= at[j + 1]!).length;
    if (points > Math.max(shortPoints, shortShare * n)) continue;
    const without = at.filter((_, i) => i !== j && i !== j + 1);
    const within = correlationOf(residuals(x, y, l, at), 2 + 2 * at.length);
    const outside = correlationOf(residuals(x, y, l, without), 2 + 2 * without.length);
    // The fit with the piece takes correlation away, the one without it adds what a real piece would leave: the middle of both.
    // With few readings one real piece would make up most of what is left over: then the first alone.
    const correlation = n < fewReadings ? within : (within + outside) / 2;
    const course = courseWhitener(x, l, correlation);
    const full = courseSse(x, y, course, at);
    const simple = courseSse(x, y, course, without);
    // AICc with three parameters a breakpoint, one for the variance and one for the correlation.
    const cost = (sse: number, breaks: number) => {
      const p = 2 + 3 * breaks + 2;
      return n * Math.log(sse / n) + 2 * p + (2 * p * (p + 1)) / Math.max(1, n - p - 1);
    };
    if (cost(full, at.length) >= cost(simple, without.length))
      spikes.push({ from: at[j]!, to: at[j + 1]!, points, correlation });
  }
  return spikes;
}

/** Whitened residuals in rising order of x. */
function residuals(x: number[], y: number[], l: Float64Array[] | null, at: number[]): number[] {
  const { coefficients } = fitAt(x, y, l, at);
  const rest = y.map(
    (v, i) =>
      v -
      coefficients[0]! -
      coefficients[1]! * x[i]! -
      at.reduce((s, b, j) => s + coefficients[2 + j]! * Math.max(0, x[i]! - b), 0),
  );
  const white = l ? forward(l, rest) : rest;
  return order(x).map((i) => white[i]!);
}

const order = (x: number[]) => x.map((_, i) => i).sort((a, b) => x[a]! - x[b]! || a - b);

/**
 * Lag-one correlation of residuals. A fit with p parameters pulls it down, by about (1 + p (1 + r)) / n: that is given back
 * (after Kendall 1954, from memory, who has 1 + 3 r for a mean alone; the p is checked by the simulations in the tests).
 */
function correlationOf(e: number[], p: number): number {
  const n = e.length;
  const r = e.slice(1).reduce((s, v, i) => s + v * e[i]!, 0) / dot(e, e);
  return Math.min(mostCorrelation, Math.max(0, r + (1 + p * (1 + r)) / n));
}

interface Course {
  order: number[];
  correlation: number;
  l: Float64Array[] | null;
}

const courseWhitener = (x: number[], l: Float64Array[] | null, correlation: number): Course => ({
  order: order(x),
  correlation,
  l,
});

/** Sum of squares of the best line with these breakpoints when what is left is an AR(1) course along x. */
function courseSse(x: number[], y: number[], course: Course, at: number[]): number {
  const { order, correlation: r, l } = course;
  const whiten = (column: number[]) => {
    const w = l ? forward(l, column) : column;
    return Float64Array.from(order, (i, q) => (q === 0 ? Math.sqrt(1 - r * r) * w[i]! : w[i]! - r * w[order[q - 1]!]!));
  };
  const columns = [x.map(() => 1), x, ...at.map((b) => x.map((v) => Math.max(0, v - b)))].map(whiten);
  const { q } = orthonormal(columns);
  const rest = project(q, whiten(y));
  return dot(rest, rest);
}
