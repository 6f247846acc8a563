/** From steps to the models: which points count, with what covariance, on which coordinate. */
import { type Coordinate, coordinates } from "./coordinate";
import { type FillRuns, pourVariance, type Step } from "./fill-run";
import type { Job } from "./job";

/** A point of the fit: a step of a run with the volume it is fitted to. */
export interface FitPoint {
  run: number;
  step: Step;
  volume_L: number;
}

/** A pour that was put in: its amount is not known exactly, which all later volumes share. */
export interface PutIn {
  run: number;
  step: number;
  amount_L: number;
  standard_L: number;
}

/**
 * What is known of the errors of the points' volumes, litres²: two points of one run share what the earlier one of them had summed. So two
 * numbers a point say all of it, and the matrix of a sheet of thousands of rows need not be written out.
 */
export interface VolumeErrors {
  run: number[];
  /** Variance that a point shares with every later one of its run, and its own whole variance. */
  shared_L2: number[];
  own_L2: number[];
}

/** Runs are independent of each other (the shared scale is added to the band). */
export function volumeErrors(fillRuns: FillRuns, points: FitPoint[], putIns: PutIn[]): VolumeErrors {
  const known = fillRuns.runs.map((run) => new Map(run.steps.map((step) => [step, pourVariance(run, step)])));
  const parts = points.map(({ run, step }) => {
    let { shared, own } = known[run]!.get(step) ?? { shared: 0, own: 0 };
    for (const p of putIns)
      if (p.run === run && step.index >= p.step) {
        shared += p.standard_L ** 2;
        own += p.standard_L ** 2;
      }
    return { shared, own };
  });
  return { run: points.map((p) => p.run), shared_L2: parts.map((p) => p.shared), own_L2: parts.map((p) => p.own) };
}

/** Covariance of the volumes of two points, litres². */
export function covarianceOf(errors: VolumeErrors, i: number, j: number): number {
  if (i === j) return errors.own_L2[i]!;
  return errors.run[i] === errors.run[j] ? Math.min(errors.shared_L2[i]!, errors.shared_L2[j]!) : 0;
}

/**
 * Residuals with their known correlation taken out: independent and of unit variance, in the order of the points. What the summed errors
 * make of each is foreseen from the points of its run before it; the same as forward substitution in the Cholesky factor, in one pass.
 * @throws Error where a point has no error of its own.
 */
export function whitenedBy(errors: VolumeErrors, residuals: number[]): number[] {
  const before = new Map<number, { shared: number; mean: number; variance: number }>();
  return residuals.map((r, i) => {
    const run = errors.run[i]!;
    const shared = errors.shared_L2[i]!;
    const last = before.get(run) ?? { shared: 0, mean: 0, variance: 0 };
    const variance = last.variance + shared - last.shared;
    const total = variance + errors.own_L2[i]! - shared;
    if (!(total > 0)) throw new Error("whitenedBy: a point has no error");
    const off = r - last.mean;
    const gain = variance / total;
    before.set(run, { shared, mean: last.mean + gain * off, variance: variance - gain * variance });
    return off / Math.sqrt(total);
  });
}

/** Coordinates over the readings of all steps. */
export function coordinatesFor(job: Job, fillRuns: FillRuns): Coordinate[] {
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  return coordinates(job, fillRuns, Math.min(...readings), Math.max(...readings));
}
