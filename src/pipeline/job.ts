/**
 * Job: what is fitted, and how good must it be?
 *
 * Takes what the technician states (every field may be left out), returns the whole job with a named default for
 * whatever was not said. Each default is listed in `assumed`, because the results then stand on it.
 */

import { type Answer, ready, stuck } from "../answer";
import { contradictions } from "./job-contradictions";
import { withDefaults } from "./job-defaults";
import { jobIssue } from "./job-issue";
import { type JobInput, jobInputSchema } from "./job-schema";
import type { SupplySeen } from "./supply-in-service";

export { type JobInput, jobInputSchema };

export type SenderKind = "float-arm" | "reed-ladder" | "capacitive" | "unknown";
export type ReadingUnit = "V" | "ohm" | "count";
export type Feature = "median" | "rate-limit" | "hold-in-corner" | "fault-limits" | "refuel-rule";

/** The job with every default filled in. `null` means: not known, and nothing sensible to assume. */
export interface Job {
  name: string | null;
  tank: {
    capacity_L: number | null;
    unusable_L: number;
    unusableLimit_L: number;
    length_mm: number | null;
    width_mm: number | null;
    depth_mm: number | null;
  };
  sender: {
    kind: SenderKind;
    emptyOhms: number | null;
    fullOhms: number | null;
    gaugeEmptyOhms: number | null;
    gaugeFullOhms: number | null;
  };
  circuit: {
    kind: "pull-up" | "converter" | "none";
    pullUpOhms: number | null;
    pullUpLimit: number;
    supplyVolts: number | null;
    /** Relative, at most ±. */
    supplyLimit: number;
    /** What drive logs show of it; only in the job of the service day (supply-in-service.ts). */
    supplySeen?: SupplySeen;
    ratiometric: boolean;
    adcBits: number | null;
    groundOffsetVolts: number | null;
    gainLimit: number | null;
    offsetLimitVolts: number | null;
    leakageMicroamps: number | null;
    meterLimit: number | null;
    meterCounts: number | null;
    meterLeadsOhms: number | null;
    enginePair: {
      offReading: number | null;
      runningReading: number | null;
      readingLimit: number | null;
      offSupplyVolts: number | null;
      runningSupplyVolts: number | null;
    };
  };
  fill: {
    enteredAs: "added" | "cumulative" | null;
    startedFrom: "pick-up-dry" | "drained" | "unknown";
    startRemainder_L: number | null;
    deviceTimeConstant_s: number | null;
    wait_s: number | null;
  };
  pour: {
    size_L: number | null;
    /** Standard uncertainty of one pour; null until the fill run shows the pour's size (then 1 % of it). */
    errorPerPour_L: number | null;
    scaleErrorLimit: number;
    density_kg_per_L: number | null;
    runningTotal: boolean;
  };
  drain: {
    container: "same" | "other";
    /** Standard uncertainty of one draw; null: as of a pour. */
    errorPerDraw_L: number | null;
    scaleErrorLimit: number;
    endedAt: "pump-draws-air" | "drained" | "unknown";
  };
  readingUnit: ReadingUnit | null;
  volumeUnit: "L" | "USgal" | "impgal" | "kg" | "percent" | null;
  device: {
    maxTablePoints: number;
    spacing: "free" | "equal";
    tableReadingUnit: "V" | "mV" | "ohm" | "count" | null;
    tableReadingStep: number | null;
    tableVolumeUnit: "L" | "USgal" | "impgal" | "percent";
    tableVolumeStep: number;
    tableOrder: "rising" | "falling";
    shows: "usable" | "since-start";
    displayUnit: "L" | "percent" | "USgal" | "impgal";
    displayStep: number;
    rate_Hz: number;
    /** What goes through the smoothing: the reading, before it is looked up in the table, or the volume, behind the table. */
    smooths: "reading" | "volume";
    smoothing: {
      asks: "seconds" | "factor" | "cutoff" | "samples" | "none";
      least: number;
      most: number;
      step: number;
    };
    deadband: { unit: "L" | "percent" | "V"; step: number; most: number };
    warning: { canClear: boolean; canDelay: boolean };
    has: Feature[];
  };
  asFound: {
    /** Readings in the job's unit, litres of what the device shows; `unread` says why rows could not be converted. */
    table: { reading: number; volume_L: number }[];
    /** Unit in which the table's readings stand; null where neither the rows nor the job name one. */
    readingUnit: ReadingUnit | null;
    unread: string | null;
    timeConstant_s: number | null;
    /** In the device's own unit (`device.deadband.unit`). */
    deadband: number | null;
    /** In the unit that the display shows. */
    warnAt: number | null;
    /** Whether fault limits are set; null: not known. */
    faultLimits: boolean | null;
  };
  complaint: "bounces-at-an-end" | "lamp-in-a-corner" | "wrong-in-the-middle" | "dances" | "slow-after-refuel" | null;
  targets: {
    /** Null until the capacity is known (then 2 % of it). */
    tolerance_L: number | null;
    coverage: number;
    endFlickersPerHour: number;
    displayReversalsPerMinute: number;
    maxLag_s: number | null;
    runDryRisk: number;
    /** Share of days on which the display may show 0 only after the pick-up has run dry. */
    lateZeroRisk: number;
  };
  consumption: {
    mean: number | null;
    standardUncertainty: number | null;
    unit: "L/100km" | "L/h" | "L/lap" | "mpg-us" | "mpg-imp";
  };
  reserve: { value: number | null; unit: "km" | "mi" | "h" | "lap" | "L" };
  /** Every default that a result may stand on: the path in job.json, the value put in, and why that one. */
  assumed: { path: string; value: number | string | boolean; why: string }[];
}

