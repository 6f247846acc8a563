/**
 * Fill run: which stretches are steps, and how steady is each?
 *
 * Takes recordings of fill and drain runs, returns one row per poured step with the uncertainty of volume and reading.
 */
import type { Answer } from "../answer";
import type { Job, ReadingUnit } from "./job";
import type { Recording } from "./recording";

/** A step is a volume that was reached and the reading that stood there. Readings keep the unit of `FillRuns.readingUnit`. */
export interface Step {
  /** Counts from 0: step 0 is the start (0 L). */
  index: number;
  /** Litres added since the start, as written on the sheet. */
  volume_L: number;
  /** Litres of this pour alone; 0 for step 0. */
  added_L: number;
  reading: number;
  /** Standard uncertainty of the reading: scatter, rounding, settling. Volts, ohms or counts. */
  standardError: number;
  /** Effective number of independent samples; null for a typed reading. */
  effectiveSamples: number | null;
  samples: number | null;
  /** Seconds dropped before the plateau counted, and the plateau's bounds; null for a typed reading. */
  dropped_s: number | null;
  from_s: number | null;
  to_s: number | null;
  /** Line in the file, as an editor counts it. */
  line: number;
  /** The reading stands on a stop or in a dead zone: the volume is only bounded there. */
  atStop: "empty" | "full" | null;
}

export interface FillRun {
  file: string;
  kind: "typed" | "recording";
  direction: "fill" | "drain";
  steps: Step[];
  /** Standard uncertainty of one pour, litres (independent from pour to pour). */
  pourStandard_L: number;
  /** True if each volume is a reading of a running total (independent errors) and not a sum of pours. */
  runningTotal: boolean;
  /** Plateaus and raw trace for the plot of a recording, thinned to at most 4,000 points. */
  trace: { time_s: number[]; reading: number[] } | null;
}

/** A sender that shows few discrete levels (reed ladder, wire-wound). */
export interface FixedSteps {
  /** Readings of the levels, rising. */
  levels: number[];
  /** Litres between two levels, typical. */
  height_L: number;
  /** Volume interval in which each level was seen: lowest and highest step volume, and the bounds from the neighbours. */
  intervals: { reading: number; from_L: number; to_L: number }[];
}

export interface DeadZone {
  end: "empty" | "full";
  reading: number;
  /** Litres over which the reading did not move, and the upper 95 % limit of the slope there (reading unit per litre). */
  hidden_L: number;
  edge_L: number;
  edgeStandard_L: number;
  slopeUpper: number;
  steps: number[];
}

export interface FillRuns {
  readingUnit: ReadingUnit;
  /** +1 if the reading rises with volume, −1 if it falls. */
  sense: 1 | -1;
  runs: FillRun[];
  /** Smallest step that the readings show (converter or written digits). */
  readingStep: number;
  /** Pooled standard deviation of a reading at rest between steps, if runs repeat. */
  repeatability: number | null;
  /** Rising minus falling at equal volume, litres, with standard uncertainty; null without a drain run. */
  hysteresis_L: { mean_L: number; standard_L: number } | null;
  /** Relative standard uncertainty of the container's marks (limit/√3). */
  scaleStandard: number;
  /** Standard uncertainty of what was in the tank at step 0, litres. */
  startStandard_L: number;
  fixedSteps: FixedSteps | null;
  deadZones: DeadZone[];
  /** Sum of pours against the stated capacity, for evidence. */
  total_L: number;
  capacity_L: number | null;
}

/**
 * Finds the steps of each run.
 * @returns stuck `fill-run/…` for: no fill run, one step, a reading that never moves, volumes that go down in a fill;
 *   cautions for stuck rails, equal readings, hung stretches.
 */
export function findSteps(_recordings: Recording[], _job: Job): Answer<FillRuns> {
  throw new Error("not written yet");
}

/**
 * Covariance of the written volumes of one run, litres², without scale and start (added to the band afterwards):
 * `Σ_{k ≤ min(i,j)} u_p²` for pours, diagonal for a running total. Methods: law of propagation, JCGM 100:2008, 5.2.
 */
export function pourCovariance(_run: FillRun): number[][] {
  throw new Error("not written yet");
}
