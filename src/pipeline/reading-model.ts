/**
 * The reading as a smooth function of the volume. Fuel in a tank makes a float rise by a finite amount for each litre, so on
 * this axis a narrow leg, a tunnel and a second lobe are bends, while volume against reading would jump. Errors of
 * the reading are as large at every level; errors of the pours enter through the local slope (effective variance).
 */

import { normalProbability } from "../math/distributions";
import { levelSpacing } from "../math/lattice";
import {
  evidenceOf,
  predictSmooth,
  type Scatter,
  type Setting,
  type SmoothProblem,
  settingsOf,
} from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { coordinatesFor, type FitPoint, type PutIn, pointCovariance } from "./smooth-problem";

export interface ReadingModel {
  coordinate: Coordinate;
  problem: SmoothProblem;
  settings: Setting[];
  /** Coordinate per litre near each point: scaled to the range of volumes. */
  slopes: number[];
  /** Lowest volume and range, litres: x = (volume − low_L) / range_L. */
  low_L: number;
  range_L: number;
  /** Distance of two levels on the coordinate; 0 for a smooth sender. */
  spacing: number;
  /** log evidence for the readings as they stand, so that coordinates can be compared. */
  evidence: number;
}

/** Prior of the roughness, in ranges of the coordinate over the whole of the volume: log-normal. Set by hand, no source. */
const roughnesses = Array.from({ length: 8 }, (_, i) => {
  const log10 = -0.9 + 0.27 * i;
  return { relative: 10 ** log10, logPrior: -0.5 * ((log10 - 0.1) / 0.45) ** 2 };
});

/** Standard deviation of a settled reading that nobody stated, in shares of the span that was read: named default, no source. */
const factors = [
  { factor: 0.0006, logPrior: -0.7 },
  { factor: 0.0015, logPrior: 0 },
  { factor: 0.0035, logPrior: 0 },
  { factor: 0.008, logPrior: -1 },
];

/** Turns of wire and a float that sticks, in shares of the coordinate. Named defaults, no source. */
const scatterOf = (job: Job, spacing: number): Scatter[] =>
  spacing > 0
    ? [{ relative: 0.001, logPrior: 0 }]
    : job.sender.kind === "capacitive"
      ? [
          { relative: 0.0005, logPrior: 0 },
          { relative: 0.0025, logPrior: -1 },
        ]
      : [
          { relative: 0.0008, logPrior: 0 },
          { relative: 0.003, logPrior: -0.3 },
          { relative: 0.006, logPrior: -2 },
        ];

/** Kinks that were found in the tank: place on x; their size is as free as a change of slope by the mean slope. */
export const kinkColumn = (x: number[], at: number): number[] => x.map((t) => Math.max(0, t - at));

/** Model on the coordinate that explains the readings best. */
export function readingModel(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  kinks: number[] = [],
): ReadingModel {
  const models = coordinatesFor(job, fillRuns).map((coordinate) =>
    modelOn(coordinate, fillRuns, points, putIns, job, kinks),
  );
  return models.reduce((best, m) => (m.evidence > best.evidence ? m : best));
}

