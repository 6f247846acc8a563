/** Consumption and reserve as stated, brought to litres a unit of distance, time or laps. */
import type { Issue } from "../answer";
import { KM_PER_MILE, LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../units";
import type { Job } from "./job";

export type RangeUnit = "km" | "mi" | "h" | "lap" | "L";

export interface Consumption {
  /** Litres a unit. */
  mean: number;
  standard: number;
  unit: Exclude<RangeUnit, "L">;
  assumed: boolean;
}

/** Spread of the consumption from run to run when only its mean is stated. Named default, no source. */
export const spreadFromRunToRun = 0.15;

/** Null when no mean is stated. Miles a gallon are inverted: the relative uncertainty stays. */
export function consumptionOf(job: Job): Consumption | null {
  const { mean, standardUncertainty, unit } = job.consumption;
  if (mean === null) return null;
  const relative = standardUncertainty === null ? spreadFromRunToRun : standardUncertainty / mean;
  const assumed = standardUncertainty === null;
  const of = (litres: number, per: Consumption["unit"]): Consumption => ({
    mean: litres,
    standard: relative * litres,
    unit: per,
    assumed,
  });
  switch (unit) {
    case "L/100km":
      return job.reserve.unit === "mi" ? of((mean / 100) * KM_PER_MILE, "mi") : of(mean / 100, "km");
    case "L/h":
      return of(mean, "h");
    case "L/lap":
      return of(mean, "lap");
    case "mpg-us":
      return job.reserve.unit === "km"
        ? of(LITRES_PER_USGAL / mean / KM_PER_MILE, "km")
        : of(LITRES_PER_USGAL / mean, "mi");
    case "mpg-imp":
      return job.reserve.unit === "km"
        ? of(LITRES_PER_IMPGAL / mean / KM_PER_MILE, "km")
        : of(LITRES_PER_IMPGAL / mean, "mi");
  }
}

/** Reserve of a job that states none: this share of the tank. Named default, no source. */
const reserveShare = 0.1;

/** Litres that must be left when the light first comes on; an issue when distance and consumption do not meet. */
export function reserveLitres(
  job: Job,
  capacity_L: number,
): { reserve_L: number; caution: Issue | null } | { issue: Issue } {
  const { value, unit } = job.reserve;
  if (value === null)
    return {
      reserve_L: reserveShare * capacity_L,
      caution: {
        code: "low-fuel/reserve-assumed",
        says: `No reserve is stated, so a tenth of the tank is kept.`,
        remedy: "Say how far, how long or how many litres must be left when the light comes on.",
        weight: "note",
      },
    };
  if (unit === "L") return { reserve_L: value, caution: null };
  const consumption = consumptionOf(job);
  if (!consumption)
    return {
      issue: {
        code: "low-fuel/no-consumption",
        says: `The reserve is stated as ${value} ${unit}, and without a consumption it has no litres.`,
        remedy: "State the consumption, or the reserve in litres.",
      },
    };
  if (consumption.unit !== unit)
    return {
      issue: {
        code: "low-fuel/units-differ",
        says: `The reserve is stated in ${unit} and the consumption in ${job.consumption.unit}: one does not turn into the other.`,
        remedy: "State both by distance, both by time or both by lap, or the reserve in litres.",
      },
    };
  return { reserve_L: value * consumption.mean, caution: null };
}
