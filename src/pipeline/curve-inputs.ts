/** What the curve is fitted to: the points that count, and what all runs may be together. */

import { groupsOf } from "../math/smoothing";
import type { FillRuns } from "./fill-run";
import { covarianceOfMeans, type FitPoint, type VolumeErrors } from "./smooth-problem";
import type { RunState } from "./suspect-states";
import type { SuspectSteps, TreatedStep } from "./suspect-steps";

/** What all runs may be together: each state of one run beside each of the others, the likeliest few. */
export function statesTogether(suspects: SuspectSteps, fillRuns: FillRuns): RunState[] {
  const fills = fillRuns.runs.some((f) => f.direction === "fill");
  const runs = suspects.runs.filter((_, r) => !(fills && fillRuns.runs[r]!.direction === "drain"));
  let together: RunState[] = [{ chance: 1, points: [], putIns: [], kinks_L: [], shelf: null, noises: null }];
  for (const run of runs)
    together = together
      .flatMap((t) =>
        run.states.map((s) => ({
          chance: t.chance * s.chance,
          points: [...t.points, ...s.points],
          putIns: [...t.putIns, ...s.putIns],
          kinks_L: [...t.kinks_L, ...s.kinks_L],
          shelf: t.shelf ?? s.shelf,
          noises: runs.length === 1 ? s.noises : null,
        })),
      )
      .sort((a, b) => b.chance - a.chance)
      .slice(0, 8);
  return together;
}

/** Steps of every run that `accept` lets through, at the volume that `volume` says; drain runs only where no fill run is there. */
export function pointsOf(
  suspects: SuspectSteps,
  fillRuns: FillRuns,
  accept: (s: TreatedStep) => boolean,
  volume: (s: TreatedStep) => number,
): FitPoint[] {
  return suspects.runs.flatMap((run, r) =>
    fillRuns.runs[r]!.direction === "drain" && fillRuns.runs.some((f) => f.direction === "fill")
      ? []
      : run.steps.flatMap((s, i) =>
          accept(s) ? [{ run: r, step: fillRuns.runs[r]!.steps[i]!, volume_L: volume(s) }] : [],
        ),
  );
}

/** More points than these are drawn together before candidates are fitted: a sheet of thousands of rows tells no finer shape. */
const mostForCandidates = 120;

/**
 * Points as the candidates take them: readings, volumes in litres and their covariance, litres²; neighbours in the reading drawn together
 * into means where there are more than 120, since the work goes with the cube of their number.
 */
export function candidatePoints(
  points: FitPoint[],
  errors: VolumeErrors,
): { reading: number[]; volume_L: number[]; covariance: number[][] } {
  const groups =
    points.length <= mostForCandidates
      ? points.map((_, i) => [i])
      : groupsOf(
          points.map((p) => p.step.reading),
          mostForCandidates,
        );
  const mean = (of: (p: FitPoint) => number) => groups.map((g) => g.reduce((s, i) => s + of(points[i]!), 0) / g.length);
  return {
    reading: mean((p) => p.step.reading),
    volume_L: mean((p) => p.volume_L),
    covariance: covarianceOfMeans(
      errors,
      points.map(() => 1),
      points.map(() => 0),
      groups,
    ),
  };
}
