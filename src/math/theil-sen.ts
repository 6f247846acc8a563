/** Theil–Sen line: the median of all slopes between two points; up to 29 % wild points do not move it far. */
import { median } from "simple-statistics";
import { normalQuantile } from "./distributions";

export interface RankLine {
  slope: number;
  /** Median of y − slope·x. */
  intercept: number;
  /** Distribution-free interval of the slope; an end is null where too few slopes exist for the coverage asked. */
  lower: number | null;
  upper: number | null;
  /** Coverage that the interval really has, at least the one asked; for more than 50 points or equal x a normal approximation. */
  coverage: number;
  slopes: number;
}

/** Up to so many points the exact distribution of Kendall's S is counted. */
const countedUpTo = 50;

/**
 * @param coverage of the interval of the slope, two-sided.
 * @throws if there are no two different x, or lengths differ.
 * @see Theil 1950, Sen 1968 (from memory): the interval runs between two of the ordered slopes, counted from Kendall's S.
 */
export function theilSen(x: number[], y: number[], coverage = 0.95): RankLine {
  if (x.length !== y.length) throw new Error(`theilSen: ${x.length} x for ${y.length} y`);
  const n = x.length;
  const slopes: number[] = [];
  for (let i = 0; i < n; i++)
    for (let j = i + 1; j < n; j++) if (x[i] !== x[j]) slopes.push((y[j]! - y[i]!) / (x[j]! - x[i]!));
  if (slopes.length === 0) throw new Error("theilSen: needs two different x");
  slopes.sort((a, b) => a - b);
  const slope = median(slopes);
  const intercept = median(y.map((v, i) => v - slope * x[i]!));
  const pairs = slopes.length;
  const ties = pairs < (n * (n - 1)) / 2;
  const { reach, held } = n <= countedUpTo && !ties ? exactReach(n, coverage) : normalReach(x, coverage);
  // S counts rising less falling pairs: |S| ≤ reach leaves (pairs − reach)/2 slopes outside on each side.
  const outside = Math.floor((pairs - reach) / 2);
  const bounded = outside >= 1;
  return {
    slope,
    intercept,
    lower: bounded ? slopes[outside - 1]! : null,
    upper: bounded ? slopes[pairs - outside]! : null,
    coverage: bounded ? held : 1,
    slopes: pairs,
  };
}

/**
 * Probability of each number of rising pairs among n points without a slope: inversions of a random permutation.
 * @returns index k holds P(k pairs rise), k = 0 … n(n−1)/2.
 */
export function risingPairs(n: number): Float64Array {
  let p = Float64Array.of(1);
  for (let m = 2; m <= n; m++) {
    const next = new Float64Array(p.length + m - 1);
    let s = 0;
    for (let k = 0; k < next.length; k++) {
      s += p[k] ?? 0;
      if (k >= m) s -= p[k - m]!;
      next[k] = s / m;
    }
    p = next;
  }
  return p;
}

/** Least S such that P(|S| < S) is the coverage asked: the interval between the slopes that far out. */
function exactReach(n: number, coverage: number): { reach: number; held: number } {
  const p = risingPairs(n);
  const pairs = p.length - 1;
  let below = 0;
  let outside = 0;
  // The interval between the r-th slopes from either end holds 1 − 2·P(fewer than r rise).
  while (outside <= pairs / 2 && 2 * (below + p[outside]!) <= 1 - coverage) below += p[outside++]!;
  return { reach: pairs - 2 * outside, held: 1 - 2 * below };
}

/** Normal approximation with the variance of S for equal x (Kendall 1975, from memory). */
function normalReach(x: number[], coverage: number): { reach: number; held: number } {
  const n = x.length;
  const part = (t: number) => t * (t - 1) * (2 * t + 5);
  const groups = new Map<number, number>();
  for (const v of x) groups.set(v, (groups.get(v) ?? 0) + 1);
  let variance = part(n);
  for (const t of groups.values()) variance -= part(t);
  return { reach: Math.ceil(normalQuantile((1 + coverage) / 2) * Math.sqrt(variance / 18)), held: coverage };
}
