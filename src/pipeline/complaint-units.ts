/** Complaint: the table found is this tank's, but for a unit: its volumes in percent or gallons, its readings in millivolts or volts. */

import { say } from "../said";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../units";
import type { Cause } from "./complaint";
import { unitOf } from "./complaint-device";
import type { TablePoint } from "./device-table";
import { type Job, unusableOffset_L } from "./job";
import { litresOf } from "./litres";

/** A table that is read in another unit must lie within the tolerance, or within this share of what it was off by. Named default, no source. */
const fits = 0.1;

export interface UnitSlip {
  /** The rows as they would be in that unit. */
  table: TablePoint[];
  /** `its volumes are percent of the tank` */
  says: string;
}

/** Every other unit that a table may have been copied or typed in, with its rows read so. */
export function readAsOtherUnits(
  table: TablePoint[],
  job: Pick<Job, "tank" | "fill" | "device" | "readingUnit">,
): UnitSlip[] {
  // The rows count from the start; what was typed counts as the display does.
  const base_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
  const { capacity_L } = job.tank;
  const volumes: { unit: Job["device"]["tableVolumeUnit"]; litres: number; says: string }[] = [
    { unit: "L", litres: 1, says: "its volumes are litres" },
    { unit: "USgal", litres: LITRES_PER_USGAL, says: "its volumes are US gallons" },
    { unit: "impgal", litres: LITRES_PER_IMPGAL, says: "its volumes are imperial gallons" },
    ...(capacity_L === null
      ? []
      : [{ unit: "percent" as const, litres: capacity_L / 100, says: "its volumes are percent of the tank" }]),
  ];
  const stated = volumes.find((v) => v.unit === job.device.tableVolumeUnit)?.litres ?? 1;
  const byVolume = volumes
    .filter((v) => Math.abs(v.litres / stated - 1) > 0.05)
    .map((v) => ({
      table: table.map((r) => ({ ...r, volume_L: base_L + ((r.volume_L - base_L) * v.litres) / stated })),
      says: v.says,
    }));
  if (unitOf(job) !== "V") return byVolume;
  const { factor, unit } =
    job.device.tableReadingUnit === "mV" ? { factor: 1e3, unit: "volts" } : { factor: 1e-3, unit: "millivolts" };
  const byReading = [
    { table: table.map((r) => ({ ...r, reading: r.reading * factor })), says: `its readings are ${unit}` },
  ];
  return [...byVolume, ...byReading];
}

/**
 * @param cause what is wrong with the table as it stands. @param errorOf largest error of a table over the fill run, litres; null where it has none.
 * @returns the slip that explains it, else null.
 */
export function wrongUnit(
  cause: Cause,
  wrong: Cause["says"],
  table: TablePoint[],
  errorOf: (table: TablePoint[]) => number | null,
  tolerance_L: number,
  job: Job,
): Cause | null {
  const found_L = errorOf(table);
  if (found_L === null) return null;
  const slips = readAsOtherUnits(table, job).flatMap((slip) => {
    const left_L = errorOf(slip.table);
    return left_L !== null && left_L <= Math.max(tolerance_L, fits * found_L) && left_L < 0.5 * found_L
      ? [{ ...slip, left_L }]
      : [];
  });
  if (slips.length === 0) return null;
  const best = slips.reduce((a, b) => (b.left_L < a.left_L ? b : a));
  return {
    ...cause,
    cause: "other-unit",
    figures: { ...cause.figures, errorInOtherUnit_L: best.left_L },
    says: say`${wrong} by the table found as it stands in the job, because ${best.says}: read so, it is within ${litresOf(best.left_L)} of the fill run.`,
    remedy:
      "Look at the device: if it takes its table in that unit, state so in the job; if not, type in the rows of the table leaf.",
  };
}
