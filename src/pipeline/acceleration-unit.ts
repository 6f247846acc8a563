/** Accelerations without a unit: are they what a vehicle does in g? */
import type { Issue } from "../answer";
import { fixed } from "../format";
import { STANDARD_GRAVITY } from "../units";
import type { Recording } from "./recording";
import { heldValues } from "./slow-channels";

/** Seconds of a mean: what is quicker is shaking. Named default, no source. */
const sustained_s = 2;
/** What lasts two seconds on a road, as a root mean square about its mean: over this many g it is a race track, or metres per second squared. Named default, no source. */
const most_g = 0.6;

/** One caution for all columns whose header names no unit and whose values are large for g. They are taken as g. */
export function accelerationsOf(recording: Recording, keep: Int32Array, interval_s: number): Issue[] {
  const large = recording.columns.flatMap((column) => {
    if ((column.role !== "along" && column.role !== "across") || column.unit !== null) return [];
    const rms = sustainedRms(heldValues(column, keep), Math.max(1, Math.round(sustained_s / interval_s)));
    return rms > most_g ? [{ header: column.header, rms }] : [];
  });
  if (large.length === 0) return [];
  const worst = large.reduce((a, b) => (b.rms > a.rms ? b : a));
  return [
    {
      code: "drive-log/acceleration-unit",
      says: `${recording.file} does not say the unit of its accelerations (${large.map((c) => `“${c.header}”`).join(", ")}); they are taken as g, and ${fixed(worst.rms, 1)} g that last (root mean square) are more than most vehicles do: in m/s², what is told a g of tilt would be ${fixed(STANDARD_GRAVITY, 1)} times too small.`,
      remedy: "Write the unit into the head of the column: g or m/s².",
      where: { file: recording.file, column: worst.header },
      weight: "holds-if",
      condition: "the accelerations are in g",
    },
  ];
}

/** Root mean square about the mean of means over `rows` rows. */
function sustainedRms(values: Float64Array, rows: number): number {
  const means: number[] = [];
  for (let from = 0; from + rows <= values.length; from += rows) {
    const block = values.subarray(from, from + rows).filter((v) => !Number.isNaN(v));
    if (block.length > 0) means.push(block.reduce((sum, v) => sum + v, 0) / block.length);
  }
  const mean = means.reduce((sum, v) => sum + v, 0) / Math.max(1, means.length);
  return Math.sqrt(means.reduce((sum, v) => sum + (v - mean) ** 2, 0) / Math.max(1, means.length));
}
