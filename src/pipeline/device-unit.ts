/**
 * Device unit: a table is straight between its rows in the unit that the device reads, and the device smooths there. Volts beside ohms are no
 * straight line of each other, so a replay takes record and rows into that unit first.
 */
import type { ReadingUnit } from "./job";
import { type ReadingScale, readingScale, type ScaleJob } from "./reading-scale";

/**
 * From the curve's readings to those of a table; null where both are ohms or neither is (then one is the other times a number), and where the
 * job does not say how one becomes the other.
 * @param table unit of the table's readings.
 */
export function deviceScale(
  curve: ReadingUnit,
  table: ReadingUnit | "mV",
  job: ScaleJob,
): { unit: ReadingUnit; scale: ReadingScale } | null {
  if ((curve === "ohm") === (table === "ohm")) return null;
  const unit = table === "ohm" ? "ohm" : "V";
  const scale = readingScale(curve, unit, job);
  return scale && { unit, scale: unit === "ohm" ? { to: readOhms(scale), from: scale.from } : scale };
}

/** What a meter of ohms shows of an open wire at most. Named default, no source. */
const open_ohm = 1e5;

/** Readings as a meter of ohms shows them: an open wire stays a number, and a reading under the ground is none. A blank stays one. */
export const readOhms =
  ({ to }: ReadingScale) =>
  (reading: number): number =>
    Math.min(open_ohm, Math.max(0, to(reading)));

/** A record, or rows, with readings in the device's unit. */
export const recordIn = <T extends { reading: Float64Array }>(record: T, scale: ReadingScale | null): T =>
  scale ? { ...record, reading: record.reading.map(scale.to) } : record;
export const rowsIn = <T extends { reading: number }>(rows: T[], scale: ReadingScale | null): T[] =>
  scale ? rows.map((row) => ({ ...row, reading: scale.to(row.reading) })) : rows;
