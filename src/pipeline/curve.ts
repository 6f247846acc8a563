/**
 * Curve: which volume does a reading mean?
 *
 * Takes the treated steps, fits every candidate by generalised least squares, chooses the explanation (knots) and
 * takes band and table from a smooth monotone curve whose roughness is estimated (integrated random walk, restricted
 * likelihood). Whatever was fitted is handed on as points on a dense grid joined by straight pieces, so that the
 * table, the ends, the plot and the report treat every shape alike.
 */
import type { Answer } from "../answer";
import type { Choices, CurveShape } from "./choices";
import type { FillRuns } from "./fill-run";
import type { Job, ReadingUnit } from "./job";
import type { SuspectSteps } from "./suspect-steps";

export interface CurvePoint {
  reading: number;
  volume_L: number;
  /** Standard uncertainty on the fill day: shape, pours, scale and start. */
  standard_L: number;
  lower_L: number;
  upper_L: number;
  /** Service day: falling level, hysteresis, drift, supply and ground added. */
  serviceVolume_L: number;
  serviceStandard_L: number;
  serviceLower_L: number;
  serviceUpper_L: number;
}

export interface CandidateFit {
  kind: "line" | "polynomial" | "divider" | "piecewise";
  /** As it would be named to the user: "three straight pieces". */
  name: string;
  parameters: Record<string, number>;
  breakpoints: { reading: number; standardError: number; lower: number; upper: number }[];
  /** Points joined by straight pieces that draw this candidate, ≤ 101. */
  points: { reading: number; volume_L: number }[];
  residuals_L: number[];
  residualSd_L: number;
  worst_L: number;
  logLikelihood: number;
  /** Fitted parameters, σ and 3 a breakpoint counted. */
  parameterCount: number;
  aicc: number;
  bic: number;
  looError_L: number;
}

export interface ResidualTest {
  name: string;
  statistic: number;
  p: number | null;
  /** Plain reading; "too few to tell" under 8 residual degrees of freedom. */
  means: string;
  source: string;
}

export interface Curve {
  readingUnit: ReadingUnit;
  sense: 1 | -1;
  /** The curve that band and table come from, readings strictly rising, volumes monotone; 41 to 201 points. */
  grid: CurvePoint[];
  /** Joint covariance of `grid` volumes, litres², row by row: fill-day part and service-day part. For joint draws. */
  covariance_L2: number[][];
  serviceCovariance_L2: number[][];
  shape: CurveShape;
  candidates: CandidateFit[];
  chosen: {
    kind: CandidateFit["kind"];
    why: string;
    knots: { reading: number; volume_L: number; standardError: number | null }[];
  };
  /** One per accepted step, in fill order. */
  points: {
    run: number;
    step: number;
    reading: number;
    volume_L: number;
    fitted_L: number;
    residual_L: number;
    whitened: number;
    standard_L: number;
  }[];
  tests: ResidualTest[];
  overall: {
    steps: number;
    freedom: number;
    residualSd_L: number;
    worst_L: number;
    /** Widest half-width of the fill-day band between the end steps, and where. */
    bandHalfWidth_L: number;
    bandAt: number;
    /** Two-point line through the end steps: largest and RMS error against the curve, litres, and where. */
    twoPointError_L: number;
    twoPointRms_L: number;
    twoPointAt: number;
    /** Reading at which the tank reads empty and full on this curve: the useful range, dead zones left out. */
    emptyReading: number;
    fullReading: number;
    coverage: number;
  };
  /** The same curve with every step as written, to stand beside it; null when nothing was treated. */
  asWritten: { grid: { reading: number; volume_L: number }[]; bandHalfWidth_L: number } | null;
  /** What the bands are made of, standard uncertainties in litres at mid range. */
  budget: { part: string; standard_L: number; day: "fill" | "service"; assumed: boolean }[];
}

/** @returns stuck `curve/too-few-steps`, `curve/flat-reading`, `curve/not-monotone`; cautions when a choice stands on few points. */
export function fitCurve(
  _suspects: SuspectSteps,
  _fillRuns: FillRuns,
  _job: Job,
  _choice: Choices["curve"],
): Answer<Curve> {
  throw new Error("not written yet");
}

/** Volume on the fill-day curve, litres; the end value is held outside. */
export function volumeAt(curve: Pick<Curve, "grid">, reading: number): number {
  return interpolate(curve.grid, reading, (p) => p.volume_L);
}

/** Straight-line interpolation on a grid of rising readings; the end value is held outside. */
export function interpolate<P extends { reading: number }>(grid: P[], reading: number, of: (p: P) => number): number {
  const first = grid[0];
  const last = grid[grid.length - 1];
  if (!first || !last) throw new Error("interpolate: the grid is empty");
  if (!(reading > first.reading)) return of(first);
  if (!(reading < last.reading)) return of(last);
  let low = 0;
  let high = grid.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (grid[middle]!.reading <= reading) low = middle;
    else high = middle;
  }
  const a = grid[low]!;
  const b = grid[high]!;
  return of(a) + ((reading - a.reading) / (b.reading - a.reading)) * (of(b) - of(a));
}
