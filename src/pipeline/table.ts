/** Table: which numbers go into the device? Cut after the ends are moved in, searched on the device's own rounded lattice. */

import { type Answer, ready, stuck } from "../answer";
import { decimalsOfStep } from "../format";
import { type Place, pieceError } from "../math/piecewise-minimax";
import { say } from "../said";
import { litresPer } from "../units";
import type { Choices } from "./choices";
import { interpolate, volumeAt } from "./curve-lookup";
import type { Curve } from "./curve-types";
import type { EndJob } from "./end-table";
import type { EndMargin } from "./ends";
import { unusableOffset_L } from "./job";
import { litresTo } from "./litres";
import { type ReadingScale, readingScale } from "./reading-scale";
import { inSteps, type RowSteps, roomForRows, rowsAlong, rowsOn } from "./table-rows";
import { litresNotStated, type StatedUnit } from "./table-unit";

export interface TableRow {
  /** In the curve's reading unit and litres since the start. */
  reading: number;
  volume_L: number;
  /** The very digits to type, in the device's units, step and base (usable or since start). */
  typedReading: string;
  typedVolume: string;
}

export interface Table {
  rows: TableRow[];
  readingUnit: "V" | "mV" | "ohm" | "count";
  /** Unit of the rows' own `reading`: that of the curve. */
  curveUnit: "V" | "ohm" | "count";
  volumeUnit: "L" | "USgal" | "impgal" | "percent";
  base: "usable" | "since-start";
  /** Largest and RMS distance from the curve between the ends, litres, rounding included. */
  error_L: number;
  rms_L: number;
  errorAt: number;
  /** Best error for each number of points, for the figure. */
  byPoints: { points: number; error_L: number }[];
  twoPoint: { rows: TableRow[]; error_L: number; rms_L: number };
  /** The table with the sheet as written, beside it; null when nothing was treated. */
  asWritten: { rows: TableRow[]; error_L: number } | null;
  recommendedPoints: number;
  /** What the recommended number of rows would do: the same as above unless another number was chosen. */
  recommended: { points: number; error_L: number; rms_L: number };
  overridden: boolean;
}

/** What of the curve and of the ends a table is cut from. */
export interface TableCurve extends Pick<Curve, "readingUnit" | "grid" | "asWritten"> {
  overall: Pick<Curve["overall"], "bandHalfWidth_L">;
}
export type TableEnds = Record<"empty" | "full", Pick<EndMargin, "reading" | "shows_L" | "meets">>;

/**
 * Wanted distance of the table from the curve: a tenth of the tolerance, or a quarter of the band's widest half-width if that is less.
 * Rows cost a minute of typing, and their error adds to the curve's own (named defaults, no source).
 */
const shareOfTolerance = 0.1;
const shareOfBand = 0.25;
/** Rounding alone leaves half a step; no number of rows does better than about this many volume steps. */
const leastSteps = 0.75;

/**
 * Cuts the table.
 *
 * The first row stands where the empty end was moved in and says what "empty" shows; the last stands at the full end and
 * says what "full" shows: the device holds both outside. So 0 shows before the pick-up runs dry, never after, and the
 * litres hidden at the ends are the only place where table and curve part on purpose.
 *
 * @returns stuck `table/unit` when the device's reading unit cannot be reached from the curve's; `table/ends` when the moved-in
 *   ends leave no travel; caution when the device takes too few points for the wanted error.
 */
