/**
 * Deadband in volts: what is it in litres? A device that holds the reading by so many volts holds more litres where a volt stands for more of them.
 * Replays hold volts (`device-model.ts`), and warning and range count what is held where the light comes on; settings are chosen by the same litres all
 * over the tank, its volts times the mean slope: that is said, with how much it really is.
 */
import type { Issue } from "../answer";
import { say } from "../said";
import { interpolate, readingAt, volumeAt } from "./curve-lookup";
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
 * Litres by which a device that holds volts stands high on a falling level, by the volume that it shows: on its table's readings it holds one distance,
 * and a volt is more litres where the curve is flat.
 *
 * @param curve with `sense` 1 where its readings rise with the volume.
 * @returns the deadband as it is reckoned wherever it is not given in volts.
 */
export function heldAt(
  display: { deadband_L: number; asked: { deadband: number } } | null,
  curve: VolumeByReading & { sense: number },
  job: Pick<Job, "circuit" | "device">,
): (volume_L: number) => number {
  const reckoned_L = display?.deadband_L ?? 0;
  const volts = display?.asked.deadband ?? 0;
  const holds = heldVolts({ litres: reckoned_L, volts }, curve.readingUnit, job);
  if (!holds) return () => reckoned_L;
  const { scale } = holds;
  const least_L = Math.min(...curve.grid.map((g) => g.volume_L));
  return (volume_L) => {
    // The held reading stands on the fuller side of the sender's by so many volts; volts rise with ohms and counts.
    const shown = scale.to(readingAt(curve, volume_L));
    const true_L = volumeAt(curve, scale.from(shown - curve.sense * volts));
    // At the sender's stop nothing is left to fall by so many volts: there the mean slope is kept, if that is more.
    return true_L > least_L ? volume_L - true_L : Math.max(reckoned_L, volume_L - true_L);
  };
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
