/** Where does a series change its level? Piecewise constant segments, the best over all places (dynamic programming). */
import { exactSum } from "./exact-sum";

export interface LevelShifts {
  /** For each number of changes 0 … most: where the segments end (index of the last value of each but the last), and what is left over. */
  byCount: { ends: number[]; squares: number; bic: number }[];
  /** Number of changes with the least BIC. */
  chosen: number;
}

/**
 * @param least values in a segment.
 * @returns fewer counts than `most` where the series is too short for them.
 * @throws if the series is shorter than one segment.
 * @see Bai and Perron 2003 for the search; BIC counts a mean for each segment, a place for each change, and the variance.
 */
export function levelShifts(values: number[], most: number, least: number): LevelShifts {
  const n = values.length;
  if (n < least || least < 1) throw new Error(`levelShifts: ${n} values for segments of ${least}`);
  const first = exactSum(values) / n;
  const sums = new Float64Array(n + 1);
  const squares = new Float64Array(n + 1);
  values.forEach((v, i) => {
    sums[i + 1] = sums[i]! + (v - first);
    squares[i + 1] = squares[i]! + (v - first) ** 2;
  });
  const cost = (from: number, to: number) =>
    Math.max(0, squares[to]! - squares[from]! - (sums[to]! - sums[from]!) ** 2 / (to - from));
  // best[k][i]: least cost of values 0 … i − 1 in k + 1 segments; cut[k][i]: where the last of them begins.
  const best: Float64Array[] = [];
  const cut: Int32Array[] = [];
  const byCount: LevelShifts["byCount"] = [];
  for (let k = 0; k <= most && (k + 1) * least <= n; k++) {
    const row = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
    const from = new Int32Array(n + 1);
    for (let i = (k + 1) * least; i <= n; i++) {
      if (k === 0) row[i] = cost(0, i);
      else
        for (let j = k * least; j <= i - least; j++) {
          const c = best[k - 1]![j]! + cost(j, i);
          if (c < row[i]!) {
            row[i] = c;
            from[i] = j;
          }
        }
    }
    best.push(row);
    cut.push(from);
    const ends: number[] = [];
    for (let level = k, at = n; level > 0; level--) {
      at = cut[level]![at]!;
      ends.unshift(at - 1);
    }
    const left = row[n]!;
    const bic = n * (Math.log(2 * Math.PI) + Math.log(left / n) + 1) + Math.log(n) * (2 * k + 2);
    byCount.push({ ends, squares: left, bic });
  }
  let chosen = 0;
  byCount.forEach((c, k) => {
    if (c.bic < byCount[chosen]!.bic) chosen = k;
  });
  return { byCount, chosen };
}
