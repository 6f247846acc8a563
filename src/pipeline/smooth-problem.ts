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
  const covarianceOf = fillRuns.runs.map((run) => pourCovariance(run));
  const places = fillRuns.runs.map((run) => new Map(run.steps.map((step, k) => [step, k])));
  const place = points.map((p) => places[p.run]!.get(p.step) ?? -1);
  return points.map((a, i) =>
    points.map((b, j) => {
      if (a.run !== b.run) return 0;
      let c = covarianceOf[a.run]![place[i]!]?.[place[j]!] ?? 0;
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