export function cutTable(
  curve: TableCurve,
  ends: TableEnds,
  job: EndJob & StatedUnit,
  choice: Choices["table"],
): Answer<Table> {
  const { device } = job;
  const readingUnit = device.tableReadingUnit ?? curve.readingUnit;
  const reading = readingScale(curve.readingUnit, readingUnit, job);
  if (!reading)
    return stuck({
      code: "table/unit",
      says: `The device wants its table in ${readingUnit}, the fill run was read in ${curve.readingUnit}, and the job does not say how one becomes the other.`,
      remedy: "State pull-up and supply in the job, or fill again with readings of the device itself.",
    });
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const perUnit =
    litresPer(device.tableVolumeUnit, { density_kg_per_L: null, capacity_L: job.tank.capacity_L ?? total_L }) ?? 1;
  const offset_L = device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
  const stepX = device.tableReadingStep ?? (readingUnit === "V" ? 0.01 : 1);
  const stepY = device.tableVolumeStep;
  const steps: RowSteps = { stepX, stepY, equal: device.spacing === "equal" };

  const lowReading = Math.min(ends.empty.reading, ends.full.reading);
  const highReading = Math.max(ends.empty.reading, ends.full.reading);
  if (!(highReading - lowReading > 0))
    return stuck({
      code: "table/ends",
      says: "The ends moved in leave no travel between them.",
      remedy: "Make the margins smaller.",
    });
  const emptyShows = ends.empty.shows_L;
  const fullShows = ends.full.shows_L;
  const lowIsEmpty = ends.empty.reading < ends.full.reading;
  const typed = (v_L: number) => (v_L - offset_L) / perUnit;
  // The curve in the device's own units, on a fine grid, and the rows of both ends.
  const fine = Array.from({ length: 101 }, (_, i) => lowReading + ((highReading - lowReading) * i) / 100);
  const place = (r: number): Place => ({ x: reading.to(r), y: typed(volumeAt(curve, r) + offCurve(curve, ends, r)) });
  const dense = fine.map(place);
  if (!dense.every((p, i) => Number.isFinite(p.x) && Number.isFinite(p.y) && (i === 0 || p.x > dense[i - 1]!.x)))
    return stuck({
      code: "table/unit",
      says: `Readings of the fill run lie outside what the stated circuit can show, so ${curve.readingUnit} cannot be turned into ${readingUnit}.`,
      remedy: "Check supply and pull-up in the job.",
    });
  const [lowShows, highShows] = lowIsEmpty ? [emptyShows, fullShows] : [fullShows, emptyShows];
  const lowEnd = inSteps({ x: dense[0]!.x, y: typed(lowShows) }, steps);
  const highEnd = inSteps({ x: dense[dense.length - 1]!.x, y: typed(highShows) }, steps);
  if (!(highEnd.x > lowEnd.x))
    return stuck({
      code: "table/ends",
      says: `In steps of ${stepX} ${readingUnit} both ends of the table are the same reading.`,
      remedy: "Check the reading step of the device in the job.",
    });

  const most = Math.max(2, Math.min(device.maxTablePoints, roomForRows(lowEnd, highEnd, steps)));
  // Next to an end the table runs into what that end shows; from one and a half reading steps on it must follow the curve.
  const clear = (p: Place) => p.x > lowEnd.x + 1.5 * stepX && p.x < highEnd.x - 1.5 * stepX;
  const judged = [lowEnd, ...dense.filter(clear), highEnd];
  const { levelled, rowsFor } = rowsAlong(judged, most, steps);
  const tolerance_L = job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? total_L);
  const wanted = Math.max(
    leastSteps * stepY,
    Math.min(shareOfTolerance * tolerance_L, shareOfBand * curve.overall.bandHalfWidth_L) / perUnit,
  );
  const enough = levelled.find((b) => b.error <= wanted) ?? levelled.reduce((a, b) => (b.error < a.error ? b : a));
  const recommended = enough.points;
  // A table has whole rows, whatever a saved notebook says.
  const count = Math.max(2, Math.min(most, Math.round(choice.points ?? recommended)));
  const chosen = rowsFor(count);
  const toRow = (p: Place): TableRow => ({
    reading: reading.from(p.x),
    volume_L: p.y * perUnit + offset_L,
    typedReading: p.x.toFixed(decimalsOfStep(stepX)),
    typedVolume: p.y.toFixed(decimalsOfStep(stepY)),
  });
  const inOrder = (rows: Place[]) => {
    const rising = [...rows].sort((a, b) => a.x - b.x).map(toRow);
    return device.tableOrder === "falling" ? rising.reverse() : rising;
  };
  // Both table and curve are straight between their own points, so that at these points the distance is at its largest.
  const nodes = curve.grid.map((g) => g.reading).filter((r) => r > lowReading && r < highReading);
  const errorOf = (rows: Place[]) => {
    const corners = rows.map((p) => place(reading.from(p.x)));
    const all = [...dense, ...nodes.map(place), ...corners].filter(clear).sort((p, q) => p.x - q.x);
    const worst = pieceError(rows, [lowEnd, ...all, highEnd]);
    return { ...worst, rms: pieceError(rows, judged).rms };
  };
  const error = errorOf(chosen);
  const overridden = choice.points !== null && choice.points !== recommended;
  const recommendedError = overridden ? errorOf(rowsFor(recommended)) : error;
  const two = [lowEnd, highEnd];
  const twoError = errorOf(two);
  const cautions = litresNotStated("table", job);
  if (device.tableVolumeUnit === "percent" && job.tank.capacity_L === null)
    cautions.push({
      code: "table/percent-of-pours",
      says: say`The table is in percent, and the job states no capacity: 100 % is taken as the ${litresTo(total_L, 1)} of the run.`,
      remedy: "State the tank’s capacity in the job.",
      weight: "holds-if",
      condition: say`the tank holds ${litresTo(total_L, 1)}`,
    });
  if (choice.points !== null && choice.points > most)
    cautions.push({
      code: "table/points-over-limit",
      says: `You asked for ${choice.points} rows; the device or its reading step has room for ${most}.`,
      remedy: "Check the most rows and the reading step in the job.",
      weight: "note",
    });
  if (error.worst > wanted * 1.5)
    cautions.push({
      code: "table/few-points",
      says: say`With ${count} rows the table stays ${litresTo(error.worst * perUnit, 2)} off at worst, more than the ${litresTo(wanted * perUnit, 2)} wanted (a tenth of the tolerance, or a quarter of the band).`,
      remedy: "Allow more rows, or a finer step, if the device can.",
      weight: "note",
    });
  return ready(
    {
      rows: inOrder(chosen),
      readingUnit,
      curveUnit: curve.readingUnit,
      volumeUnit: device.tableVolumeUnit,
      base: device.shows,
      error_L: error.worst * perUnit,
      rms_L: error.rms * perUnit,
      errorAt: reading.from(error.at),
      byPoints: levelled.map((b) => ({ points: b.points, error_L: b.error * perUnit })),
      twoPoint: { rows: inOrder(two), error_L: twoError.worst * perUnit, rms_L: twoError.rms * perUnit },
      asWritten: writtenTable(curve, dense, (course) => rowsOn(course, count, most, steps), {
        reading,
        typed,
        inOrder,
        perUnit,
      }),
      recommendedPoints: recommended,
      recommended: {
        points: recommended,
        error_L: recommendedError.worst * perUnit,
        rms_L: recommendedError.rms * perUnit,
      },
      overridden,
    },
    cautions,
  );
}

