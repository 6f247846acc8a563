/** Several fill runs at equal volumes: repeatability within a run, and the spread from run to run, in litres. */
import { leastSquares } from "../math/least-squares";
import { cholesky, forward, orthonormal } from "../math/triangular";
import { type UnknownSpread, unknownSpread } from "../math/unknown-spread";
import { pourCovariance } from "./pour-errors";
import { slopesAt, thinned, type UsableRun } from "./run-steps";

export interface FillsTogether {
  levels_L: number[];
  repeatability: UnknownSpread;
  betweenRuns: UnknownSpread;
}

/**
 * One-way analysis of variance with the runs as groups, after each level's mean is taken off (ISO 5725-2: s_r the rest, s_L the runs' own
 * offsets), with the stated errors of the pours beside it: they add up along a run and would pass for both. With exact pours at equal volumes it
 * is that analysis of variance to the last digit.
 *
 * @returns null with fewer than two fill runs or three common levels.
 */
export function fillsTogether(runs: UsableRun[], sense: 1 | -1): FillsTogether | null {
  const fills = runs.filter((r) => r.run.direction === "fill" && r.steps.length >= 3);
  if (fills.length < 2) return null;
  // At the levels of the coarsest run: the others are read between their steps.
  const coarsest = fills.reduce((a, b) => (b.steps.length < a.steps.length ? b : a));
  const common = ownLevels(
    thinned(coarsest.steps.map((s) => s.volume_L)).filter((v) => fills.every((f) => f.curve.at(v) !== null)),
    fills,
  );
  if (common.length < 3) return null;
  const mean = common.map((v) => fills.reduce((s, f) => s + f.curve.at(v)!, 0) / fills.length);
  const slopes = slopesAt(common, mean, sense);
  const kept = common.flatMap((v, j) =>
    slopes[j] === null ? [] : [{ volume_L: v, slope: slopes[j]!, mean: mean[j]! }],
  );
  const n = kept.length;
  const p = fills.length;
  if (n < 3) return null;
  const size = n * p;
  const zeros = () => Array.from({ length: size }, () => new Array<number>(size).fill(0));
  const values: number[] = [];
  const known = zeros();
  const shape = zeros();
  fills.forEach((fill, r) => {
    const cov = pourCovariance(fill.run);
    const place = (k: number) => fill.run.steps.findIndex((s) => s.index === fill.steps[k]!.index);
    const places = fill.steps.map((_, k) => place(k));
    const weights = kept.map((l) => fill.curve.weights(l.volume_L)!);
    kept.forEach((l, j) => {
      values.push((fill.curve.at(l.volume_L)! - l.mean) / l.slope);
      kept.forEach((__, m) => {
        let c = 0;
        let b = 0;
        weights[j]!.forEach((w, k) => {
          if (w === 0) return;
          b += w * weights[m]![k]!;
          weights[m]!.forEach((x, i) => {
            if (x !== 0) c += w * x * cov[places[k]!]![places[i]!]!;
          });
        });
        for (const put of fill.putIns)
          if (l.volume_L >= stepVolume(fill, put.step) && kept[m]!.volume_L >= stepVolume(fill, put.step))
            c += put.standard_L ** 2;
        known[r * n + j]![r * n + m] = c;
        shape[r * n + j]![r * n + m] = b;
      });
    });
  });
  const level = Array.from({ length: n }, (_, j) => values.map((__, i) => (i % n === j ? 1 : 0)));
  const offset = Array.from({ length: p - 1 }, (_, r) => values.map((__, i) => (Math.floor(i / n) === r + 1 ? 1 : 0)));
  const repeatability = unknownSpread(values, [...level, ...offset], known, shape);
  if (!repeatability) return null;
  // Offsets of the runs from the first, by least squares under what is now known of their errors.
  const s2 = Math.max(repeatability.sd ** 2, 1e-12 * Math.max(...values.map((v) => v * v), 1e-12));
  const l = cholesky(known.map((row, i) => row.map((v, j) => v + s2 * shape[i]![j]!)));
  if (!l) return null;
  const whiten = (v: number[]) => Array.from(forward(l, v));
  const fit = leastSquares(
    [...level, ...offset].map(whiten),
    whiten(values),
    values.map(() => 1),
  );
  const own = fit.coefficients.slice(n);
  const ofOwn = fit.covariance.slice(n).map((row) => row.slice(n));
  const apart = own.map((_, i) => own.map((__, j) => (i === j ? 2 : 1)));
  const betweenRuns = unknownSpread(own, [], ofOwn, apart);
  return betweenRuns ? { levels_L: kept.map((k) => k.volume_L), repeatability, betweenRuns } : null;
}

/** Levels that are told by steps of their own in every run: two levels between the same two steps tell the third. */
function ownLevels(levels: number[], fills: UsableRun[]): number[] {
  const told: Float64Array[][] = fills.map(() => []);
  return levels.filter((v) => {
    const next = fills.map((f, r) => orthonormal([...told[r]!, Float64Array.from(f.curve.weights(v)!)]).q);
    if (next.some((q, r) => q.length === told[r]!.length)) return false;
    next.forEach((q, r) => {
      told[r] = q;
    });
    return true;
  });
}

const stepVolume = (fill: UsableRun, step: number): number =>
  fill.steps.find((s) => s.index >= step)?.volume_L ?? Number.POSITIVE_INFINITY;
