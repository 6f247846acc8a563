/** Band: the smooth curve with its joint covariance, on the fill day. */

import type { NormalPart } from "../math/normal-mixture";
import { drawnTogether, settingsOf, weightsOf } from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import { type Inverse, inverseOf, overShelf, partsAt } from "./curve-inverse";
import type { CurveState } from "./curve-limits";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { readingModel } from "./reading-model";
import type { FitPoint, PutIn, VolumeErrors } from "./smooth-problem";
import { freedomOf } from "./suspect-diagnostics";
import type { RunState } from "./suspect-states";

export interface Band {
  /** Rising. */
  readings: number[];
  mean: number[];
  covariance: number[][];
  /** The states that `mean` and `covariance` average over; on the fill day, container and start left out. */
  states: CurveState[];
  /** The same at each reading alone; a second room that may or may not stand full behind a reading makes two parts of a state. */
  parts: NormalPart[][];
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

/**
 * Fits the reading as a smooth function of the volume, turns it round, and averages over what the run may be: an end step on the
 * curve or hidden by the sender's stop, bends of the tank, and faults that are possible, each by its chance.
 */
export function smoothBand(
  fillRuns: FillRuns,
  states: RunState[],
  job: FillJob,
  low: number,
  high: number,
  coordinate: Coordinate["name"] | null,
): Band {
  const first = states[0]!;
  const model = readingModel(fillRuns, first.points, first.putIns, job, first.kinks_L, coordinate);
  const few = drawnTogether(model.problem, mostPoints);
  const readings = gridReadings(model.coordinate, low, high);
  const target = readings.map((r) => model.coordinate.of(r));
  const emptiest = emptiest_L(fillRuns, job);
  const all = states
    .filter((s, k) => k === 0 || s.points.length >= 4)
    .map((s, k) => {
      const own = k === 0 ? model : readingModel(fillRuns, s.points, s.putIns, job, s.kinks_L, model.coordinate.name);
      const drawn = k === 0 ? few : drawnTogether(own.problem, mostPoints);
      const { inverse: bare, likeliest } = inverseOf(own, drawn, s.noises, target, emptiest);
      return { chance: s.chance, shelf: s.shelf, bare, curve: overShelf(s.shelf, bare), likeliest };
    });
  const total = all.reduce((s, p) => s + p.chance, 0);
  const curves = all.map((p): CurveState => ({ chance: p.chance / total, ...p.curve }));
  const { mean_L: mean, covariance_L2: covariance } = mixture(curves);
  const settings = settingsOf(few, all[0]!.likeliest);
  const weights = weightsOf(settings);
  const likeliest = settings[weights.indexOf(Math.max(...weights))]!;
  const variances = few.readingVariance.map((v) => v * likeliest.factor ** 2 + likeliest.scatter ** 2);
  const onCoordinate = few.covariance.map((row, i) => row.map((c, j) => c + (i === j ? variances[i]! : 0)));
  return {
    readings,
    mean,
    covariance,
    states: curves,
    parts: readings.map((_, i) => all.flatMap((p) => partsAt(p.chance, p.bare, p.shelf, i))),
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

/** Volume since the start of a tank without a drop in it, where the job says what was in it at the start; a drain run alone need not begin at a known mark. */
function emptiest_L(fillRuns: FillRuns, job: FillJob): number {
  const { startedFrom, startRemainder_L } = job.fill;
  const unknown = Number.NEGATIVE_INFINITY;
  if (fillRuns.runs.every((r) => r.direction === "drain")) return unknown;
  if (startRemainder_L !== null) return -startRemainder_L;
  if (startedFrom === "drained") return 0;
  const stated = !job.assumed.some((a) => a.path === "tank.unusable_L");
  return startedFrom === "pick-up-dry" && stated ? -(job.tank.unusable_L + job.tank.unusableLimit_L) : unknown;
}

/** Covariance of two points in litres², the reading's own error included, in the two numbers a point that say it. */
export function pointErrorsOn(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: FillJob,
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

function mixture(states: CurveState[]): Inverse {
  const mean_L = states[0]!.mean_L.map((_, i) => states.reduce((s, p) => s + p.chance * p.mean_L[i]!, 0));
  return {
    mean_L,
    covariance_L2: mean_L.map((mi, i) =>
      mean_L.map((mj, j) =>
        states.reduce(
          (s, p) => s + p.chance * (p.covariance_L2[i]![j]! + (p.mean_L[i]! - mi) * (p.mean_L[j]! - mj)),
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
  let k = 0;
  const readings = Array.from({ length: gridPoints }, (_, i) => {
    const target = start + ((end - start) * i) / (gridPoints - 1);
    // The first that reaches the target; those before did not reach the one before it.
    while (k < 2000 && !(end > start ? of[k]! >= target : of[k]! <= target)) k++;
    if (k === 0) return low;
    const a = of[k - 1]!;
    const b = of[k]!;
    return inverse[k - 1]! + ((target - a) / (b - a)) * (inverse[k]! - inverse[k - 1]!);
  });
  readings[0] = low;
  readings[gridPoints - 1] = high;
  return readings;
}
