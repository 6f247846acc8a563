/** Loop: shown rising less shown falling at equal volume, from a fill run and the drain runs that count down from it. */
import { normalQuantile, tQuantile } from "../math/distributions";
import { unknownSpread } from "../math/unknown-spread";
import { loopCovariance } from "./pour-errors";
import { quadratic, slopesAt, thinned, type UsableRun } from "./run-steps";

export interface Loop {
  mean_L: number;
  lower_L: number;
  upper_L: number;
  /** Standard uncertainty of the mean, and the degrees of freedom of its estimated part by Welch–Satterthwaite. */
  standard_L: number;
  freedom: number;
  /** Standard deviation of one settled reading, litres, beyond what its steps state. */
  reading_L: number;
  levels: { volume_L: number; difference_L: number; standard_L: number }[];
  /** Loop at a volume: along the level where it clearly changes with it, else its mean. `standard_L` has t folded in. */
  at(volume_L: number): { difference_L: number; standard_L: number };
}

/**
 * Each level of a drain run is compared with the fill run at the same written volume, in litres by the fill run's own slope. What the pours alone
 * can make a loop look like is known (`loopCovariance`); what the readings add is found beside it from the scatter about a straight course.
 *
 * The two turning points are left out: at the full mark the level has not fallen yet, and at step 0 of the fill it has not risen.
 *
 * @param scaleStandard relative, of the container that was filled with; it counts where the drain went into another.
 * @returns null without a fill run and a drain run counted down from it, or with fewer than three levels to compare.
 * @see JCGM 100:2008, 5.2 for the shared pours, G.4.1 for the degrees of freedom.
 */
