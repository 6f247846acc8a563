/** Complaint: the table found in the device is wrong between its ends. A fill run proves it; a table of another sender shows without one. */

import { fixed, withUnit } from "../format";
import { type Said, say } from "../said";
import { foundUnit } from "./as-found";
import type { Circuit } from "./circuit";
import { statedEnds } from "./circuit-limits";
import type { Cause } from "./complaint";
import { type FoundDevice, minutesText, unitOf } from "./complaint-device";
import { readAsOtherUnits, wrongUnit } from "./complaint-units";
import { volumeAt } from "./curve-lookup";
import type { Curve } from "./curve-types";
import type { DeviceSettings } from "./device-model";
import { lookUp, lookUpAlong, type TablePoint } from "./device-table";
import { steadyRise } from "./drive-marks";
import type { Job } from "./job";
import { litresOf, litresTo } from "./litres";

/** The outer part of the volumes, at either end, that is not called the middle. Named default, no source. */
const endShare = 0.08;
/** Ends count as right within the tolerance, or within this share of what the middle is off. Named default, no source. */
const rightEnds = 0.15;
/** What a margin may hide at an end, as a share of the litres: no reason to call a line another sender's. Named default, no source. */
const marginAtEnd = 0.06;
/** Rows this share of the sender's travel outside of it are another sender's. Named default, no source. */
const beyondTravel = 0.1;
/** An end row this share of the travel inside of it is no margin any more: a margin takes some percent. Named default, no source. */
const farInside = 0.25;
/** Share of the table by which the level must rise in a log for it to run backwards. Named default, no source. */
const leastRise = 0.01;
/** Share of a log that must read beyond the table for it to be told. Named default, no source. */
const leastBeyond = 0.2;

export const typeRows = "Type in the rows of the table leaf: they follow the curve of the fill run.";

/** 1 where the volumes of a table rise with the reading, −1 where they fall. */
const risesWith = (table: TablePoint[]): 1 | -1 => (table[table.length - 1]!.volume_L >= table[0]!.volume_L ? 1 : -1);

export interface TableErrors {
  /** Largest error between the ends, and the larger of those at both ends: shown less true, litres. */
  middle: { volume_L: number; error_L: number; standard_L: number };
  ends: { volume_L: number; error_L: number };
  tolerance_L: number;
  low_L: number;
  high_L: number;
}

/**
 * Table found against the curve of a fill run, over the volumes of the curve. Tolerance as stated, else 2 % of the capacity.
 * @param along what the table is straight in between its rows; none: the curve's readings.
 */
export function errorsOfTable(
  table: TablePoint[],
  { grid }: Pick<Curve, "grid">,
  job: Job,
  along: DeviceSettings["along"] = null,
): TableErrors | null {
  const low = Math.min(...grid.map((g) => g.volume_L));
  const high = Math.max(...grid.map((g) => g.volume_L));
  const readings = Float64Array.from(grid, (g) => g.reading);
  const shown = lookUpAlong(table, readings, along);
  // An end row that was moved in reads wrong up to its neighbour: what it hides is the end's, and no wrong middle.
  const apart = table.length > 3 ? lookUpAlong(withEndsRight(table, grid), readings, along) : shown;
  const errors = grid.map((g, i) => ({
    volume_L: g.volume_L,
    error_L: shown[i]! - g.volume_L,
    apart_L: apart[i]! - g.volume_L,
    standard_L: g.standard_L,
    part: (g.volume_L - low) / (high - low),
  }));
  const worstOf = (rows: typeof errors, of: "error_L" | "apart_L" = "error_L") =>
    rows.reduce((a, b) => (Math.abs(b[of]) > Math.abs(a[of]) ? b : a), rows[0]!);
  const tolerance = job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? high);
  const between = errors.filter((e) => e.part > endShare && e.part < 1 - endShare);
  const ends = worstOf([errors[0]!, errors[errors.length - 1]!]);
  if (between.length === 0) return null;
  const own = between.filter((e) => Math.abs(e.apart_L) > tolerance);
  const least = worstOf(between, "apart_L");
  const middle = own.length > 0 ? worstOf(own) : { ...least, error_L: least.apart_L };
  return { middle, ends, tolerance_L: tolerance, low_L: low, high_L: high };
}

/** The table with the volumes of its outer rows as the curve has them there. */
function withEndsRight(table: TablePoint[], grid: TablePoint[]): TablePoint[] {
  const last = table.length - 1;
  return table.map((r, i) => (i === 0 || i === last ? { ...r, volume_L: volumeAt({ grid }, r.reading) } : r));
}

