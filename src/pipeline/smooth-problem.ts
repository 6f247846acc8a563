/** From steps to the models: which points count, with what covariance, on which coordinate. */
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

/** Coordinates over the readings of all steps. */
export function coordinatesFor(job: Job, fillRuns: FillRuns): Coordinate[] {
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  return coordinates(job, fillRuns, Math.min(...readings), Math.max(...readings));
}