/**
 * What the fill run, its odd steps and the curve read of the job: tank, sender, circuit and how it was filled, but nothing of the device, of the
 * wishes for the display, of the complaint or of the road. A change of those leaves the curve as it is.
 */
export type FillJob = Pick<
  Job,
  "tank" | "sender" | "circuit" | "fill" | "pour" | "drain" | "readingUnit" | "volumeUnit" | "assumed"
> & { targets: Pick<Job["targets"], "tolerance_L" | "coverage"> };

export function fillJobOf(job: Job): FillJob {
  const { tank, sender, circuit, fill, pour, drain, readingUnit, volumeUnit, assumed } = job;
  const { tolerance_L, coverage } = job.targets;
  const ofFill = (path: string) =>
    !/^(device|targets|consumption|reserve)\b/.test(path) || path === "targets.tolerance_L";
  return {
    tank,
    sender,
    circuit,
    fill,
    pour,
    drain,
    readingUnit,
    volumeUnit,
    assumed: assumed.filter((a) => ofFill(a.path)),
    targets: { tolerance_L, coverage },
  };
}

/**
 * Fills in the defaults and lists them.
 *
 * @param input as stored or read from job.json; every field may be absent or null.
 * @param drainsAlone no fill run stands beside the drain runs: litres then count from where the drain ended.
 * @returns stuck `job/invalid` with the path of the first field that cannot be used and what it should be; cautions
 *   for statements that contradict each other.
 */
export function resolveJob(input: JobInput, drainsAlone = false): Answer<Job> {
  const read = jobInputSchema.safeParse(input);
  if (!read.success) {
    return stuck(jobIssue(read.error.issues[0]!, input));
  }
  const job = withDefaults(drainsAlone ? countedFromEnd(read.data) : read.data);
  return ready(job, contradictions(job));
}

/** How the drain ended is how the count begins: with the pump drawing air, at 0 usable litres. Said to be unknown, the start speaks as it is stated. */
function countedFromEnd(input: JobInput): JobInput {
  const endedAt = input.drain?.endedAt ?? "unknown";
  if (endedAt === "unknown") return input;
  const startedFrom = endedAt === "pump-draws-air" ? "pick-up-dry" : "drained";
  return { ...input, fill: { ...input.fill, startedFrom, startRemainder_L: null } };
}

/**
 * What lies between "added since the start" and "usable": usable = added − offset.
 * Unusable volume less what was already in the tank at step 0 (a dry pick-up means: just the unusable volume).
 */
export function unusableOffset_L(job: Pick<Job, "tank" | "fill">): {
  offset_L: number;
  standard_L: number;
  why: string;
} {
  const limit = job.tank.unusableLimit_L / Math.sqrt(3);
  if (job.fill.startRemainder_L !== null)
    return {
      offset_L: job.tank.unusable_L - job.fill.startRemainder_L,
      standard_L: limit,
      why: "unusable volume less the stated start remainder",
    };
  if (job.fill.startedFrom === "pick-up-dry")
    return {
      offset_L: 0,
      standard_L: 0,
      why: "litres count from where the pick-up had run dry, so every one of them is usable",
    };
  return {
    offset_L: job.tank.unusable_L,
    standard_L: limit,
    why:
      job.fill.startedFrom === "drained"
        ? "litres count from a drained tank, so the unusable volume is among them"
        : "the start is not stated: taken as a drained tank",
  };
}