/** Null where no error between the ends exceeds the tolerance and the band of the curve. */
export function wrongInTheMiddle(
  table: TablePoint[],
  curve: Curve,
  circuit: Circuit | null,
  job: Job,
  along: DeviceSettings["along"] = null,
): Cause | null {
  const errors = errorsOfTable(table, curve, job, along);
  if (!errors) return null;
  const { middle, ends, tolerance_L: tolerance } = errors;
  const size = Math.abs(middle.error_L);
  if (!(size > tolerance && size > 2 * middle.standard_L)) return null;
  const way = middle.error_L > 0 ? "too much" : "too little";
  const wrong = say`The display shows ${litresOf(size)} ${way} at ${litresOf(middle.volume_L)}`;
  const line = table.length <= 3;
  const hidden_L = line ? Math.min(0.5 * size, marginAtEnd * (errors.high_L - errors.low_L)) : 0;
  const onlyMiddle = Math.abs(ends.error_L) <= Math.max(tolerance, rightEnds * size, hidden_L);
  const bend_L = circuit?.twoPointBend_L ?? null;
  const figures = {
    error_L: middle.error_L,
    at_L: middle.volume_L,
    standard_L: middle.standard_L,
    endError_L: ends.error_L,
    endAt_L: ends.volume_L,
    tableRows: table.length,
    dividerBend_L: bend_L,
  };
  const base = { trouble: "wrong-in-the-middle" as const, weight: size / tolerance, figures };
  if (risesWith(table) !== curve.sense)
    return {
      ...base,
      cause: "reversed",
      says: say`${wrong}, because the table found is the wrong way round: its volumes ${risesWith(table) > 0 ? "rise" : "fall"} with the reading, and those of the fill run ${curve.sense > 0 ? "rise" : "fall"}.`,
      remedy: typeRows,
    };
  const inUnit = wrongUnit(
    { ...base, cause: "other-unit", says: wrong, remedy: typeRows },
    wrong,
    table,
    (rows) => worstOfAll(rows, curve, job, along),
    tolerance,
    job,
  );
  if (inUnit) return inUnit;
  const other = rowsOfAnother(table, curve);
  if (other) {
    const { lowReading, highReading, emptyReading, fullReading } = other;
    const at = (reading: number) => withUnit(reading, unitOf(job), 3);
    return {
      ...base,
      cause: "other-table",
      figures: { ...figures, ...other },
      says: say`${wrong}, because the table found is another sender’s: it runs from ${at(lowReading)} to ${at(highReading)}, and over the fill run the sender reads ${at(emptyReading)} empty and ${at(fullReading)} full.`,
      remedy: typeRows,
    };
  }
  if (onlyMiddle && line)
    return {
      ...base,
      cause: "straight-line",
      says: say`${wrong}, because the table found has ${table.length === 2 ? "two rows" : "three rows"} and ${table.length === 2 ? "a straight line between them" : "straight lines between them"}, where tank and circuit bend: its ends are right within ${litresOf(Math.abs(ends.error_L))}${bend_L !== null && bend_L > 0.2 * size ? say`, and the divider alone bends by ${litresOf(bend_L)}` : ""}.`,
      remedy: typeRows,
    };
  return {
    ...base,
    cause: onlyMiddle ? "rows-misplaced" : "other-table",
    says: onlyMiddle
      ? say`${wrong}, because the ${table.length} rows found lie off the tank’s curve there; its ends are right within ${litresOf(Math.abs(ends.error_L))}.`
      : say`${wrong}, and ${litresOf(Math.abs(ends.error_L))} ${ends.error_L > 0 ? "too much" : "too little"} at ${litresTo(ends.volume_L, 0)}, because the table found is not this tank’s and sender’s: ends and middle are wrong together.`,
    remedy: typeRows,
  };
}

/** Largest error of a table anywhere over the fill run. */
function worstOfAll(table: TablePoint[], curve: Curve, job: Job, along: DeviceSettings["along"]): number | null {
  const errors = errorsOfTable(table, curve, job, along);
  return errors && Math.max(Math.abs(errors.middle.error_L), Math.abs(errors.ends.error_L));
}

/**
 * Where a table runs over other readings than the fill run: an end row that lies far beyond what was read, or so far inside that no margin asks for it.
 * Rows that say the same as their neighbour only lengthen it. Null where it runs over the same.
 */
function rowsOfAnother(table: TablePoint[], { grid, sense }: Pick<Curve, "grid" | "sense">) {
  const [low, high] = [Math.min(...grid.map((g) => g.reading)), Math.max(...grid.map((g) => g.reading))];
  let [first, last] = [0, table.length - 1];
  while (last - first > 1 && table[first]!.volume_L === table[first + 1]!.volume_L) first++;
  while (last - first > 1 && table[last]!.volume_L === table[last - 1]!.volume_L) last--;
  const [from, to] = [table[first]!.reading, table[last]!.reading];
  const travel = high - low;
  const beyond = Math.max(low - from, to - high) > beyondTravel * travel;
  const inside = Math.max(from - low, high - to) > farInside * travel;
  if (!(beyond || inside)) return null;
  const [emptyReading, fullReading] = sense > 0 ? [low, high] : [high, low];
  return { lowReading: from, highReading: to, emptyReading, fullReading };
}

