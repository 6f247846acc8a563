/** Inverse prediction from a straight line: at which x does the line read y0? */
import type { StraightLine } from "./straight-line";

/**
 * Which x agree with a reading. A line that is not clearly steep bounds x on one side only, or not at all, and the type says so.
 * `outside`: all x up to `upTo` and all from `from` on, nothing between.
 */
export type Agreeing =
  | { kind: "between"; lower: number; upper: number }
  | { kind: "from"; lower: number }
  | { kind: "upTo"; upper: number }
  | { kind: "outside"; upTo: number; from: number }
  | { kind: "unbounded" };

export interface Inverse {
  /** x at which the line reads y0; null for a level line. */
  x: number | null;
  /** First-order standard uncertainty of that x: good for a steep line only. */
  standard: number | null;
  agreeing: Agreeing;
  /** (k·u(slope)/slope)²: from 1 on the slope may be zero and x is not bounded on both sides; under 0.05 first order will do. */
  g: number;
}

/** As much of a straight line as its inverse asks for. */
export type LineWithErrors = Pick<
  StraightLine,
  "intercept" | "slope" | "interceptVariance" | "slopeVariance" | "covariance"
>;

/**
 * Fieller's set: all x with (a + bx − y0)² ≤ k²·(u0² + var(a + bx)).
 * @param y0 the reading, or the mean of several; @param u0 its standard uncertainty in the unit of y, independent of the line.
 * @param k quantile: t with the line's degrees of freedom where errors came from the residuals, normal where they were stated.
 * @see Fieller 1954 (from memory); checked against Massart et al. 1997, chapter 8.
 */
export function inverseLine(line: LineWithErrors, y0: number, u0: number, k: number): Inverse {
  const { intercept: a, slope: b, interceptVariance: va, slopeVariance: vb, covariance: cab } = line;
  const ratio = (y0 - a) / b;
  const x = Number.isFinite(ratio) ? ratio : null;
  const variance = (at: number) => u0 * u0 + va + at * at * vb + 2 * at * cab;
  const standard = x === null ? null : Math.sqrt(variance(x)) / Math.abs(b);
  const g = (k * k * vb) / (b * b);
  const p = b * b - k * k * vb;
  // A steep line: about x itself, where the line is off by b·z, the quadratic loses no digits. A flat one: x may lie anywhere, so about 0.
  const agreeing =
    x !== null && p > 0
      ? agreeingAbout(x, p, -k * k * (cab + x * vb), -k * k * variance(x))
      : agreeingAbout(0, p, b * (a - y0) - k * k * cab, (a - y0) ** 2 - k * k * (u0 * u0 + va));
  return { x, standard, agreeing, g };
}

/** All z with p·z² + 2q·z + r ≤ 0, moved to `centre`. */
function agreeingAbout(centre: number, p: number, q: number, r: number): Agreeing {
  const inside = q * q - p * r;
  if (p > 0) {
    // r ≤ 0 here, so `inside` is never negative.
    const root = Math.sqrt(Math.max(0, inside));
    const [first, second] = stableRoots(p, q, r, root);
    return { kind: "between", lower: centre + first, upper: centre + second };
  }
  if (p === 0) {
    if (q === 0) return { kind: "unbounded" };
    return q > 0 ? { kind: "upTo", upper: centre - r / (2 * q) } : { kind: "from", lower: centre - r / (2 * q) };
  }
  if (inside <= 0) return { kind: "unbounded" };
  const [first, second] = stableRoots(p, q, r, Math.sqrt(inside));
  return { kind: "outside", upTo: centre + first, from: centre + second };
}

/** Both roots of p·z² + 2q·z + r, the smaller first, without taking the difference of like numbers. */
function stableRoots(p: number, q: number, r: number, root: number): [number, number] {
  const big = q >= 0 ? -(q + root) : root - q;
  const one = big / p;
  const two = big !== 0 ? r / big : one;
  return one <= two ? [one, two] : [two, one];
}

/**
 * The part of an agreeing set that lies between `low` and `high` (the range that the line was measured over): a set of two branches is
 * often one-sided there.
 * @returns the bounds within the range, each with whether it is the set's own or only the range's; null if the range holds none of it. Two branches that both reach into the range stay the whole range.
 */
export function within(
  set: Agreeing,
  low: number,
  high: number,
): { lower: number; upper: number; lowerIsBound: boolean; upperIsBound: boolean } | null {
  const cut = (lower: number, upper: number) =>
    lower > high || upper < low
      ? null
      : {
          lower: Math.max(low, lower),
          upper: Math.min(high, upper),
          lowerIsBound: lower > low,
          upperIsBound: upper < high,
        };
  switch (set.kind) {
    case "between":
      return cut(set.lower, set.upper);
    case "from":
      return cut(set.lower, Number.POSITIVE_INFINITY);
    case "upTo":
      return cut(Number.NEGATIVE_INFINITY, set.upper);
    case "unbounded":
      return cut(Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
    case "outside": {
      const below = cut(Number.NEGATIVE_INFINITY, set.upTo);
      const above = cut(set.from, Number.POSITIVE_INFINITY);
      return below && above ? cut(low, high) : (below ?? above);
    }
  }
}