export function loopOf(runs: UsableRun[], sense: 1 | -1, scaleStandard: number): Loop | null {
  const fill = runs.find((r) => r.run.direction === "fill");
  if (!fill || fill.steps.length < 3) return null;
  const volumes = fill.steps.map((s) => s.volume_L);
  const slopes = slopesAt(
    volumes,
    fill.steps.map((s) => s.reading),
    sense,
  );
  /** Slope at a volume between the fill steps; null next to a flat place. */
  const slopeAt = (weights: number[]) =>
    weights.reduce<number | null>(
      (s, w, k) => (w === 0 ? s : s === null || slopes[k] === null ? null : s + w * slopes[k]!),
      0,
    );
  const drain = runs.filter((r) => r.run.direction === "drain" && r.run.fillPours > 0);
  const rows = drain.flatMap((d, r) =>
    thinned(d.steps).flatMap((step) => {
      const weights = fill.curve.weights(step.volume_L);
      const slope = weights ? slopeAt(weights) : null;
      if (!weights || !slope || step.index === 0 || weights.some((w, k) => w !== 0 && fill.steps[k]!.index === 0))
        return [];
      return [{ drain: r, step, weights, slope, difference: (fill.curve.at(step.volume_L)! - step.reading) / slope }];
    }),
  );
  const n = rows.length;
  if (n < 3) return null;
  const full_L = fill.run.steps[fill.run.steps.length - 1]!.volume_L;
  const drawnBy = ({ run }: UsableRun, step: { index: number }) =>
    full_L - (run.steps.find((s) => s.index === step.index)?.volume_L ?? full_L);
  const other = drain[0]!.run.otherScale;
  const apart2 = other === undefined ? 0 : other ** 2 + scaleStandard ** 2;
  const known = rows.map(() => new Array<number>(n).fill(0));
  drain.forEach((d, r) => {
    const mine = rows.flatMap((row, i) => (row.drain === r ? [i] : []));
    const c = loopCovariance(
      fill.run,
      fill.steps,
      d.run,
      mine.map((i) => rows[i]!.step),
      mine.map((i) => rows[i]!.weights),
    );
    mine.forEach((i, a) => {
      mine.forEach((j, b) => {
        known[i]![j] = c[a]![b]!;
      });
    });
  });
  // Two drain runs share the fill run that they count down from, and no draws.
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const [a, b] = [rows[i]!, rows[j]!];
      if (a.drain !== b.drain) {
        const still = { ...drain[a.drain]!.run, pourStandard_L: 0 };
        known[i]![j] = loopCovariance(fill.run, fill.steps, still, [a.step, b.step], [a.weights, b.weights])[0]![1]!;
      }
      const written = a.weights.reduce(
        (s, w, k) => s + w * b.weights[k]! * fill.steps[k]!.standardError ** 2,
        i === j ? a.step.standardError ** 2 : 0,
      );
      known[i]![j]! += written / (a.slope * b.slope);
      // Into another container the marks no longer cancel: what was drawn is off by both.
      known[i]![j]! += drawnBy(drain[a.drain]!, a.step) * drawnBy(drain[b.drain]!, b.step) * apart2;
      for (const put of fill.putIns)
        if (above(fill, put.step, a.step.volume_L) && above(fill, put.step, b.step.volume_L))
          known[i]![j]! += put.standard_L ** 2;
    }
  const shape = rows.map((a, i) =>
    rows.map((b, j) => a.weights.reduce((s, w, k) => s + w * b.weights[k]!, i === j ? 1 : 0)),
  );
  const values = rows.map((r) => r.difference);
  const centre = rows.reduce((s, r) => s + r.step.volume_L, 0) / n;
  const across = rows.map((r) => r.step.volume_L - centre);
  const bends = n >= 5 && Math.max(...across) > Math.min(...across);
  const columns = bends ? [values.map(() => 1), across] : [values.map(() => 1)];
  const spread = unknownSpread(values, columns, known, shape);
  if (!spread) return null;
  const noise = shape.map((row) => row.map((v) => v * spread.sd ** 2));
  /** Value, standard uncertainty and degrees of freedom of a weighted sum of the differences. */
  const sum = (weights: number[]) => {
    const estimated = quadratic(noise, weights);
    const variance = Math.max(0, quadratic(known, weights)) + estimated;
    const freedom = estimated > 0 ? (variance / estimated) ** 2 * spread.freedom : Number.POSITIVE_INFINITY;
    const factor = freedom < 1e6 ? tQuantile(0.975, Math.max(1, freedom)) : normalQuantile(0.975);
    return {
      value: weights.reduce((s, w, i) => s + w * values[i]!, 0),
      standard: Math.sqrt(variance),
      freedom,
      half: factor * Math.sqrt(variance),
    };
  };
  const even = values.map(() => 1 / n);
  const mean = sum(even);
  // Weights that give the slope of the loop along the level: rows of the plain least-squares solution.
  const squares = across.reduce((s, v) => s + v * v, 0);
  const along = bends ? sum(across.map((v) => v / squares)) : null;
  const turns = along !== null && Math.abs(along.value) > along.half;
  const reach = rows.map((r) => r.step.volume_L);
  const [low, high] = [Math.min(...reach), Math.max(...reach)];
  return {
    mean_L: mean.value,
    lower_L: mean.value - mean.half,
    upper_L: mean.value + mean.half,
    standard_L: mean.standard,
    freedom: mean.freedom,
    reading_L: spread.sd,
    levels: rows
      .map((r, i) => ({
        volume_L: r.step.volume_L,
        difference_L: r.difference,
        standard_L: Math.sqrt(Math.max(0, known[i]![i]! + noise[i]![i]!)),
      }))
      .sort((a, b) => a.volume_L - b.volume_L),
    at(volume_L) {
      const v = Math.min(high, Math.max(low, volume_L)) - centre;
      const here = turns ? sum(even.map((w, i) => w + (v * across[i]!) / squares)) : mean;
      return { difference_L: here.value, standard_L: here.half / normalQuantile(0.975) };
    },
  };
}

/** Whether a put-in pour lies above a level: then it is in the full mark and not in the fill step. */
const above = (fill: UsableRun, step: number, volume_L: number): boolean =>
  (fill.steps.find((s) => s.index >= step)?.volume_L ?? Number.POSITIVE_INFINITY) > volume_L;
