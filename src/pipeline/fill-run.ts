/**
 * Fill run: which stretches are steps, and how steady is each?
 *
 * Takes recordings of fill and drain runs, returns one row per poured step with the uncertainty of volume and reading.
 */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { say } from "../said";
import { capacityDoubts } from "./capacity-doubts";
import { deviceHeldBack, type HeldBack } from "./device-smooths";
import { placeDrains } from "./drain-runs";
import { readingsOf } from "./fill-readings";
import { goesOpposite, staysLevel, tooFewSteps, volumesRefused } from "./fill-refusals";
import type { FillJob, ReadingUnit } from "./job";
import { litresOf, litresTo } from "./litres";
import { notVolts, oddReadings } from "./odd-readings";
import { recordedSteps } from "./recorded-steps";
import type { Recording } from "./recording";
import { senseOf } from "./run-sense";
import { hysteresisOf, spreadOfRuns } from "./run-spread";
import { findDeadZones, findFixedSteps } from "./sender-marks";
import { amountWord, drainsAlone } from "./sheet-words";
import { typedSteps } from "./typed-steps";
import { bringFill, byJob, drainEnd, mendedBy } from "./ways";

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
  /** Pours of the fill run that a drain run counts down from; 0 for a fill run, and for a drain run that stands alone. */
  fillPours: number;
  /** Drain run into another container than the one filled with: relative standard uncertainty of its marks. */
  otherScale?: number;
  /** True if each volume is a reading of a running total (independent errors) and not a sum of pours. */
  runningTotal: boolean;
  /** Plateaus and raw trace for the plot of a recording, thinned to at most 4,000 points. */
  trace: { time_s: number[]; reading: number[] } | null;
}

/** A sender that shows few discrete levels (reed ladder, wire-wound). */
export interface FixedSteps {
  /** Readings of the levels, rising. */
  levels: number[];
  /** Litres between two levels, typical; at most so many where `resolved` is false. */
  height_L: number;
  /** True where pours were fine enough to read levels twice; else each pour skipped levels, and more lie between those that were seen. */
  resolved: boolean;
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
  /** True where the readings are percent, of whatever the device takes as its whole: their counts are none of the converter's. */
  inPercent?: true;
  /** True where that is the converter's step, coarser than the digits that were written. */
  stepOfConverter?: true;
  /** Pooled standard deviation of a reading at rest between steps, if runs repeat. */
  repeatability: number | null;
  /** Standard deviation of a run's own offset from the others, reading unit; null with one run. */
  betweenRuns: number | null;
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
  /** Readings through a device that smooths: what it held back after the stated wait; null where none is stated. */
  deviceHeldBack: HeldBack | null;
  /** Where the readings were brought to the stated supply by a logged one: what that log's own step leaves of its error, relative, standard. */
  supplyResidue?: number;
}

/**
 * Finds the steps of each run.
 *
 * @returns stuck `fill-run/…` for: no fill run, no volume or reading column, one step, a reading that never moves, volumes
 *   that go down in a fill; cautions for repeated readings, assumed pour sizes, and volumes whose unit was assumed.
 */
