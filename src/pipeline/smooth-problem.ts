/** From steps to the smooth model: which points count, with what covariance, on which coordinate. */
import { defaultScatter, type Scatter, type SmoothProblem } from "../math/smoothing";
import { type Coordinate, coordinates } from "./coordinate";
import { type FillRuns, pourCovariance, type Step } from "./fill-run";
import type { Job, SenderKind } from "./job";

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
  return points.map((a) =>
    points.map((b) => {
      if (a.run !== b.run) return 0;
      const { run, cov } = byRun.get(a.run)!;
      let c = cov[run.steps.indexOf(a.step)]?.[run.steps.indexOf(b.step)] ?? 0;
      for (const p of putIns)
        if (p.run === a.run && a.step.index >= p.step && b.step.index >= p.step) c += p.standard_L ** 2;
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
  kind: SenderKind,
): SmoothProblem {
  const volumes = points.map((p) => p.volume_L);
  return {
    x: points.map((p) => coordinate.of(p.step.reading)),
    y: volumes,
    covariance: pointCovariance(fillRuns, points, putIns),
    readingVariance: readingVariance(points, slopes),
    extra: [],
    range: Math.max(...volumes) - Math.min(...volumes) || 1,
    scatter: scatterOf(kind, fillRuns.fixedSteps !== null),
  };
}

/** Coordinates over the readings of all steps. */
export function coordinatesFor(job: Job, fillRuns: FillRuns): Coordinate[] {
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  return coordinates(job, fillRuns, Math.min(...readings), Math.max(...readings));
}

/**
 * How much a sender of this kind scatters for reasons of its own, in shares of the range: turns of wire, contacts of a ladder (a step
 * of a ladder says only between which contacts the float stands: uniform over one height, h/√12). Named defaults, no source.
 */
function scatterOf(kind: SenderKind, fixedSteps: boolean): Scatter[] {
  if (kind === "reed-ladder" || fixedSteps)
    return [0.004, 0.009, 0.015, 0.024, 0.036].map((relative) => ({
      relative,
      logPrior: relative < 0.005 || relative > 0.03 ? -1 : 0,
    }));
  if (kind === "capacitive")
    return [
      { relative: 0.0004, logPrior: 0 },
      { relative: 0.0015, logPrior: -0.7 },
      { relative: 0.004, logPrior: -2.5 },
    ];
  return defaultScatter;
}
