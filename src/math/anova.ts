/** One-way analysis of variance: spread within groups (repeatability) and between them (ISO 5725-2). */
import { chiSquaredQuantile, fProbability, fQuantile } from "./distributions";
import { exactSum } from "./exact-sum";
import { momentsOf } from "./moments";

/** A group by its figures: GUM H.5 prints groups so. */
export interface Group {
  n: number;
  mean: number;
  /** Standard deviation within the group, over n − 1. */
  sd: number;
}

export interface OneWay {
  between: { freedom: number; squares: number; meanSquare: number };
  within: { freedom: number; squares: number; meanSquare: number };
  /** Ratio of the mean squares, and the chance of one as large without a difference between groups; null without spread within. */
  f: number | null;
  p: number | null;
  rSquared: number;
  mean: number;
  /** Repeatability standard deviation: pooled within groups. */
  repeatability: number;
  /** Standard deviation of a group's own offset, at least 0. */
  betweenGroups: number;
  /** Group size that stands for all of them where they differ. */
  size: number;
}

export const groupOf = (values: ArrayLike<number>): Group => {
  const { n, mean, sd } = momentsOf(values);
  return { n, mean, sd };
};

/**
 * @throws with fewer than 2 groups, an empty one, or no degree of freedom within the groups.
 * @see ISO 5725-2, 7.4 and 7.5 (from memory): s_r² the mean square within, s_L² = (mean square between − s_r²)/n, at least 0.
 */
export function oneWay(groups: Group[]): OneWay {
  const k = groups.length;
  if (k < 2) throw new Error(`oneWay: needs two groups, got ${k}`);
  if (groups.some((g) => !(g.n >= 1))) throw new Error("oneWay: a group is empty");
  const total = groups.reduce((s, g) => s + g.n, 0);
  if (total <= k) throw new Error(`oneWay: ${total} values in ${k} groups leave no spread within a group`);
  // About the first group's mean: group means that differ in late digits keep them.
  const first = groups[0]!.mean;
  const off = exactSum(groups.map((g) => g.n * (g.mean - first))) / total;
  const squaresBetween = exactSum(groups.map((g) => g.n * (g.mean - first - off) ** 2));
  const squaresWithin = exactSum(groups.map((g) => (g.n - 1) * g.sd * g.sd));
  const between = { freedom: k - 1, squares: squaresBetween, meanSquare: squaresBetween / (k - 1) };
  const within = { freedom: total - k, squares: squaresWithin, meanSquare: squaresWithin / (total - k) };
  const size = (total - groups.reduce((s, g) => s + g.n * g.n, 0) / total) / (k - 1);
  const f = within.meanSquare > 0 ? between.meanSquare / within.meanSquare : null;
  return {
    between,
    within,
    f,
    p: f === null ? null : 1 - fProbability(f, between.freedom, within.freedom),
    rSquared: squaresBetween + squaresWithin > 0 ? squaresBetween / (squaresBetween + squaresWithin) : 0,
    mean: first + off,
    repeatability: Math.sqrt(within.meanSquare),
    betweenGroups: Math.sqrt(Math.max(0, (between.meanSquare - within.meanSquare) / size)),
    size,
  };
}

/** Interval of a standard deviation from its mean square: χ², equal tails, for normal errors. */
export function sdInterval(meanSquare: number, freedom: number, coverage = 0.95): { lower: number; upper: number } {
  const tail = (1 - coverage) / 2;
  return {
    lower: Math.sqrt((freedom * meanSquare) / chiSquaredQuantile(1 - tail, freedom)),
    upper: Math.sqrt((freedom * meanSquare) / chiSquaredQuantile(tail, freedom)),
  };
}

/**
 * Interval of the between-group standard deviation √((s₁² − s₂²)/size): the modified large-sample interval, each end cut at 0. It holds
 * the coverage for few groups too, where the interval is wide: two groups leave one degree of freedom.
 * @param one mean square between with its degrees of freedom; @param two mean square within.
 * @see Ting, Burdick, Graybill, Jeyaratnam and Lu 1990 (from memory); its coverage is counted by simulation in the tests.
 */
export function betweenInterval(
  one: { meanSquare: number; freedom: number },
  two: { meanSquare: number; freedom: number },
  size: number,
  coverage = 0.95,
): { lower: number; upper: number } {
  const tail = (1 - coverage) / 2;
  const difference = one.meanSquare - two.meanSquare;
  /** F quantile with endless second degrees of freedom. */
  const endless = (p: number, freedom: number) => chiSquaredQuantile(p, freedom) / freedom;
  const reach = (a: number, b: number, mixed: number) =>
    Math.sqrt(
      Math.max(0, (a * one.meanSquare) ** 2 + (b * two.meanSquare) ** 2 + mixed * one.meanSquare * two.meanSquare),
    );
  const g1 = 1 - 1 / endless(1 - tail, one.freedom);
  const h2 = 1 / endless(tail, two.freedom) - 1;
  const f = fQuantile(1 - tail, one.freedom, two.freedom);
  const g12 = ((f - 1) ** 2 - (g1 * f) ** 2 - h2 * h2) / f;
  const h1 = 1 / endless(tail, one.freedom) - 1;
  const g2 = 1 - 1 / endless(1 - tail, two.freedom);
  const low = fQuantile(tail, one.freedom, two.freedom);
  const h12 = ((1 - low) ** 2 - (h1 * low) ** 2 - g2 * g2) / low;
  const root = (v: number) => Math.sqrt(Math.max(0, v / size));
  return { lower: root(difference - reach(g1, h2, g12)), upper: root(difference + reach(h1, g2, h12)) };
}

/**
 * Lack of fit: does a curve miss the means of true replicates by more than the replicates scatter?
 * @param x where each y was taken; equal x are replicates. @param residuals of the fit. @param parameters that it has.
 * @returns null without replicates, or with no more places than parameters.
 */
export function lackOfFit(
  x: number[],
  y: number[],
  residuals: number[],
  parameters: number,
): { f: number; p: number; freedom: [number, number]; pureSd: number } | null {
  const places = new Map<number, number[]>();
  x.forEach((v, i) => {
    const list = places.get(v);
    if (list) list.push(y[i]!);
    else places.set(v, [y[i]!]);
  });
  const pureFreedom = x.length - places.size;
  const freedom = places.size - parameters;
  if (pureFreedom < 1 || freedom < 1) return null;
  const pure = exactSum([...places.values()].map((v) => momentsOf(v).squares));
  const all = exactSum(residuals.map((r) => r * r));
  if (!(pure > 0)) return null;
  const f = (all - pure) / freedom / (pure / pureFreedom);
  return {
    f,
    p: 1 - fProbability(Math.max(0, f), freedom, pureFreedom),
    freedom: [freedom, pureFreedom],
    pureSd: Math.sqrt(pure / pureFreedom),
  };
}
