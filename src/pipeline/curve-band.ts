/** Band: the smooth curve with its joint covariance, on the fill day; and what a later day on the road adds. */

import { normalProbability } from "../math/distributions";
import {
  evidenceOf,
  predictSmooth,
  type SmoothFit,
  type SmoothProblem,
  settingsOf,
  weightsOf,
} from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import { supplyReading } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { coordinatesFor, type FitPoint, localSlopes, type PutIn, problemFor } from "./smooth-problem";

export interface Band {
  /** Rising. */
  readings: number[];
  mean: number[];
  covariance: number[][];
  /** Covariance of the points themselves, reading error included, litres². */
  pointCovariance: number[][];
  coordinate: Coordinate["name"];
  /** Roughly how many degrees of freedom the smooth curve took. */
  freedomUsed: number;
  factor: number;
}

const gridPoints = 81;

/** Fits the smooth curve on the coordinate that suits it best, averaging over what an end step may mean. */
export function smoothBand(
  fillRuns: FillRuns,
  points: FitPoint[],
  putIns: PutIn[],
  job: Job,
  low: number,
  high: number,
): Band {
  const slopes = localSlopes(points);
  const tried = coordinatesFor(job, fillRuns).map((coordinate) => {
    const problem = problemFor(fillRuns, points, putIns, coordinate, slopes, job.sender.kind);
    const settings = settingsOf(problem);
    return { coordinate, problem, settings, evidence: evidenceOf(settings) };
  });
  // Two points cannot tell a shape: the divider's own is taken where it is known.
  const best = points.length < 4 ? tried[0]! : tried.reduce((a, b) => (b.evidence > a.evidence ? b : a));
  const { coordinate, problem } = best;
  const readings = gridReadings(coordinate, low, high, fillRuns.sense);
  const at = readings.map((r) => coordinate.of(r));
  const fit = averageEnds(problem, at, points, fillRuns);
  const weights = weightsOf(best.settings);
  const likeliest = best.settings[weights.indexOf(Math.max(...weights))]!;
  const variances = problem.readingVariance.map((v) => v * likeliest.factor ** 2 + likeliest.scatter ** 2);
  return {
    readings,
    mean: fit.mean,
    // One reading stands for all volumes between two turns or contacts: that spread belongs in the band.
    covariance: fit.covariance.map((row, i) => row.map((c, j) => (i === j ? c + fit.scatterVariance : c))),
    pointCovariance: problem.covariance.map((row, i) => row.map((c, j) => c + (i === j ? variances[i]! : 0))),
    coordinate: coordinate.name,
    freedomUsed: freedomOf(problem, likeliest),
    factor: likeliest.factor,
  };
}

/** Trace of the smoother: 2 for the line and what the roughness took, from the whitened leverages. */
function freedomOf(problem: SmoothProblem, setting: { roughness: number; q: Float64Array[] }): number {
  const relative = setting.roughness / problem.range;
  // Effective number of bends grows with the fourth root of roughness over noise; bounded by the points less one.
  return Math.min(problem.x.length - 1, 2 + Math.max(0, Math.round(1.5 * Math.log10(1 + 40 * relative) * 2)));
}

/** Equal steps on the coordinate: fine where a litre moves the reading little. */
function gridReadings(coordinate: Coordinate, low: number, high: number, sense: 1 | -1): number[] {
  const inverse = Array.from({ length: 2001 }, (_, i) => low + ((high - low) * i) / 2000);
  const of = inverse.map((r) => coordinate.of(r));
  const wanted = Array.from({ length: gridPoints }, (_, i) => i / (gridPoints - 1));
  const readings = wanted.map((w) => {
    const target = sense > 0 ? w : 1 - w;
    let k = of.findIndex((v) => (sense > 0 ? v >= target : v <= target));
    if (k < 0) k = 2000;
    if (k === 0) return low;
    const a = of[k - 1]!;
    const b = of[k]!;
    return inverse[k - 1]! + ((target - a) / (b - a)) * (inverse[k]! - inverse[k - 1]!);
  });
  readings[0] = low;
  readings[gridPoints - 1] = high;
  return readings;
}

/**
 * An end step may stand on the curve or be hidden by the stop. Both fits are made; the step's own place under the fit
 * without it says how likely each is, and they are averaged.
 */
function averageEnds(problem: SmoothProblem, at: number[], points: FitPoint[], fillRuns: FillRuns): SmoothFit {
  const whole = predictSmooth(problem, at);
  let fits: { w: number; fit: SmoothFit }[] = [{ w: 1, fit: whole }];
  for (const { w, without } of hiddenEnds(problem, points, fillRuns)) {
    if (w < 0.02) continue;
    fits = [...fits.map((f) => ({ ...f, w: f.w * (1 - w) })), { w, fit: predictSmooth(without, at) }];
  }
  if (fits.length === 1) return whole;
  const mean = at.map((_, i) => fits.reduce((s, f) => s + f.w * f.fit.mean[i]!, 0));
  const covariance = at.map((_, i) =>
    at.map((__, j) =>
      fits.reduce(
        (s, f) => s + f.w * (f.fit.covariance[i]![j]! + (f.fit.mean[i]! - mean[i]!) * (f.fit.mean[j]! - mean[j]!)),
        0,
      ),
    ),
  );
  return { ...whole, mean, covariance };
}

