/** Band: the smooth curve with its joint covariance, on the fill day. */

import { normalProbability } from "../math/distributions";
import type { Noise } from "../math/smooth-chain";
import { predictSmooth } from "../math/smooth-predict";
import { drawnTogether, noiseGrid, risingValues, settingsOf, weightsOf } from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { type ReadingModel, readingModel } from "./reading-model";
import type { FitPoint, PutIn, VolumeErrors } from "./smooth-problem";
import { freedomOf } from "./suspect-diagnostics";
import type { RunState, Shelf } from "./suspect-states";

export interface Band {
  /** Rising. */
  readings: number[];
  mean: number[];
  covariance: number[][];
  coordinate: Coordinate["name"];
  /** Degrees of freedom that the smooth curve took: sum of the leverages. */
  freedomUsed: number;
  /** Likeliest factor on the reading error and unexplained scatter, on the coordinate. */
  factor: number;
  scatter: number;
}

const gridPoints = 81;
/** More points than these are drawn together before the curve is drawn: no tank bends that often. */
const mostPoints = 120;
/** Fine places on the volume axis, shares of the range; wide enough for what lies between an end step and its stop. */
/** The joint covariance changes slowly: it is taken at every second of them. */
const every = 2;
const fine = Array.from({ length: 92 }, (_, i) => -0.15 + (1.3 * i) / 91);

/**
 * Fits the reading as a smooth function of the volume, turns it round, and averages over what the run may be: an end step on the
 * curve or hidden by the sender's stop, bends of the tank, and faults that are possible, each by its chance.
 */
export function smoothBand(
  fillRuns: FillRuns,
  states: RunState[],
  job: Job,
  low: number,
  high: number,
  coordinate: Coordinate["name"] | null,
): Band {
  const first = states[0]!;
  const model = readingModel(fillRuns, first.points, first.putIns, job, first.kinks_L, coordinate);
  const few = drawnTogether(model.problem, mostPoints);
  const settings = settingsOf(few, first.noises ?? noiseGrid(model.problem));
  const readings = gridReadings(model.coordinate, low, high);
  const target = readings.map((r) => model.coordinate.of(r));
  const parts = states
    .filter((s, k) => k === 0 || s.points.length >= 4)
    .map((s, k) => {
      if (k === 0) return { w: s.chance, curve: overShelf(first.shelf, inverseOf(model, first.noises, target)) };
      const other = readingModel(fillRuns, s.points, s.putIns, job, s.kinks_L, model.coordinate.name);
      return { w: s.chance, curve: overShelf(s.shelf, inverseOf(other, s.noises, target)) };
    });
  const { mean, covariance } = mixture(parts);
  const weights = weightsOf(settings);
  const likeliest = settings[weights.indexOf(Math.max(...weights))]!;
  const variances = few.readingVariance.map((v) => v * likeliest.factor ** 2 + likeliest.scatter ** 2);
  const onCoordinate = few.covariance.map((row, i) => row.map((c, j) => c + (i === j ? variances[i]! : 0)));
  return {
    readings,
    mean,
    covariance,
    coordinate: model.coordinate.name,
    freedomUsed: Math.min(
      first.points.length,
      freedomOf(
        likeliest,
        onCoordinate.map((row, i) => row[i]!),
      ),
    ),
    factor: likeliest.factor,
    scatter: likeliest.scatter,
  };
}

/** Covariance of two points in litres², the reading's own error included, in the two numbers a point that say it. */
export function pointErrorsOn(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  band: Pick<Band, "coordinate" | "factor" | "scatter">,
): VolumeErrors {
  const { problem, slopes, range_L, errors, ownVariance } = readingModel(
    fillRuns,
    points,
    putIns,
    job,
    [],
    band.coordinate,
  );
  const own = (i: number) => ownVariance[i]! + problem.readingVariance[i]! * band.factor ** 2 + band.scatter ** 2;
  return { ...errors, own_L2: errors.own_L2.map((v, i) => v + own(i) / (slopes[i]! / range_L) ** 2) };
}

interface Inverse {
  mean: number[];
  covariance: number[][];
}

/** Volume at each place of the coordinate, with its covariance: the error of the reading's curve over its slope. */
function inverseOf(model: ReadingModel, noises: Noise[] | null, target: number[]): Inverse {
  const fit = predictSmooth(drawnTogether(model.problem, mostPoints), fine, noises ?? noiseGrid(model.problem), every);
  const joint = Math.ceil(fine.length / every);
  const curve = risingValues(Array.from(fit.mean));
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
    const near = Math.min(joint - 1, Math.round((k - 1 + Math.max(0, Math.min(1, share))) / every));
    return { near, at, slope };
  });
  const open = (model.spacing ** 2 / 12 + fit.scatterVariance) * model.range_L ** 2;
  return {
    mean: places.map((p) => model.low_L + model.range_L * p.at),
    covariance: places.map((p, i) =>
      places.map((q, j) => {
        const c = fit.covariance[p.near * joint + q.near]!;
        // One reading stands for all volumes between two turns or contacts: that spread belongs in the band.
        return (c * model.range_L ** 2 + (i === j ? open : 0)) / (p.slope * q.slope);
      }),
    ),
  };
}

/**
 * Puts a second room back in: a reading under the wall holds none of it, one over the wall all of it, and near the wall's height
 * it is not known which. The volume without the room is taken as normal, so that the share over the wall is Φ.
 */
function overShelf(shelf: Shelf | null, curve: Inverse): Inverse {
  if (!shelf) return curve;
  const over = curve.mean.map((m, i) =>
    normalProbability((m - shelf.from_L) / Math.hypot(Math.sqrt(curve.covariance[i]![i]!), shelf.spread_L, 1e-9)),
  );
  return {
    mean: curve.mean.map((m, i) => m + shelf.size_L * over[i]!),
    covariance: curve.covariance.map((row, i) =>
      row.map((c, j) => c + shelf.size_L ** 2 * Math.min(over[i]!, over[j]!) * (1 - Math.max(over[i]!, over[j]!))),
    ),
  };
}

function mixture(parts: { w: number; curve: Inverse }[]): Inverse {
  const total = parts.reduce((s, p) => s + p.w, 0);
  const n = parts[0]!.curve.mean.length;
  const mean = Array.from({ length: n }, (_, i) => parts.reduce((s, p) => s + (p.w / total) * p.curve.mean[i]!, 0));
  return {
    mean,
    covariance: mean.map((mi, i) =>
      mean.map((mj, j) =>
        parts.reduce(
          (s, { w, curve }) =>
            s + (w / total) * (curve.covariance[i]![j]! + (curve.mean[i]! - mi) * (curve.mean[j]! - mj)),
          0,
        ),
      ),
    ),
  };
}

/** Equal steps on the coordinate from one reading to another: fine where a litre moves the reading little. */
function gridReadings(coordinate: Coordinate, low: number, high: number): number[] {
  const inverse = Array.from({ length: 2001 }, (_, i) => low + ((high - low) * i) / 2000);
  const of = inverse.map((r) => coordinate.of(r));
  const [start, end] = [of[0]!, of[2000]!];
  const readings = Array.from({ length: gridPoints }, (_, i) => {
    const target = start + ((end - start) * i) / (gridPoints - 1);
    let k = of.findIndex((v) => (end > start ? v >= target : v <= target));
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
