/** A complaint that only a fill run can prove: the table found in the device is wrong between its ends. */
import { fixed, withUnit } from "../format";
import type { Circuit } from "./circuit";
import type { Cause } from "./complaint";
import type { Curve } from "./curve-types";
import { lookUp, type TablePoint } from "./device-table";
import type { Job } from "./job";

/** The outer part of the volumes, at either end, that is not called the middle. Named default, no source. */
const endShare = 0.08;
/** Ends count as right within the tolerance, or within this share of what the middle is off. Named default, no source. */
const rightEnds = 0.15;

/**
 * Table found against the curve of the fill run, over the volumes of the curve. Null where no middle error exceeds the tolerance (as
 * stated, else 2 % of the capacity) and the band of the curve.
 */
export function wrongInTheMiddle(table: TablePoint[], curve: Curve, circuit: Circuit | null, job: Job): Cause | null {
  const { grid } = curve;
  const low = Math.min(...grid.map((g) => g.volume_L));
  const high = Math.max(...grid.map((g) => g.volume_L));
  const shown = lookUp(
    table,
    Float64Array.from(grid, (g) => g.reading),
  );
  const errors = grid.map((g, i) => ({
    volume_L: g.volume_L,
    error_L: shown[i]! - g.volume_L,
    standard_L: g.standard_L,
    part: (g.volume_L - low) / (high - low),
  }));
  const worstOf = (rows: typeof errors) =>
    rows.reduce((a, b) => (Math.abs(b.error_L) > Math.abs(a.error_L) ? b : a), rows[0]!);
  const middle = worstOf(errors.filter((e) => e.part > endShare && e.part < 1 - endShare));
  const ends = worstOf([errors[0]!, errors[errors.length - 1]!]);
  const tolerance = job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? high);
  if (!middle || !ends) return null;
  const size = Math.abs(middle.error_L);
  if (!(size > tolerance && size > 2 * middle.standard_L)) return null;
  const way = middle.error_L > 0 ? "too much" : "too little";
  const wrong = `The display shows ${withUnit(size, "L", 2)} ${way} at ${withUnit(middle.volume_L, "L", 2)}`;
  const onlyMiddle = Math.abs(ends.error_L) <= Math.max(tolerance, rightEnds * size);
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
  if (onlyMiddle && table.length <= 3)
    return {
      ...base,
      cause: "straight-line",
      says: `${wrong}, because the table found has ${table.length === 2 ? "two rows" : "three rows"} and ${table.length === 2 ? "a straight line between them" : "straight lines between them"}, where tank and circuit bend: its ends are right within ${withUnit(Math.abs(ends.error_L), "L", 2)}${bend_L !== null && bend_L > 0.2 * size ? `, and the divider alone bends by ${withUnit(bend_L, "L", 2)}` : ""}.`,
      remedy: "Type in the rows of the table leaf: they follow the curve of the fill run.",
    };
  return {
    ...base,
    cause: onlyMiddle ? "rows-misplaced" : "other-table",
    says: onlyMiddle
      ? `${wrong}, because the ${table.length} rows found lie off the tank’s curve there; its ends are right within ${withUnit(Math.abs(ends.error_L), "L", 2)}.`
      : `${wrong}, and ${withUnit(Math.abs(ends.error_L), "L", 2)} ${ends.error_L > 0 ? "too much" : "too little"} at ${fixed(ends.volume_L, 0)} L, because the table found is not this tank’s and sender’s: ends and middle are wrong together.`,
    remedy: "Type in the rows of the table leaf: they follow the curve of the fill run.",
  };
}