/** For each end without a seen dead zone: the chance that its step is hidden by the stop, and the problem without it. */
export function hiddenEnds(
  problem: SmoothProblem,
  points: FitPoint[],
  fillRuns: FillRuns,
): { index: number; w: number; without: SmoothProblem }[] {
  const n = problem.x.length;
  if (n < 6 || fillRuns.fixedSteps) return [];
  return (["empty", "full"] as const).flatMap((end) => {
    if (fillRuns.deadZones.some((d) => d.end === end)) return [];
    const index = problem.y.indexOf(end === "empty" ? Math.min(...problem.y) : Math.max(...problem.y));
    const neighbour =
      end === "empty" ? [...problem.y].sort((a, b) => a - b)[1]! : [...problem.y].sort((a, b) => b - a)[1]!;
    const y = problem.y[index]!;
    const hidden = Math.abs(neighbour - y);
    if (!(hidden > 0)) return [];
    const without = drop(problem, index);
    const fit = predictSmooth(without, [problem.x[index]!]);
    const m = fit.mean[0]!;
    const s = Math.sqrt(
      fit.covariance[0]![0]! +
        problem.covariance[index]![index]! +
        problem.readingVariance[index]! +
        fit.scatterVariance,
    );
    const on = Math.exp(-0.5 * ((y - m) / s) ** 2) / (s * Math.sqrt(2 * Math.PI));
    // Hidden: the curve at the stop reading lies above an empty step, below a full one, by up to one pour.
    const beyond = end === "empty" ? m - y : y - m;
    const under = (normalProbability((hidden - beyond) / s) - normalProbability(-beyond / s)) / hidden;
    const prior = points[index]!.step.atStop ? 0.9 : 0.35;
    return [{ index, w: (prior * under) / (prior * under + (1 - prior) * on + 1e-300), without }];
  });
}

function drop(problem: SmoothProblem, index: number): SmoothProblem {
  const keep = <T>(list: T[]) => list.filter((_, i) => i !== index);
  return {
    x: keep(problem.x),
    y: keep(problem.y),
    covariance: keep(problem.covariance).map(keep),
    readingVariance: keep(problem.readingVariance),
    extra: problem.extra.map(keep),
    range: problem.range,
    scatter: problem.scatter,
  };
}

/**
 * What a service day adds: hysteresis (falling level), repeatability, drift, supply, ground, temperature. From a rising run
 * alone these are priors (named defaults, no source), shown in the budget; a drain run replaces the hysteresis prior.
 */
export function servicePart(job: Job, fillRuns: FillRuns, readings: number[], volumes: number[]) {
  const total = fillRuns.total_L;
  const n = readings.length;
  const slope = readings.map((_, i) => {
    const a = Math.max(0, i - 1);
    const b = Math.min(n - 1, i + 1);
    return Math.abs((volumes[b]! - volumes[a]!) / (readings[b]! - readings[a]! || 1));
  });
  const flat = (share: number) => volumes.map(() => share * total);
  const sender = job.sender.kind;
  const measured = fillRuns.hysteresis_L;
  const loop = sender === "capacitive" ? 0.001 : sender === "reed-ladder" ? 0.004 : 0.006;
  const bias = volumes.map(() => (measured ? -measured.mean_L : -loop * total));
  const supply = supplyReading(job, fillRuns);
  const supplyError = job.circuit.ratiometric || job.circuit.kind === "none" ? 0 : 0.004;
  const parts = [
    {
      part: "loop between rising and falling level",
      standard: measured ? volumes.map(() => measured.standard_L) : flat(loop * 0.8),
      assumed: !measured,
    },
    { part: "spread from one day to the next", standard: flat(0.004), assumed: true },
    { part: "drift over a season", standard: volumes.map((v) => 0.004 * total + 0.003 * v), assumed: true },
    {
      part: "supply of the sender",
      standard: readings.map((r, i) => supplyError * Math.abs(r) * slope[i]!),
      assumed: true,
    },
    {
      part: "ground of the sender",
      standard: slope.map((s) =>
        fillRuns.readingUnit === "V"
          ? 0.004 * s
          : supply !== null && fillRuns.readingUnit === "count"
            ? 0.001 * supply * s
            : 0,
      ),
      assumed: true,
    },
    {
      part: "temperature of the fuel, 10 K",
      standard: volumes.map((v) => (0.001 * 10 * v) / Math.sqrt(3) / 2),
      assumed: true,
    },
  ];
  const covariance = volumes.map((_, i) =>
    volumes.map((__, j) => parts.reduce((s, p) => s + p.standard[i]! * p.standard[j]!, 0)),
  );
  return { bias, covariance, parts };
}
