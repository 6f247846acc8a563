/**
 * Job: what is fitted, and how good must it be?
 *
 * Takes what the technician states (every field may be left out), returns the whole job with a named default for
 * whatever was not said. Each default is listed in `assumed`, because the results then stand on it.
 */
import { z } from "zod";
import type { Answer } from "../answer";

const number = z.number().finite().nullish();
const positive = z.number().positive().nullish();
const notNegative = z.number().nonnegative().nullish();

/** job.json, format of the published contract. Unknown keys are refused, so that a slip of the pen is not ignored. */
export const jobInputSchema = z
  .strictObject({
    name: z.string().max(200).nullish(),
    tank: z
      .strictObject({
        capacity_L: positive,
        unusable_L: notNegative,
        unusableLimit_L: notNegative,
        length_mm: positive,
        width_mm: positive,
        depth_mm: positive,
      })
      .partial(),
    sender: z
      .strictObject({
        kind: z.enum(["float-arm", "reed-ladder", "capacitive", "unknown"]).nullish(),
        emptyOhms: notNegative,
        fullOhms: notNegative,
        gaugeEmptyOhms: notNegative,
        gaugeFullOhms: notNegative,
      })
      .partial(),
    circuit: z
      .strictObject({
        kind: z.enum(["pull-up", "converter", "none"]).nullish(),
        pullUpOhms: positive,
        /** Relative, at most ±. */
        pullUpLimit: notNegative,
        supplyVolts: positive,
        ratiometric: z.boolean().nullish(),
        adcBits: z.number().int().min(4).max(32).nullish(),
        groundOffsetVolts: number,
      })
      .partial(),
    fill: z
      .strictObject({
        enteredAs: z.enum(["added", "cumulative"]).nullish(),
        startedFrom: z.enum(["pick-up-dry", "drained", "unknown"]).nullish(),
        startRemainder_L: number,
        /** Time constant of a device that smooths the readings during the fill, and the wait before each was read. */
        deviceTimeConstant_s: notNegative,
        wait_s: notNegative,
      })
      .partial(),
    pour: z
      .strictObject({
        size_L: positive,
        errorPerPour_L: notNegative,
        /** Relative, at most ±: what the marks of the container may be wrong by. */
        scaleErrorLimit: notNegative,
        density_kg_per_L: positive,
        /** True when each reading of a running total (a meter, a scale under the can) stands by itself. */
        runningTotal: z.boolean().nullish(),
      })
      .partial(),
    readingUnit: z.enum(["V", "ohm", "count"]).nullish(),
    volumeUnit: z.enum(["L", "USgal", "impgal", "kg", "percent"]).nullish(),
    device: z
      .strictObject({
        maxTablePoints: z.number().int().min(2).max(1000).nullish(),
        spacing: z.enum(["free", "equal"]).nullish(),
        tableReadingUnit: z.enum(["V", "mV", "ohm", "count"]).nullish(),
        tableReadingStep: positive,
        tableVolumeUnit: z.enum(["L", "USgal", "impgal", "percent"]).nullish(),
        tableVolumeStep: positive,
        tableOrder: z.enum(["rising", "falling"]).nullish(),
        shows: z.enum(["usable", "since-start"]).nullish(),
        displayUnit: z.enum(["L", "percent", "USgal", "impgal"]).nullish(),
        displayStep: positive,
        rate_Hz: positive,
        smoothing: z
          .strictObject({
            asks: z.enum(["seconds", "factor", "cutoff", "samples", "none"]).nullish(),
            least: notNegative,
            most: notNegative,
            step: positive,
          })
          .partial()
          .nullish(),
        deadband: z
          .strictObject({ unit: z.enum(["L", "percent", "V"]).nullish(), step: positive, most: notNegative })
          .partial()
          .nullish(),
        warning: z
          .strictObject({ canClear: z.boolean().nullish(), canDelay: z.boolean().nullish() })
          .partial()
          .nullish(),
        has: z.array(z.enum(["median", "rate-limit", "hold-in-corner", "fault-limits", "refuel-rule"])).nullish(),
      })
      .partial(),
    asFound: z
      .strictObject({
        table: z.array(z.looseObject({})).nullish(),
        timeConstant_s: notNegative,
        deadband: notNegative,
        warnAt: notNegative,
      })
      .partial(),
    targets: z
      .strictObject({
        tolerance_L: positive,
        coverage: z.number().gt(0.5).lt(1).nullish(),
        endFlickersPerHour: positive,
        displayReversalsPerMinute: positive,
        maxLag_s: positive,
        runDryRisk: z.number().gt(0).lt(0.5).nullish(),
      })
      .partial(),
    consumption: z
      .strictObject({
        mean: positive,
        standardUncertainty: notNegative,
        unit: z.enum(["L/100km", "L/h", "L/lap", "mpg-us", "mpg-imp"]).nullish(),
      })
      .partial(),
    reserve: z.strictObject({ value: notNegative, unit: z.enum(["km", "mi", "h", "lap", "L"]).nullish() }).partial(),
  })
  .partial();

export type JobInput = z.infer<typeof jobInputSchema>;

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
    ratiometric: boolean;
    adcBits: number | null;
    groundOffsetVolts: number | null;
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
    table: { reading: number; volume_L: number }[];
    timeConstant_s: number | null;
    deadband: number | null;
    warnAt: number | null;
  };
  targets: {
    /** Null until the capacity is known (then 2 % of it). */
    tolerance_L: number | null;
    coverage: number;
    endFlickersPerHour: number;
    displayReversalsPerMinute: number;
    maxLag_s: number | null;
    runDryRisk: number;
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
 * Fills in the defaults.
 * @returns stuck `job/invalid` with the path and what it should be.
 */
export function resolveJob(_input: JobInput): Answer<Job> {
  throw new Error("not written yet");
}
