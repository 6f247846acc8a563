/**
 * The published analysis as a schema: every field of the contract with its type. Blocks may carry further fields, and a block that could
 * not be computed is absent and named under `notComputed`. Readings have their own unit in their names, so there is one
 * schema for each reading unit.
 */
import { z } from "zod";
import { analysisFormat, analysisVersion } from "./analysis";

const number = z.number();
const orNull = z.number().nullable();
const text = z.string();
const textOrNull = z.string().nullable();
const notNegative = z.number().nonnegative();
const share = z.number().min(0).max(1);
const trouble = z.enum(["bounces-at-an-end", "lamp-in-a-corner", "wrong-in-the-middle", "dances", "slow-after-refuel"]);

/** What an analysis whose readings are in `unit` looks like. */
function schemaFor<const U extends "V" | "ohm" | "count">(unit: U) {
  /** Fields that hold a reading: `{ reading: number }` is published as `reading_V`. */
  const inUnit = (fields: Record<string, z.ZodType>) =>
    Object.fromEntries(Object.entries(fields).map(([name, type]) => [`${name}_${unit}`, type]));
  const block = (readings: Record<string, z.ZodType>, others: Record<string, z.ZodType>) =>
    z.looseObject({ ...inUnit(readings), ...others });
  const bandRow = block({ reading: number }, { volume_L: number, lower_L: number, upper_L: number });
  const trialRun = {
    rmsError_L: notNegative,
    reversalsPerMinute: notNegative,
    digitChangesPerMinute: notNegative,
  };
  return z.looseObject({
    format: z.literal(analysisFormat),
    version: z.literal(analysisVersion),
    readingUnit: z.literal(unit),
    inputs: z.array(
      z.strictObject({ file: text, sha256: z.string().regex(/^[0-9a-f]{64}$/), rows: z.int().nonnegative() }),
    ),
    seed: z.int(),
    unusableOffset_L: number,
    decisionsNotConfirmed: z.int().nonnegative(),
    circuit: z
      .looseObject({
        spanVolts: orNull,
        twoPointBend_fraction: orNull,
        bestPullUps: z.array(z.looseObject({ pullUpOhms: number })),
        faultLowVolts: orNull,
        faultHighVolts: orNull,
        gaugeMatch: z.looseObject({}).nullable(),
        runningShift: block(
          { readingShift: number, readingShiftStandard: notNegative },
          {
            shiftVolts: orNull,
            shift_L: orNull,
            shiftStandard_L: notNegative.nullable(),
            cause: z.enum([
              "noise",
              "ground",
              "supply",
              "charging",
              "supply-and-ground",
              "cannot-be-told",
              "unexplained",
            ]),
            causes: z.array(z.looseObject({ cause: text, fits: z.boolean() })),
            groundLift_V: orNull,
            fillState: z.enum(["either", "as-running"]),
            says: text,
            remedy: text,
          },
        ).nullable(),
      })
      .optional(),
    fillRuns: z
      .array(
        z.looseObject({
          file: text,
          steps: z.array(
            block(
              { reading: number, standardError: notNegative },
              {
                index: z.int().nonnegative(),
                volume_L: number,
                effectiveSamples: notNegative.nullable(),
                flag: textOrNull,
                reason: textOrNull,
                accepted: z.boolean(),
                decidedBy: z.enum(["rule", "technician"]).nullable(),
              },
            ),
          ),
          events: z.array(
            z.looseObject({
              kind: z.enum(["missed-pour", "wrong-pour", "hung-float", "wrong-reading", "cannot-be-told"]),
              step: z.int().nonnegative(),
              amount_L: orNull,
              seen_L: orNull,
              seenStandard_L: notNegative.nullable(),
              p: share.nullable(),
              treatment: z.enum(["set-aside", "put-in", "left"]),
              alternatives: z.array(z.looseObject({ kind: text })),
            }),
          ),
          oddEnds: z.array(
            z.looseObject({
              step: z.int().nonnegative(),
              chance: share,
              seen_L: z.number(),
              seenStandard_L: notNegative,
            }),
          ),
          smallestDetectable_L: z.array(orNull),
        }),
      )
      .optional(),
    fillRunsTogether: z
      .looseObject({
        fillRuns: z.int().nonnegative(),
        drainRuns: z.int().nonnegative(),
        levels: z.int().nonnegative(),
        repeatability_L: notNegative.nullable(),
        repeatabilityLower_L: notNegative.nullable(),
        repeatabilityUpper_L: notNegative.nullable(),
        betweenRuns_L: notNegative.nullable(),
        betweenRunsLower_L: notNegative.nullable(),
        betweenRunsUpper_L: notNegative.nullable(),
        hysteresis_L: orNull,
        hysteresisLower_L: orNull,
        hysteresisUpper_L: orNull,
        hysteresisAt: z.array(z.looseObject({ volume_L: number, difference_L: number, standard_L: notNegative })),
        closure_L: orNull,
        closureWritten_L: orNull,
        closureStandard_L: notNegative.nullable(),
        closureLimit_L: notNegative.nullable(),
        unusable_L: orNull,
        unusableStandard_L: notNegative.nullable(),
      })
      .optional(),
    curves: z
      .array(
        z.looseObject({
          kind: z.enum(["line", "polynomial", "divider", "piecewise"]),
          parameters: z.record(z.string(), number),
          residualSd_L: notNegative.nullable(),
          aicc: orNull,
          bic: orNull,
          looError_L: notNegative.nullable(),
        }),
      )
      .optional(),
    chosenCurve: z
      .looseObject({
        kind: z.enum(["line", "polynomial", "divider", "piecewise"]),
        why: text,
        knots: z.array(block({ reading: number, standardError: notNegative.nullable() }, { volume_L: number })).min(2),
        oneReading: block({ reading: notNegative }, { halfWidth_L: notNegative }),
      })
      .optional(),
    residuals: z
      .looseObject({
        tests: z.array(z.looseObject({ name: text, statistic: orNull, p: share.nullable(), means: text })),
      })
      .optional(),
    band: z.array(bandRow).optional(),
    serviceBand: z.array(bandRow).optional(),
    noise: block(
      { totalSd: notNegative, sloshSd: notNegative.nullable(), floorSd: notNegative.nullable() },
      {
        sampleRate_Hz: z.number().positive(),
        sloshFrequency_Hz: orNull,
        tilt_L_per_g: orNull,
        tiltAxis: z.enum(["along", "across"]).nullable(),
        tiltOffset_mm: notNegative.nullable(),
        tiltStandard_L_per_g: notNegative.nullable(),
        spikes: z.int().nonnegative(),
        dropouts: z.int().nonnegative(),
        turningBias_L: orNull,
        turningBiasStandard_L: notNegative.nullable(),
        split: z.array(
          block({ sd: notNegative }, { part: z.enum(["slosh", "tilt", "floor", "rest"]), share, sd_L: notNegative }),
        ),
        spikesSd_L: notNegative,
        byLevel: z.array(
          block(
            { sd: notNegative },
            {
              from_L: number,
              to_L: number,
              seconds: notNegative,
              sd_L: notNegative,
              sdStandard_L: notNegative.nullable(),
              sloshFrequency_Hz: orNull,
            },
          ),
        ),
      },
    ).optional(),
    display: z
      .looseObject({
        timeConstant_s: notNegative,
        smoothingFactor: share,
        rate_Hz: z.number().positive(),
        cutoff_Hz: notNegative,
        deadband_L: notNegative,
        deadbandKind: z.enum(["play", "jump"]),
        lag_L: number,
        reversalsPerMinute: notNegative,
        digitChangesPerMinute: notNegative,
        order: z.enum(["reading-then-table", "table-then-filter"]),
        orderDifference: z.looseObject({ mean_L: number, rms_L: notNegative }),
        switchOn: z.looseObject({
          fromNothing_s: notNegative,
          firstReading_L: notNegative,
          mean_s: notNegative,
          mean_L: notNegative,
          startAt: z.enum(["first-reading", "mean"]),
          settled_s: notNegative,
        }),
        uses: z.array(text),
      })
      .optional(),
    ends: block(
      { emptyReading: number, fullReading: number, emptyMargin: notNegative, fullMargin: notNegative },
      {
        emptyHidden_L: notNegative,
        fullHidden_L: notNegative,
        emptyFlickersPerHour: notNegative.nullable(),
        fullFlickersPerHour: notNegative.nullable(),
        evidence: z.enum(["drive-log", "fill-run"]),
      },
    ).optional(),
    table: z
      .array(block({ reading: number }, { volume_L: number }))
      .min(2)
      .optional(),
    tableError_L: notNegative.optional(),
    twoPointError_L: notNegative.optional(),
    lowFuel: z
      .looseObject({
        warnAtUsable_L: number,
        clearAtUsable_L: orNull,
        delay_s: notNegative,
        falseAlarmsPerHour: notNegative.nullable(),
        behindTable_L: notNegative.optional(),
      })
      .optional(),
    rangeLeft: z
      .looseObject({
        usable_L: number,
        usableLower_L: number,
        usableUpper_L: number,
        range: number,
        rangeLower: number,
        rangeUpper: number,
        unit: text,
        holdBack_L: number,
        budget: z.array(z.looseObject({})),
      })
      .optional(),
    trial: z.looseObject({ ...trialRun, asFound: z.looseObject(trialRun).nullable() }).optional(),
    complaint: z
      .looseObject({
        stated: trouble.nullable(),
        says: text,
        remedy: textOrNull,
        causes: z.array(
          z.looseObject({
            trouble: trouble,
            cause: text,
            says: text,
            remedy: text,
            weight: notNegative,
            figures: z.looseObject({}),
          }),
        ),
      })
      .optional(),
    settings: z
      .looseObject({
        table: z.array(z.strictObject({ reading: number, volume: number, readingUnit: text, volumeUnit: text })),
        smoothing: z.strictObject({ asks: text, value: orNull, unit: text }).nullable(),
        deadband: z.strictObject({ value: notNegative, unit: text, kind: z.enum(["play", "jump"]) }).nullable(),
        warning: z.strictObject({ at: number, clear: orNull, delay_s: orNull, unit: text }).nullable(),
        faultLimits: z.strictObject({ low: number, high: number, unit: text }).nullable(),
        ends: z.strictObject({ empty: number, full: number, unit: text }),
      })
      .optional(),
    verdict: z
      .looseObject({
        decision: z.enum(["conforms", "does-not-conform", "cannot-be-said"]),
        probability: share.nullable(),
      })
      .optional(),
    cautions: z.array(
      z.strictObject({
        stage: text,
        code: text,
        says: text,
        remedy: textOrNull,
        remedyOnCommandLine: textOrNull,
        weight: z.enum(["note", "holds-if", "doubtful"]).nullable(),
        condition: textOrNull,
        where: z.looseObject({}).nullable(),
      }),
    ),
    notComputed: z.array(
      z.strictObject({ what: text, why: text, remedy: textOrNull, remedyOnCommandLine: textOrNull }),
    ),
  });
}

export const analysisSchema = z.union([schemaFor("V"), schemaFor("ohm"), schemaFor("count")]);

/** The schema as it is published: JSON Schema, draft 2020-12. */
export function publishedSchema(): object {
  return { title: "Fillbook analysis", ...z.toJSONSchema(analysisSchema, { target: "draft-2020-12" }) };
}
