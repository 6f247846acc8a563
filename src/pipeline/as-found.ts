/** As found: the table in the device as a curve, for a complaint that comes with a drive log and no fill run. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import type { VolumeByReading } from "./curve-types";
import { type Job, type ReadingUnit, unusableOffset_L } from "./job";
import { readingScale } from "./reading-scale";

/**
 * The table found in the device, readings rising: its volumes are what it showed, so the base of the display is taken off again. A row that stands
 * there twice is taken once.
 * @param unit of the readings wanted; left out: as the table stands. @returns none where the job does not say how one unit becomes the other.
 */
export function foundRows(job: Job, unit: ReadingUnit = foundUnit(job)): { reading: number; volume_L: number }[] {
  const offset_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
  const scale = readingScale(foundUnit(job), unit, job);
  if (!scale) return [];
  return job.asFound.table
    .map((r) => ({ reading: scale.to(r.reading), volume_L: r.volume_L + offset_L }))
    .sort((a, b) => a.reading - b.reading)
    .filter((r, i, all) => i === 0 || r.reading !== all[i - 1]!.reading || r.volume_L !== all[i - 1]!.volume_L);
}

/** Unit in which the rows found stand: their own, else that of the job, else volts. */
export const foundUnit = (job: Job): ReadingUnit => job.asFound.readingUnit ?? job.readingUnit ?? "V";

/** The first reading at which the table found has two volumes; null where it has none. */
export function readingTwice(rows: { reading: number }[]): number | null {
  return rows.find((row, i) => i > 0 && row.reading === rows[i - 1]!.reading)?.reading ?? null;
}

/**
 * @returns stuck `as-found/none` without two rows, `as-found/twice` where one reading has two volumes; else a curve that nothing was
 *   measured for: what stands on it carries the caution `inFoundLitres`.
 */
export function curveAsFound(job: Job): Answer<VolumeByReading> {
  const grid = foundRows(job);
  if (grid.length < 2)
    return stuck({
      code: "as-found/none",
      says: job.asFound.unread
        ? `There is no fill run, and the table found in the device is not read: ${job.asFound.unread}.`
        : grid.length === 1
          ? "There is no fill run, and the table found in the device has one row: a line needs two."
          : "There is no fill run, and the job states no table that was found in the device.",
      remedy: "Bring a fill run, or copy the device’s table into the job: two rows or more.",
    });
  const twice = readingTwice(grid);
  if (twice !== null)
    return stuck({
      code: "as-found/twice",
      says: `The table found in the device gives two volumes for the reading ${twice}.`,
      remedy: "Correct the table in the job.",
    });
  return ready({ readingUnit: foundUnit(job), grid });
}

/**
 * The deadband found, as a half-width in litres: its unit is the device's (`device.deadband.unit`).
 * Percent is of the stated capacity, else of `total_L`; volts become litres by the mean slope of the table found, as a device with one
 * number for the whole tank has it.
 */
export function foundDeadband(job: Job, total_L: number): FoundDeadband {
  const { deadband: typed } = job.asFound;
  const { unit } = job.device.deadband;
  if (typed === null || typed === 0) return { typed: typed ?? 0, unit, deadband_L: 0, by: null };
  if (unit === "L") return { typed, unit, deadband_L: typed, by: null };
  const whole_L = job.tank.capacity_L ?? total_L;
  if (unit === "percent")
    return {
      typed,
      unit,
      deadband_L: (typed * whole_L) / 100,
      by: job.tank.capacity_L === null ? "of the litres of the table" : "of the stated capacity",
    };
  const rows = foundRows(job);
  const [low, high] = [rows[0], rows[rows.length - 1]];
  const scale = readingScale(foundUnit(job), "V", job);
  const volts = low && high && scale ? Math.abs(scale.to(high.reading) - scale.to(low.reading)) : 0;
  if (!low || !high || !(volts > 0)) return { typed, unit, deadband_L: 0, by: "not known in litres: left out" };
  return {
    typed,
    unit,
    deadband_L: (typed * Math.abs(high.volume_L - low.volume_L)) / volts,
    by: "by the mean slope of the table found",
  };
}

export interface FoundDeadband {
  /** As it was found, and its unit. */
  typed: number;
  unit: "L" | "percent" | "V";
  deadband_L: number;
  /** How it became litres; null where it was litres. */
  by: string | null;
}

/** What every litre stands on that comes from the table found in the device. */
export const inFoundLitres: Issue = {
  code: "as-found/own-litres",
  says: "There is no fill run: all volumes of the drive are those of the table found in the device, right or wrong.",
  remedy: "Fill the tank in measured pours to learn how wrong that table is.",
  weight: "holds-if",
  condition: "the table found in the device is right",
};
