/**
 * Deadband in volts: what is it in litres? A device that holds the reading by so many volts holds more litres where a volt stands for more of them.
 * Replays hold volts (`device-model.ts`); settings are chosen, and warning and range worked out, by the same litres all over the tank, its volts
 * times the mean slope: that is said, with how much it really is.
 */
import type { Issue } from "../answer";
import { say } from "../said";
import { interpolate } from "./curve-lookup";
import type { VolumeByReading } from "./curve-types";
import type { TablePoint } from "./device-table";
import type { Job } from "./job";
import { litresTo } from "./litres";
import { type ReadingScale, readingScale } from "./reading-scale";

/** Share of the travel over which a slope is taken, and ratio of the widest to the mean from which on the counts hang on it. Named defaults, no source. */
const window = 0.1;
const uneven = 1.5;

/** The curve as a table in volts; null where the job does not say how its readings become volts. */
export function tableInVolts(curve: VolumeByReading, job: Pick<Job, "circuit">): TablePoint[] | null {
  const scale = readingScale(curve.readingUnit, "V", job);
  return scale && curve.grid.map(({ reading, volume_L }) => ({ reading: scale.to(reading), volume_L }));
}

/** How a deadband in litres, as it is reckoned, is held in volts. */
export interface HeldVolts {
  /** Between the unit of the readings and volts. */
  scale: ReadingScale;
  /** Litres a volt by which the deadband was reckoned. */
  perVolt_L: number;
}

/**
 * How a device holds readings in `unit` that is given `volts` for what is reckoned as `litres`.
 * @returns null where the deadband is none or is not given in volts, and where the job does not say how a reading becomes volts.
 */
export function heldVolts(
  { litres, volts }: { litres: number; volts: number },
  unit: VolumeByReading["readingUnit"],
  job: Pick<Job, "circuit" | "device">,
): HeldVolts | null {
  const scale = job.device.deadband.unit === "V" && litres > 0 && volts > 0 ? readingScale(unit, "V", job) : null;
  return scale && { scale, perVolt_L: litres / volts };
}

/** Litres a volt on average: what one number of volts for the whole tank is reckoned by. */
export const litresPerVolt = (rows: TablePoint[]): number =>
  Math.max(...rows.map((row) => row.volume_L)) / Math.abs(rows[rows.length - 1]!.reading - rows[0]!.reading);

/** Fewest and most litres a volt, over a tenth of the travel. */
export function slopesOf(table: TablePoint[]): { least: number; most: number } {
  const [first, last] = [table[0]!.reading, table[table.length - 1]!.reading];
  const width = window * (last - first);
  let [least, most] = [Number.POSITIVE_INFINITY, 0];
  for (let k = 0; k <= 90; k++) {
    const from = first + ((1 - window) * (last - first) * k) / 90;
    const at = (r: number) => interpolate(table, r, (p) => p.volume_L);
    const slope = Math.abs((at(from + width) - at(from)) / width);
    least = Math.min(least, slope);
    most = Math.max(most, slope);
  }
  return { least, most };
}

/**
 * @param table the curve in volts, rising; null where the job does not say how its readings become volts.
 * @returns null where the deadband is none, or is not typed in volts.
 */
export function deadbandInVolts(
  deadband_L: number,
  unit: "L" | "percent" | "V",
  table: TablePoint[] | null,
): Issue | null {
  if (unit !== "V") return null;
  if (table === null)
    return {
      code: "display/deadband-not-in-volts",
      says: "No deadband is recommended: the device asks for it in volts, and the job does not say how a reading becomes volts.",
      remedy:
        "State the supply and the converter’s bits where readings are counts, the supply and the pull-up where they are ohms; or choose litres or percent, if the device can.",
      weight: "doubtful",
    };
  if (!(deadband_L > 0)) return null;
  const slope = litresPerVolt(table);
  const { least, most } = slopesOf(table);
  const at = (local: number) => litresTo((deadband_L * local) / slope, 2);
  return {
    code: "display/deadband-in-volts",
    says: say`The deadband is typed in volts. It was chosen as ± ${litresTo(deadband_L, 2)} all over the tank, by the sender’s mean slope; the device holds between ± ${at(least)} and ± ${at(most)}, by where the level stands, and so does the trial.`,
    ...(most > uneven * slope
      ? {
          remedy: "Choose the deadband in litres or percent, if the device can.",
          weight: "holds-if" as const,
          condition: "the level stands where a volt is about as many litres as on average",
        }
      : { weight: "note" as const }),
  };
}
