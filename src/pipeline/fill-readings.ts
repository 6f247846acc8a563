/** Fill readings: which column of a recording holds the readings of a run, and in which unit. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import type { FillJob, ReadingUnit } from "./job";
import { unitByValues } from "./reading-unit";
import { type Column, columnsIn, type Recording } from "./recording";
import { byColumn, byJob, mendedBy } from "./ways";

/**
 * @param before the unit of the job, or of the runs before; null while nothing says it.
 * @returns stuck `fill-run/no-reading`, `fill-run/units-differ`; cautions for readings in percent, and for a unit that was assumed.
 */
export function readingsOf(
  recording: Recording,
  job: FillJob,
  before: ReadingUnit | null,
  cautions: Issue[],
): Answer<{ column: Column; unit: ReadingUnit }> {
  const column = recording.columns.find((c) => c.role === "reading");
  if (!column)
    return stuck({
      code: "fill-run/no-reading",
      says: `${recording.file} has no column that looks like a reading${columnsIn(recording)}.`,
      ...mendedBy(byColumn("reading"), (way) => `Name the column of readings ${way}.`),
      where: { file: recording.file },
    });
  const unit = unitOf(column, job, before);
  const where = { file: recording.file, column: column.header };
  if (column.unit === "percent")
    cautions.push({
      code: "fill-run/percent",
      says: `${recording.file} has its readings in percent; they are taken as the device’s own counts, and the table is rounded to whole ones unless the job states the device’s step.`,
      ...mendedBy(byJob("State the step of the table’s readings in the job", "device.tableReadingStep=0.1"), (way) =>
        way.startsWith("with")
          ? `State that step ${way}, if the device takes tenths.`
          : `${way}, if the device takes tenths.`,
      ),
      where,
      weight: "note",
    });
  if (column.unit === null && job.readingUnit === null) {
    const taken = { V: "volts", ohm: "ohms", count: "counts" }[unit];
    cautions.push({
      code: "fill-run/reading-unit",
      says: `${recording.file} does not say the unit of its readings; they are taken as ${taken}.`,
      remedy: "State the unit in the job.",
      weight: "holds-if",
      condition: `the readings are ${taken}`,
    });
  }
  if (before !== null && column.unit !== null && unit !== before)
    return stuck({
      code: "fill-run/units-differ",
      says: `${recording.file} has readings in ${unit}, the job says ${before}.`,
      remedy: "Correct the reading unit in the job, or bring the readings in one unit.",
      where,
    });
  return ready({ column, unit: before ?? unit });
}

function unitOf(column: Column, job: FillJob, before: ReadingUnit | null): ReadingUnit {
  switch (column.unit) {
    case "ohm":
    case "V":
    case "count":
      return column.unit;
    case "percent":
      return "count";
    default:
      return before ?? unitByValues(column, job);
  }
}
