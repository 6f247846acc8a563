/** Band: the smooth curve with its joint covariance, on the fill day. */

import { predictSmooth, risingValues, type SmoothFit, type SmoothProblem, weightsOf } from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { hiddenChances, type ReadingModel, readingModel, without } from "./reading-model";
import type { FitPoint, PutIn } from "./smooth-problem";
import { diagnose } from "./suspect-models";

export interface Band {
  /** Rising. */
  readings: number[];
  mean: number[];
  covariance: number[][];
  /** Covariance of the points themselves, reading error included, litres². */
  pointCovariance: number[][];
  coordinate: Coordinate["name"];
  /** Degrees of freedom that the smooth curve took: sum of the leverages. */
  freedomUsed: number;
  factor: number;
}

/** What may be wrong without being likely enough to be treated. */
export interface Doubt {
  run: number;
  step: number;
  what: "reading" | "pour";
  /** Written minus true, litres. */
  amount_L: number;
  standard_L: number;
  chance: number;
}

const gridPoints = 81;
/** Fine places on the volume axis, shares of the range; wide enough for what lies between an end step and its stop. */
const fine = Array.from({ length: 92 }, (_, i) => -0.15 + (1.3 * i) / 91);

/**
 * Fits the reading as a smooth function of the volume, turns it round, and averages over what an end step may mean and over
 * faults that are possible but not likely enough to be treated.
 */
export function smoothBand(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  low: number,
  high: number,
  kinks_L: number[] = [],
  doubts: Doubt[] = [],
): Band {
  const model = readingModel(fillRuns, points, putIns, job, kinks_L);
  const readings = gridReadings(model.coordinate, low, high, fillRuns.sense);
  const target = readings.map((r) => model.coordinate.of(r));
  let parts: { w: number; curve: Inverse }[] = [{ w: 1, curve: inverseOf(model, model.problem, target) }];
  for (const { w, index } of hiddenChances(model, points, fillRuns)) {
    if (w < 0.02) continue;
    parts = [
      ...parts.map((p) => ({ ...p, w: p.w * (1 - w) })),
      { w, curve: inverseOf(model, without(model.problem, index), target) },
    ];
  }
  for (const doubt of doubts) {
    const other = doubted(doubt, fillRuns, points, putIns, job, kinks_L);
    if (other === null) continue;
    const { chance } = doubt;
    parts = [
      ...parts.map((p) => ({ ...p, w: p.w * (1 - chance) })),
      {
        w: chance,
        curve: inverseOf(
          other,
          other.problem,
          readings.map((r) => other.coordinate.of(r)),
        ),
      },
    ];
  }
  const { mean, covariance } = mixture(parts);
  const weights = weightsOf(model.settings);
  const likeliest = model.settings[weights.indexOf(Math.max(...weights))]!;
  const variances = model.problem.readingVariance.map((v) => v * likeliest.factor ** 2 + likeliest.scatter ** 2);
  const perLitre = model.slopes.map((s) => s / model.range_L);
  const onCoordinate = model.problem.covariance.map((row, i) => row.map((c, j) => c + (i === j ? variances[i]! : 0)));
  return {
    readings,
    mean,
    covariance,
    pointCovariance: onCoordinate.map((row, i) => row.map((c, j) => c / (perLitre[i]! * perLitre[j]!))),
    coordinate: model.coordinate.name,
    freedomUsed: Math.min(
      points.length,
      diagnose(
        likeliest,
        onCoordinate.map((row, i) => row[i]!),
      ).reduce((s, d) => s + d.leverage, 0),
    ),
    factor: likeliest.factor,
  };
}