export function findSteps(recordings: Recording[], job: FillJob): Answer<FillRuns> {
  if (recordings.length === 0)
    return stuck({
      code: "fill-run/none",
      says: "There is no fill run yet.",
      ...mendedBy(bringFill, (way) => way),
    });
  const cautions: Issue[] = [];
  const runs: FillRun[] = [];
  let readingUnit: ReadingUnit | null = job.readingUnit;
  let readingStep = 0;
  let written = 0;
  let inPercent = false;
  for (const recording of recordings) {
    const readings = readingsOf(recording, job, readingUnit, cautions);
    if (readings.state !== "ready") return readings;
    readingUnit = readings.value.unit;
    inPercent ||= readings.value.column.unit === "percent";
    const time = recording.columns.find((c) => c.role === "time");
    const isRecording = time !== undefined && recording.rows > 60;
    const found = isRecording ? recordedSteps(recording, job, cautions) : typedSteps(recording, job, cautions);
    if (found.state !== "ready") return found;
    const run = found.value;
    readingStep = Math.max(readingStep, run.readingStep);
    written = Math.max(written, readings.value.column.writtenStep);
    runs.push(run.run);
  }
  const first = runs.find((r) => r.direction === "fill") ?? runs[0]!;
  placeDrains(runs, first, job, cautions);
  const refused =
    tooFewSteps(first, recordings) ??
    runs.map(volumesRefused).find((issue) => issue !== null) ??
    runs.map((run) => notVolts(run, job, readingUnit)).find((issue) => issue !== null) ??
    staysLevel(first, job, readingUnit, readingStep) ??
    goesOpposite(runs, first);
  if (refused) return stuck(refused);
  const sense = senseOf(first.steps.map((s) => s.reading));
  const total_L = Math.max(...first.steps.map((s) => s.volume_L));
  const fixedSteps = findFixedSteps(first, job, readingStep);
  const deadZones = fixedSteps ? [] : findDeadZones(first, sense, readingStep);
  for (const zone of deadZones)
    for (const step of first.steps) if (zone.steps.includes(step.index)) step.atStop = zone.end;
  const stated_L = (first.direction === "drain" ? job.drain.errorPerDraw_L : null) ?? job.pour.errorPerPour_L;
  const word = amountWord(first);
  if (runs.every((r) => r.kind === "typed") && stated_L === null)
    cautions.push({
      code: "fill-run/pour-error-assumed",
      says: say`How exact one ${word} is was not stated; ± ${litresTo(first.pourStandard_L, 2)} (1 % of a ${word}) is assumed.`,
      remedy: `State the error of one ${word} in the job.`,
      weight: "note",
    });
  const spread = spreadOfRuns(runs);
  const start_L = startStandard(job, total_L, drainsAlone(runs), cautions);
  cautions.push(...oddReadings(first, fixedSteps !== null, job, readingUnit));
  const capacity_L = job.tank.capacity_L;
  cautions.push(...capacityDoubts(first, total_L, capacity_L));
  return ready(
    {
      readingUnit: readingUnit ?? "V",
      sense,
      runs,
      readingStep,
      ...(inPercent ? { inPercent: true as const } : {}),
      ...(readingStep > written ? { stepOfConverter: true as const } : {}),
      repeatability: spread?.repeatability ?? null,
      betweenRuns: spread?.betweenRuns ?? null,
      hysteresis_L: hysteresisOf(runs, sense, job.pour.scaleErrorLimit / Math.sqrt(3)),
      scaleStandard: first.otherScale ?? job.pour.scaleErrorLimit / Math.sqrt(3),
      startStandard_L: start_L,
      fixedSteps,
      deadZones,
      total_L,
      capacity_L,
      deviceHeldBack: deviceHeldBack(first, job, cautions),
    },
    cautions,
  );
}

/** What an unknown start may hide, as a limit and share of what was poured (named default, no source). */
const startShare = 0.005;

/** Standard uncertainty of what was in the tank at step 0: none where the job says how it started. */
function startStandard(job: FillJob, total_L: number, alone: boolean, cautions: Issue[]): number {
  if (job.fill.startedFrom !== "unknown" || job.fill.startRemainder_L !== null) return 0;
  const limit = startShare * total_L;
  cautions.push({
    code: "fill-run/start-unknown",
    says: say`The job does not say how empty the tank was at the ${alone ? "end of the drain run" : "start"}; at most ±\u00a0${litresOf(limit)} (0.5 % of what was ${alone ? "drawn" : "poured"}) is assumed.`,
    ...(alone
      ? mendedBy(drainEnd, (way) => `State ${way} whether the pump drew air at the end or nothing was left.`)
      : mendedBy(
          byJob("in the job", "fill.startedFrom=drained or =pick-up-dry"),
          (way) => `State ${way} whether the run began from a drained tank or from a dry pick-up.`,
        )),
    weight: "note",
  });
  return limit / Math.sqrt(3);
}
