/** What a job.json may hold: every field may be left out, an unknown one is refused. */
import { z } from "zod";

/** No size of a tank, a wire or a device is larger; what is larger is a slip of the pen or of a program. */
const largest = 1e9;
/** Nor is one that must be more than nothing smaller. */
const smallest = 1e-9;
const number = z.number().finite().min(-largest).max(largest).nullish();
const positive = z.number().positive().min(smallest).max(largest).nullish();
const notNegative = z.number().nonnegative().max(largest).nullish();

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
        /** Relative, at most ±: what the supply changes by between the fill day and any day in service. */
        supplyLimit: notNegative,
        ratiometric: z.boolean().nullish(),
        adcBits: z.number().int().min(4).max(32).nullish(),
        groundOffsetVolts: number,
        /** Converter's input: gain (relative) and offset, at most ±, and the current that leaks through it, at most. */
        gainLimit: notNegative,
        offsetLimitVolts: notNegative,
        leakageMicroamps: notNegative,
        /** Multimeter: share of the reading and counts of its last digit, at most ±, and the ohms of its leads that were not taken off. */
        meterLimit: notNegative,
        meterCounts: notNegative,
        meterLeadsOhms: notNegative,
        /** Two readings with the same fuel in the reading's unit, engine off and running, each read within ± readingLimit; the supply at both, if known. */
        enginePair: z
          .strictObject({
            offReading: notNegative,
            runningReading: notNegative,
            readingLimit: positive,
            offSupplyVolts: positive,
            runningSupplyVolts: positive,
          })
          .partial()
          .nullish(),
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
    drain: z
      .strictObject({
        /** Drained into the container that was filled with, or into another with marks of its own. */
        container: z.enum(["same", "other"]).nullish(),
        errorPerDraw_L: notNegative,
        /** Relative, at most ±: what the marks of the other container may be wrong by. */
        scaleErrorLimit: notNegative,
        endedAt: z.enum(["pump-draws-air", "drained", "unknown"]).nullish(),
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
        // Nothing that shows a fuel level reads it more often.
        rate_Hz: z.number().positive().min(smallest).max(1000).nullish(),
        /** What goes through its smoothing: the reading before the table, or the volume behind it. */
        smooths: z.enum(["reading", "volume"]).nullish(),
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
        faultLimits: z.boolean().nullish(),
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
        lateZeroRisk: z.number().gt(0).lt(1).nullish(),
      })
      .partial(),
    consumption: z
      .strictObject({
        mean: positive,
        standardUncertainty: notNegative,
        unit: z.enum(["L/100km", "L/h", "L/lap", "mpg-us", "mpg-imp"]).nullish(),
      })
      .partial(),
    /** What the driver says is wrong, where the job is a complaint. */
    complaint: z
      .enum(["bounces-at-an-end", "lamp-in-a-corner", "wrong-in-the-middle", "dances", "slow-after-refuel"])
      .nullish(),
    reserve: z.strictObject({ value: notNegative, unit: z.enum(["km", "mi", "h", "lap", "L"]).nullish() }).partial(),
  })
  .partial();

export type JobInput = z.infer<typeof jobInputSchema>;