function modelOn(
  coordinate: Coordinate,
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  kinks: number[],
): ReadingModel {
  const volumes = points.map((p) => p.volume_L);
  const low_L = Math.min(...volumes);
  const range_L = Math.max(...volumes) - low_L || 1;
  const x = volumes.map((v) => (v - low_L) / range_L);
  const y = points.map((p) => coordinate.of(p.step.reading));
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  const span = Math.max(...readings) - Math.min(...readings) || 1;
  const steepness = points.map((p) => Math.abs(coordinate.slope(p.step.reading)));
  const stated = points.map((p, i) => (p.step.standardError * steepness[i]!) ** 2);
  const noise = Math.sqrt([...stated].sort((a, b) => a - b)[stated.length >> 1]!);
  const spacing =
    fillRuns.fixedSteps || job.sender.kind === "reed-ladder" ? (levelSpacing(y, Math.max(noise, 0.001)) ?? 0.05) : 0;
  const slopes = slopesOf(x, y);
  const known = pointCovariance(fillRuns, points, putIns);
  const problem: SmoothProblem = {
    x,
    y,
    covariance: known.map((row, i) =>
      row.map((c, j) => (c * slopes[i]! * slopes[j]!) / range_L ** 2 + (i === j ? stated[i]! + spacing ** 2 / 12 : 0)),
    ),
    readingVariance: steepness.map((s) => (s * span) ** 2),
    extra: [],
    range: 1,
    scatter: scatterOf(job, spacing),
    roughnesses,
    factors,
    kinks: kinks.map((at) => ({ at: (at - low_L) / range_L, spread: kinkSpread })),
  };
  const settings = settingsOf(problem);
  const jacobian = steepness.reduce((s, v) => s + Math.log(v), 0);
  return {
    coordinate,
    problem,
    settings,
    slopes,
    low_L,
    range_L,
    spacing,
    evidence: evidenceOf(settings) + jacobian,
  };
}

/** Size of a kink: a change of slope, in mean slopes. Named default, no source. */
export const kinkSpread = 1;

/** Slope near each point: the middle one of the slopes to neighbours, so that one step off does not make it; never level. */
export function slopesOf(x: number[], y: number[]): number[] {
  const n = x.length;
  return x.map((_, i) => {
    const around: number[] = [];
    for (let k = Math.max(0, i - 2); k < Math.min(n - 1, i + 2); k++) {
      const dx = x[k + 1]! - x[k]!;
      if (dx > 0) around.push((y[k + 1]! - y[k]!) / dx);
    }
    around.sort((a, b) => a - b);
    const middle =
      around.length % 2 === 1
        ? around[around.length >> 1]!
        : (around[around.length / 2 - 1]! + around[around.length / 2]!) / 2;
    return Math.max(0.05, middle || 0);
  });
}

/**
 * An end step may stand on the curve or be hidden by the sender's stop, where the reading waits for the curve. The step's place under
 * the model without it says how likely each is.
 * @returns position of the step and the chance that the stop hides it.
 */
export function hiddenChances(
  model: ReadingModel,
  points: FitPoint[],
  fillRuns: FillRuns,
): { index: number; w: number; end: "empty" | "full" }[] {
  const { x, y } = model.problem;
  const n = x.length;
  if (n < 6) return [];
  return (["empty", "full"] as const).flatMap((end) => {
    if (fillRuns.deadZones.some((d) => d.end === end)) return [];
    const order = x.map((_, i) => i).sort((a, b) => (end === "empty" ? x[a]! - x[b]! : x[b]! - x[a]!));
    const index = order[0]!;
    const width = Math.abs(y[order[1]!]! - y[index]!);
    if (!(width > 0)) return [];
    const fit = predictSmooth(without(model.problem, index), [x[index]!]);
    const s = Math.sqrt(
      fit.covariance[0]![0]! +
        model.problem.covariance[index]![index]! +
        fit.factor ** 2 * model.problem.readingVariance[index]! +
        fit.scatterVariance,
    );
    const beyond = end === "empty" ? y[index]! - fit.mean[0]! : fit.mean[0]! - y[index]!;
    const on = Math.exp(-0.5 * (beyond / s) ** 2) / (s * Math.sqrt(2 * Math.PI));
    const hidden = (normalProbability(beyond / s) - normalProbability((beyond - width) / s)) / width;
    const prior = points[index]!.step.atStop ? 0.9 : 0.35;
    return [{ index, end, w: (prior * hidden) / (prior * hidden + (1 - prior) * on + 1e-300) }];
  });
}

/** The problem without one point. */
export function without(problem: SmoothProblem, index: number): SmoothProblem {
  const keep = <T>(list: T[]) => list.filter((_, i) => i !== index);
  return {
    ...problem,
    x: keep(problem.x),
    y: keep(problem.y),
    covariance: keep(problem.covariance).map(keep),
    readingVariance: keep(problem.readingVariance),
    extra: problem.extra.map(keep),
  };
}
