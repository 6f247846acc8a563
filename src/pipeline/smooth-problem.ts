/** From steps to the models: which points count, with what covariance, on which coordinate. */
import { type Coordinate, coordinates } from "./coordinate";
import type { FillRuns, Step } from "./fill-run";
import type { FillJob } from "./job";
import { pourVariance } from "./pour-errors";

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
 * Covariance of weighted means of groups of points: `weights[i]` on point i, `alone[i]` added to what it has of its own. Two groups of one
 * run that do not reach into each other need no pairs: the earlier one's shared error is in all of the later one.
 */
export function covarianceOfMeans(
  errors: VolumeErrors,
  weights: ArrayLike<number>,
  alone: ArrayLike<number>,
  groups: number[][],
): number[][] {
  const covariance = groups.map(() => new Array<number>(groups.length).fill(0));
  const parts = groups.map((g) => {
    const run = errors.run[g[0]!]!;
    const shared = g.map((i) => errors.shared_L2[i]!);
    return {
      run: g.every((i) => errors.run[i] === run) ? run : null,
      least: Math.min(...shared),
      most: Math.max(...shared),
      weight: g.reduce((s, i) => s + weights[i]!, 0),
      carried: g.reduce((s, i, k) => s + weights[i]! * shared[k]!, 0),
    };
  });
  groups.forEach((g, a) => {
    for (let b = 0; b <= a; b++) {
      const h = groups[b]!;
      const [p, q] = [parts[a]!, parts[b]!];
      let sum = 0;
      if (a !== b && g.length * h.length > 1 && p.run !== null && p.run === q.run && q.most <= p.least)
        sum = q.carried * p.weight;
      else if (a !== b && g.length * h.length > 1 && p.run !== null && p.run === q.run && p.most <= q.least)
        sum = p.carried * q.weight;
      else
        for (const i of g)
          for (const j of h) sum += covarianceOf(errors, i, j) * weights[i]! * weights[j]! + (i === j ? alone[i]! : 0);
      covariance[a]![b] = sum / (g.length * h.length);
      covariance[b]![a] = covariance[a]![b]!;
    }
  });
  return covariance;
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
export function coordinatesFor(job: FillJob, fillRuns: FillRuns): Coordinate[] {
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  return coordinates(job, fillRuns, Math.min(...readings), Math.max(...readings));
}
