/** From steps to the smooth model: which points count, with what covariance, on which coordinate. */
import type { SmoothProblem } from "../math/smoothing";
import { type Coordinate, coordinates } from "./coordinate";
import { type FillRuns, pourCovariance, type Step } from "./fill-run";
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

/** Known covariance of the points' volumes, litres². Runs are independent of each other (the shared scale is added to the band). */
export function pointCovariance(fillRuns: FillRuns, points: FitPoint[], putIns: PutIn[]): number[][] {
  const byRun = new Map(fillRuns.runs.map((run, i) => [i, { run, cov: pourCovariance(run) }] as const));
  const height = fillRuns.fixedSteps?.height_L ?? 0;
  return points.map((a, i) =>
    points.map((b, j) => {
      if (a.run !== b.run) return 0;
      const { run, cov } = byRun.get(a.run)!;
      let c = cov[run.steps.indexOf(a.step)]?.[run.steps.indexOf(b.step)] ?? 0;
      for (const p of putIns)
        if (p.run === a.run && a.step.index >= p.step && b.step.index >= p.step) c += p.standard_L ** 2;
      // A step of a ladder says only between which levels the float stands: uniform over one height.
      if (i === j) c += height ** 2 / 12;
      return c;
    }),
  );
}

/** Litres per unit of reading near each point, from neighbours two apart, never steeper than makes sense for one rise. */
export function localSlopes(points: FitPoint[]): number[] {
  const order = points.map((_, i) => i).sort((a, b) => points[a]!.step.reading - points[b]!.step.reading);
  const slope = new Array<number>(points.length).fill(0);
  order.forEach((i, k) => {
    const a = points[order[Math.max(0, k - 1)]!]!;
    const b = points[order[Math.min(order.length - 1, k + 1)]!]!;
    const dx = b.step.reading - a.step.reading;
    slope[i] = dx > 0 ? Math.abs((b.volume_L - a.volume_L) / dx) : 0;
  });
  const all = [...slope].filter((s) => s > 0).sort((a, b) => a - b);
  const middle = all[all.length >> 1] ?? 0;
  return slope.map((s) => (s > 0 ? Math.min(s, 20 * middle) : middle));
}

/** The stated reading error in litres², at least what rounding and a calm hand leave. */
export function readingVariance(points: FitPoint[], slopes: number[]): number[] {
  return points.map((p, i) => Math.max(1e-10, (p.step.standardError * slopes[i]!) ** 2));
}

export function problemFor(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  coordinate: Coordinate,
  slopes: number[],
): SmoothProblem {
  const volumes = points.map((p) => p.volume_L);
  return {
    x: points.map((p) => coordinate.of(p.step.reading)),
    y: volumes,
    covariance: pointCovariance(fillRuns, points, putIns),
    readingVariance: readingVariance(points, slopes),
    extra: [],
    range: Math.max(...volumes) - Math.min(...volumes) || 1,
  };
}

/** Coordinates over the readings of all steps. */
export function coordinatesFor(job: Job, fillRuns: FillRuns): Coordinate[] {
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  return coordinates(job, fillRuns, Math.min(...readings), Math.max(...readings));
}