/** How places of the device's units are written as rows. */
interface Writing {
  reading: ReadingScale;
  typed: (v_L: number) => number;
  inOrder: (rows: Place[]) => TableRow[];
  perUnit: number;
}

/** Litres by which the table is to stand off the curve next to an end: it runs from what the end shows onto the curve. */
function offCurve(curve: TableCurve, ends: TableEnds, reading: number): number {
  let off_L = 0;
  for (const end of [ends.empty, ends.full]) {
    const t = (reading - end.reading) / (end.meets - end.reading);
    if (Number.isFinite(t) && t >= 0 && t < 1) off_L += (1 - t) * (end.shows_L - volumeAt(curve, end.reading));
  }
  return off_L;
}

/** The table as it would be with the sheet as written, under the same rules: most rows, steps, spacing. */
function writtenTable(
  curve: TableCurve,
  dense: Place[],
  rowsOf: (course: Place[]) => Place[],
  { reading, typed, inOrder, perUnit }: Writing,
): Table["asWritten"] {
  if (!curve.asWritten) return null;
  const grid = curve.asWritten.grid;
  const written = dense.map((p) => ({ x: p.x, y: typed(interpolate(grid, reading.from(p.x), (g) => g.volume_L)) }));
  const rows = rowsOf(written);
  return { rows: inOrder(rows), error_L: pieceError(rows, written).worst * perUnit };
}
