/** Measured burn: what a drive log measured an hour, as a consumption that can be taken for range left. */
import { decimalsFor, decimalsOf } from "../format";
import { spreadFromRunToRun } from "./consumption";
import { leastForRates_s } from "./display-weigh";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";

/** Half of a 95 % interval in standard uncertainties. */
const z95 = 1.96;

export interface MeasuredBurn {
  /** Which log, and where it stands among them. */
  file: string;
  log: number;
  burn_L_per_h: number;
  halfWidth_L_per_h: number;
  /** What taking it states in the job, rounded to its ±. */
  consumption: { mean: number; standardUncertainty: number; unit: "L/h" };
  /** Taken already: the job states just this. */
  taken: boolean;
  /** The unit of the reserve that a consumption by the hour cannot serve; null where it can. */
  reserveIn: Job["reserve"]["unit"] | null;
}

/** A log that is too short for any rate shows a swing of the fuel, and no burn. A logged flow is a burn at any length. */
export const tooShortForBurn = (log: Pick<DriveLog, "duration_s" | "burnStandard_L_per_h">): boolean =>
  log.burnStandard_L_per_h !== null && log.duration_s < leastForRates_s;

/**
 * Burns that were measured: on a log that is long enough, with a ± from it that is smaller than the burn, and not "or more".
 *
 * The ± of a log tells how well its own mean burn is known. Another day burns otherwise, so the spread from run to run stays beside it:
 * what the job states, else the named default. Both are independent and add as squares (JCGM 100:2008, 5.1.2).
 *
 * @param logs of the drive, litres an hour. @param job with its consumption and reserve as stated.
 * @returns one for each such log, in their order.
 */
export function measuredBurns(logs: DriveLog[], job: Job): MeasuredBurn[] {
  const { mean, standardUncertainty, unit } = job.consumption;
  const { value, unit: reserveUnit } = job.reserve;
  const reserveIn = value === null || reserveUnit === "h" || reserveUnit === "L" ? null : reserveUnit;
  return logs.flatMap((log, at) => {
    const halfWidth = z95 * (log.burnStandard_L_per_h ?? 0);
    if (tooShortForBurn(log) || log.burnIsLeast || !(halfWidth > 0) || !(halfWidth < log.burn_L_per_h)) return [];
    const rounded = round(log.burn_L_per_h, decimalsOf(halfWidth));
    const taken = unit === "L/h" && mean === rounded;
    const spread =
      mean !== null && mean > 0 && standardUncertainty !== null && !taken
        ? standardUncertainty / mean
        : spreadFromRunToRun;
    const standard = Math.hypot(halfWidth / z95, spread * log.burn_L_per_h);
    return [
      {
        file: log.file,
        log: at,
        burn_L_per_h: log.burn_L_per_h,
        halfWidth_L_per_h: halfWidth,
        consumption: {
          mean: rounded,
          standardUncertainty: round(standard, decimalsFor(standard, 2)),
          unit: "L/h" as const,
        },
        taken,
        reserveIn,
      },
    ];
  });
}

const round = (x: number, decimals: number): number => Number(x.toFixed(decimals));
