/** What the curve stage hands on. Readings in the job's unit, volumes in litres since the start of the run. */
import type { CurveShape } from "./choices";
import type { CurveState } from "./curve-limits";
import type { ReadingUnit } from "./job";
import type { OneReading } from "./one-reading";
import type { RobustLine } from "./robust-line";
import type { TwoPointLine } from "./two-points";

export interface CurvePoint {
  reading: number;
  /** As likely too high as too low. */
  volume_L: number;
  /** Standard uncertainty on the fill day: shape, pours, scale and start. */
  standard_L: number;
  /** Limits with equal tails; not even about `volume_L` where it is not known which of several things is so. */
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
  /** Standard error null: the points do not place the break; lower to upper is then where it may be. */
  breakpoints: { reading: number; standardError: number | null; lower: number; upper: number }[];
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
  /** What the run may be, on a service day, at the readings of `grid`: for joint draws. */
  serviceStates: CurveState[];
  shape: CurveShape;
  candidates: CandidateFit[];
  /** Line that no single step can pull, held against the straight candidate; null under three steps. */
  robust: RobustLine | null;
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
    /** The farthest that the service-day band reaches from the curve that is typed, its bias included. */
    serviceHalfWidth_L: number;
    /** Two-point line through the end steps: largest and RMS error against the curve, litres, each with its limits, and where. */
    twoPointError_L: number;
    twoPointLower_L: number;
    twoPointUpper_L: number;
    twoPointRms_L: number;
    twoPointRmsLower_L: number;
    twoPointRmsUpper_L: number;
    twoPointAt: number;
    /** Reading at which the tank reads empty and full on this curve: the useful range, dead zones left out. */
    emptyReading: number;
    fullReading: number;
    coverage: number;
  };
  /** The two-point line as it is drawn: its gap is `twoPointError_L` long. */
  twoPoint: TwoPointLine;
  /** One reading taken once, its own error included; the band is about a reading that is known. */
  oneReading: OneReading;
  /** The recommended (smooth) shape beside a shape or knots chosen by hand, and how far apart both are; null where it stands. */
  recommended: {
    shape: CurveShape;
    worst_L: number;
    bandHalfWidth_L: number;
    /** Largest distance between both curves, and the reading at which it lies. */
    apart_L: number;
    apartAt: number;
  } | null;
  /** The same curve with every step as written, to stand beside it; null when nothing was treated. */
  asWritten: { grid: { reading: number; volume_L: number }[]; bandHalfWidth_L: number } | null;
  /** What the bands are made of, standard uncertainties in litres at mid range. */
  budget: { part: string; standard_L: number; day: "fill" | "service"; assumed: boolean; why?: string }[];
}

/** As much of a curve as turns readings into litres: what the drive side needs, from a fill run or from the table found in the device. */
export interface VolumeByReading {
  readingUnit: ReadingUnit;
  /** Readings strictly rising, two points or more. */
  grid: { reading: number; volume_L: number; serviceVolume_L?: number }[];
}
