/** As found: the table in the device as a curve, for a complaint that comes with a drive log and no fill run. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import type { VolumeByReading } from "./curve-types";
import { type Job, unusableOffset_L } from "./job";

/** The table found in the device, readings rising: its volumes are what it showed, so the base of the display is taken off again. */
export function foundRows(job: Job): { reading: number; volume_L: number }[] {
  const offset_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
  return job.asFound.table
    .map((r) => ({ reading: r.reading, volume_L: r.volume_L + offset_L }))
    .sort((a, b) => a.reading - b.reading);
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
      says: "There is no fill run, and the job states no table that was found in the device.",
      remedy: "Bring a fill run, or copy the device's table into the job: two rows or more.",
    });
  const twice = grid.find((row, i) => i > 0 && row.reading === grid[i - 1]!.reading);
  if (twice)
    return stuck({
      code: "as-found/twice",
      says: `The table found in the device gives two volumes for the reading ${twice.reading}.`,
      remedy: "Correct the table in the job.",
    });
  return ready({ readingUnit: job.readingUnit ?? "V", grid });
}

/** What every litre stands on that comes from the table found in the device. */
export const inFoundLitres: Issue = {
  code: "as-found/own-litres",
  says: "There is no fill run: all litres of the drive are those of the table found in the device, right or wrong.",
  remedy: "Fill the tank in measured pours to learn how wrong that table is.",
  weight: "holds-if",
  condition: "the table found in the device is right",
};