/**
 * Without a fill run: a table whose rows do not fit the travel of the sender as it is stated, or beyond which the log reads. Null where they fit, or
 * nothing is known to hold them against.
 */
export function otherSender(
  table: TablePoint[],
  records: FoundDevice["records"],
  circuit: Circuit | null,
  job: Job,
): Cause | null {
  const unit = foundUnit(job);
  const low = table[0]!;
  const high = table[table.length - 1]!;
  const span = high.reading - low.reading;
  const [sign, digits] = [unitOf(job), unit === "V" ? 2 : 0];
  const at = (reading: number) => `${fixed(reading, digits)}\u00a0${sign}`;
  const rows = `the table found runs from ${at(low.reading)} to ${at(high.reading)}`;
  const stated = circuit && statedEnds(job, circuit, unit);
  const cause = (name: string, says: Said, figures: Cause["figures"]): Cause => ({
    trouble: "wrong-in-the-middle",
    cause: name,
    // Not known in litres: before what is merely unsteady, since all of the display is wrong.
    weight: 1000,
    figures: { lowReading: low.reading, highReading: high.reading, error_L: null, ...figures },
    says,
    remedy: "Fill the tank in measured pours: the table leaf then tells the rows of this sender.",
  });
  if (stated && Math.abs(stated[1] - stated[0]) > 0) {
    const [empty, full] = stated;
    const figures = { emptyReading: empty, fullReading: full };
    if (risesWith(table) !== Math.sign(full - empty))
      return cause(
        "reversed",
        `The display shows full where the tank is empty, because the table found is the wrong way round: its fullest row reads ${at((risesWith(table) > 0 ? high : low).reading)}, and the sender as stated reads ${at(empty)} empty and ${at(full)} full.`,
        figures,
      );
    const [from, to] = [Math.min(empty, full), Math.max(empty, full)];
    const over = beyondTravel * (to - from);
    const slip = readAsOtherUnits(table, { ...job, tank: { ...job.tank, capacity_L: null } }).find(
      ({ table: rows, says }) =>
        says.startsWith("its readings") &&
        Math.abs(rows[0]!.reading - from) < over &&
        Math.abs(rows[rows.length - 1]!.reading - to) < over,
    );
    if (slip)
      return {
        ...cause(
          "other-unit",
          `The display is wrong by the table found as it stands in the job, because ${slip.says}: ${rows}, and the sender as stated reads ${at(from)} to ${at(to)} over its whole travel.`,
          figures,
        ),
        remedy:
          "Look at the device: if it takes its readings in that unit, state so in the job; if not, its table must be typed anew.",
      };
    if (low.reading < from - over || high.reading > to + over)
      return cause(
        "other-sender",
        `The display is wrong because its table is another sender’s: ${rows}, and the sender as stated reads ${at(from)} to ${at(to)} over its whole travel.`,
        figures,
      );
  }
  for (const { record } of records) {
    const rise_L = steadyRise(lookUp(table, record.reading), (i) => !record.faulty[i]);
    const most_L = Math.max(...table.map((r) => r.volume_L)) - Math.min(...table.map((r) => r.volume_L));
    if (rise_L === null || rise_L < leastRise * most_L) continue;
    const minutes = (record.reading.length * record.interval_s) / 60;
    return cause(
      "reversed",
      say`The display climbs by ${litresOf(rise_L)} in ${minutesText(minutes)} while fuel is only burnt, steadily and not in one refuel, because the table found is the wrong way round, or the sender is wired so.`,
      { rise_L },
    );
  }
  let n = 0;
  let below = 0;
  let above = 0;
  for (const { record } of records)
    for (let i = 0; i < record.reading.length; i++) {
      if (record.faulty[i]) continue;
      n++;
      if (record.reading[i]! < low.reading - beyondTravel * span) below++;
      else if (record.reading[i]! > high.reading + beyondTravel * span) above++;
    }
  const most = Math.max(below, above);
  if (!(most > leastBeyond * n)) return null;
  return cause(
    "other-sender",
    `The display stands at an end for ${fixed((100 * most) / n, 0)} % of the log because the sender reads beyond its table: ${rows}, and the log reads ${below > above ? "less" : "more"} than that.`,
    { beyond_fraction: most / n },
  );
}