/** Model in which the doubted fault is there; null if too few points are left. */
function doubted(
  doubt: Doubt,
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  kinks_L: number[],
): ReadingModel | null {
  if (doubt.what === "reading") {
    const rest = points.filter((p) => p.run !== doubt.run || p.step.index !== doubt.step);
    return rest.length >= 4 ? readingModel(fillRuns, rest, putIns, job, kinks_L) : null;
  }
  const moved = points.map((p) =>
    p.run === doubt.run && p.step.index >= doubt.step ? { ...p, volume_L: p.volume_L - doubt.amount_L } : p,
  );
  return readingModel(
    fillRuns,
    moved,
    [...putIns, { run: doubt.run, step: doubt.step, amount_L: -doubt.amount_L, standard_L: doubt.standard_L }],
    job,
    kinks_L,
  );
}

interface Inverse {
  mean: number[];
  covariance: number[][];
}

/** Volume at each place of the coordinate, with its covariance: the error of the reading's curve over its slope. */
function inverseOf(model: ReadingModel, problem: SmoothProblem, target: number[]): Inverse {
  const fit: SmoothFit = predictSmooth(problem, fine, problem === model.problem ? model.settings : undefined);
  const curve = risingValues(fit.mean);
  const step = fine[1]! - fine[0]!;
  const places = target.map((t) => {
    let k = curve.findIndex((c) => c >= t);
    if (k < 0) k = curve.length - 1;
    if (k === 0) k = 1;
    const a = curve[k - 1]!;
    const b = curve[k]!;
    // Past the end of the fine places: along the last slope.
    const share = b > a ? (t - a) / (b - a) : 0.5;
    const at = fine[k - 1]! + Math.max(-2, Math.min(3, share)) * step;
    const from = Math.max(0, k - 3);
    const to = Math.min(curve.length - 1, k + 2);
    const slope = Math.max(0.08, (curve[to]! - curve[from]!) / (fine[to]! - fine[from]!));
    return { k, share: Math.max(0, Math.min(1, share)), at, slope };
  });
  const open = (model.spacing ** 2 / 12 + fit.scatterVariance) * model.range_L ** 2;
  return {
    mean: places.map((p) => model.low_L + model.range_L * p.at),
    covariance: places.map((p, i) =>
      places.map((q, j) => {
        const a = fit.covariance[p.share > 0.5 ? p.k : p.k - 1]!;
        const c = a[q.share > 0.5 ? q.k : q.k - 1]!;
        // One reading stands for all volumes between two turns or contacts: that spread belongs in the band.
        return (c * model.range_L ** 2 + (i === j ? open : 0)) / (p.slope * q.slope);
      }),
    ),
  };
}

function mixture(parts: { w: number; curve: Inverse }[]): Inverse {
  if (parts.length === 1) return parts[0]!.curve;
  const n = parts[0]!.curve.mean.length;
  const mean = Array.from({ length: n }, (_, i) => parts.reduce((s, p) => s + p.w * p.curve.mean[i]!, 0));
  return {
    mean,
    covariance: mean.map((mi, i) =>
      mean.map((mj, j) =>
        parts.reduce(
          (s, { w, curve }) => s + w * (curve.covariance[i]![j]! + (curve.mean[i]! - mi) * (curve.mean[j]! - mj)),
          0,
        ),
      ),
    ),
  };
}

/** Equal steps on the coordinate: fine where a litre moves the reading little. */
function gridReadings(coordinate: Coordinate, low: number, high: number, sense: 1 | -1): number[] {
  const inverse = Array.from({ length: 2001 }, (_, i) => low + ((high - low) * i) / 2000);
  const of = inverse.map((r) => coordinate.of(r));
  const wanted = Array.from({ length: gridPoints }, (_, i) => i / (gridPoints - 1));
  const readings = wanted.map((w) => {
    const target = sense > 0 ? w : 1 - w;
    let k = of.findIndex((v) => (sense > 0 ? v >= target : v <= target));
    if (k < 0) k = 2000;
    if (k === 0) return low;
    const a = of[k - 1]!;
    const b = of[k]!;
    return inverse[k - 1]! + ((target - a) / (b - a)) * (inverse[k]! - inverse[k - 1]!);
  });
  readings[0] = low;
  readings[gridPoints - 1] = high;
  return readings;
}
