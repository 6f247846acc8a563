/** Outliers in a plain sample: Grubbs and the generalised ESD test (Rosner 1983). */
import { mean, sampleStandardDeviation } from "simple-statistics";
import { tQuantile } from "./distributions";

/** Largest distance from the mean in standard deviations, and which value it is. */
export function largestDeviate(values: number[]): { statistic: number; index: number } {
  const centre = mean(values);
  const sd = sampleStandardDeviation(values);
  let index = 0;
  values.forEach((v, i) => {
    if (Math.abs(v - centre) > Math.abs(values[index]! - centre)) index = i;
  });
  return { statistic: Math.abs(values[index]! - centre) / sd, index };
}

/** Critical value of the Grubbs statistic for n values; `alpha` is shared over n (one-sided) or 2n (two-sided). */
export function grubbsLimit(n: number, alpha: number, sides: 1 | 2): number {
  const t = tQuantile(1 - alpha / (sides * n), n - 2);
  return ((n - 1) / Math.sqrt(n)) * Math.sqrt((t * t) / (n - 2 + t * t));
}

/** Generalised ESD: statistics and limits for up to `most` outliers; `count` is the largest i whose statistic passes its limit. */
export function generalisedEsd(
  values: number[],
  most: number,
  alpha: number,
): { statistics: number[]; limits: number[]; count: number; removed: number[] } {
  const rest = [...values];
  const statistics: number[] = [];
  const limits: number[] = [];
  const removed: number[] = [];
  let count = 0;
  for (let i = 1; i <= most && rest.length > 2; i++) {
    const { statistic, index } = largestDeviate(rest);
    const m = rest.length;
    statistics.push(statistic);
    limits.push(grubbsLimit(m, alpha, 2));
    if (statistic > limits[i - 1]!) count = i;
    removed.push(rest.splice(index, 1)[0]!);
  }
  return { statistics, limits, count, removed: removed.slice(0, count) };
}
