/**
 * The reading as a smooth function of the volume. Fuel in a tank makes a float rise by a finite amount for each litre, so on
 * this axis a narrow leg, a tunnel and a second lobe are bends, while volume against reading would jump. Errors of
 * the reading are as large at every level; errors of the pours enter through the local slope (effective variance).
 */

import { levelSpacing } from "../math/lattice";
import { chainEvidence } from "../math/smooth-chain";
import {
  drawnTogether,
  evidenceOf,
  groupsOf,
  noiseGrid,
  type Scatter,
  type SmoothSource,
  settingsOf,
} from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { placed, runChain } from "./run-chain";
import { kinkSpreadAt, paceAlong, slopeAt, slopesOf } from "./slopes";
import {
  coordinatesFor,
  covarianceOfMeans,
  type FitPoint,
  type PutIn,
  type VolumeErrors,
  volumeErrors,
} from "./smooth-problem";

export interface ReadingModel {
  coordinate: Coordinate;
  problem: SmoothSource;
  /** Coordinate per litre near each point: scaled to the range of volumes. */
  slopes: number[];
  /** Errors of the points' volumes, and what each reading adds on its own, coordinate². */
  errors: VolumeErrors;
  ownVariance: number[];
  /** Lowest volume and range, litres: x = (volume − low_L) / range_L. */
  low_L: number;
  range_L: number;
  /** Distance of two levels on the coordinate; 0 for a smooth sender. */
  spacing: number;
  /** Coordinate per unit of the reading at each point. */
  steepness: number[];
  /** From the evidence on the coordinate to that of the readings as they stand, so that coordinates can be compared. */
  logJacobian: number;
}

/** Prior of the roughness, in ranges of the coordinate over the whole of the volume: log-normal, learnt on the true states of tuning seeds 1–200. */
const roughnesses = Array.from({ length: 8 }, (_, i) => {
  const log10 = -0.9 + 0.27 * i;
  return { relative: 10 ** log10, logPrior: -0.5 * ((log10 + 0.05) / 0.4) ** 2 };
});

/** Standard deviation of a settled reading that nobody stated, in shares of the span that was read: named default, no source. */
const factors = [
  { factor: 0.0006, logPrior: -0.7 },
  { factor: 0.0015, logPrior: 0 },
  { factor: 0.0035, logPrior: 0 },
  { factor: 0.008, logPrior: -1 },
];

/** Turns of wire and a float that sticks, in shares of the coordinate. Named defaults, no source. */
const scatterOf = (job: FillJob, spacing: number): Scatter[] =>
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

/**
 * Model on the coordinate that explains the readings best.
 * @param coordinate the one to use, where it is decided already.
 * @param share of the whole run that the points are, while it is still poured: rough and noisy are shares of the whole.
 */
export function readingModel(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: FillJob,
  kinks: number[] = [],
  coordinate: Coordinate["name"] | null = null,
  share = 1,
): ReadingModel {
  const all = coordinatesFor(job, fillRuns);
  const wanted = all.filter((c) => c.name === coordinate);
  const models = (wanted.length > 0 ? wanted : all).map((c) =>
    modelOn(partOf(c, share), fillRuns, points, putIns, job, kinks, share),
  );
  if (models.length === 1) return models[0]!;
  return models
    .map((model) => ({ model, log: evidence(model, points) }))
    .reduce((best, m) => (m.log > best.log ? m : best)).model;
}

/** The coordinate of a run of which only a share was poured so far: it ends at that share. */
const partOf = (c: Coordinate, share: number): Coordinate =>
  share === 1 ? c : { name: c.name, of: (r) => share * c.of(r), slope: (r) => share * c.slope(r) };

/** More points than these, of several runs, are drawn together before their evidence is weighed: the work goes with the cube of their number. */
const mostWeighed = 240;

/**
 * log evidence of the readings as they stand. By the chain where the points are of one run, which is many times faster; else drawn together
 * where there are more than 240: that tells coordinates apart as well.
 */
function evidence(model: ReadingModel, points: FitPoint[]): number {
  const { problem } = model;
  const chain =
    points.every((p) => p.run === points[0]!.run) && problem.kinks?.length === 0
      ? placed(runChain(model, points), [], false)
      : null;
  if (chain) return chainEvidence(chain.chain, noiseGrid(problem)) + model.logJacobian;
  const groups = points.length > mostWeighed ? groupsOf(problem.x, mostWeighed) : null;
  const logJacobian = groups
    ? groups.reduce((s, g) => s + Math.log(g.reduce((t, i) => t + model.steepness[i]!, 0) / g.length), 0)
    : model.logJacobian;
  return evidenceOf(settingsOf(drawnTogether(problem, mostWeighed))) + logJacobian;
}

/** Distance of the levels of a ladder, from the part of it that was passed. */
const levelsOn = (y: number[], noise: number, share: number): number => {
  const spacing = levelSpacing(
    y.map((v) => v / share),
    Math.max(noise / share, 0.001),
  );
  return spacing === null ? 0.05 : spacing * share;
};

function modelOn(
  coordinate: Coordinate,
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: FillJob,
  kinks: number[],
  share: number,
): ReadingModel {
  const volumes = points.map((p) => p.volume_L);
  const low_L = Math.min(...volumes);
  const range_L = (Math.max(...volumes) - low_L) / share || 1;
  const x = volumes.map((v) => (v - low_L) / range_L);
  const y = points.map((p) => coordinate.of(p.step.reading));
  const readings = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.reading));
  const span = (Math.max(...readings) - Math.min(...readings)) / share || 1;
  const steepness = points.map((p) => Math.abs(coordinate.slope(p.step.reading)));
  const stated = points.map((p, i) => (p.step.standardError * steepness[i]!) ** 2);
  const noise = Math.sqrt([...stated].sort((a, b) => a - b)[stated.length >> 1]!);
  const spacing = fillRuns.fixedSteps || job.sender.kind === "reed-ladder" ? levelsOn(y, noise, share) : 0;
  const slopes = slopesOf(x, y);
  const errors = volumeErrors(fillRuns, points, putIns);
  const own = stated.map((s) => s + spacing ** 2 / 12);
  const problem: SmoothSource = {
    x,
    y,
    covarianceOfMeans: (groups) =>
      covarianceOfMeans(
        errors,
        slopes.map((s) => s / range_L),
        own,
        groups,
      ),
    readingVariance: steepness.map((s) => (s * span) ** 2),
    range: 1,
    scatter: scatterOf(job, spacing),
    roughnesses,
    factors,
    pace: paceAlong(x, slopes),
    kinks: kinks.map((at_L) => {
      const at = (at_L - low_L) / range_L;
      return { at, spread: kinkSpreadAt(slopeAt(x, slopes, at)) };
    }),
  };
  return {
    coordinate,
    problem,
    slopes,
    errors,
    ownVariance: own,
    low_L,
    range_L,
    spacing,
    steepness,
    logJacobian: steepness.reduce((s, v) => s + Math.log(v), 0),
  };
}
