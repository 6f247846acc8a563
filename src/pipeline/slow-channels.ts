/** Channels that are logged more seldom than the file has rows: their blank cells are no values. */
import type { Column } from "./recording";

/** A blank holds the value before it for so many of the channel's usual spacings; longer than that it was not logged. Named default, no source. */
const mostHeld = 5;
/** From this share of blanks on, evenly spread, the reading is one that is logged more seldom. Named default, no source. */
const mostlyBlank = 0.4;
/** Share of the spacings that must be the usual one, within a row. Named default, no source. */
const evenShare = 0.9;

type Cells = Pick<Column, "values" | "valid">;

/** How many rows lie from one value to the next, in the middle, and which share of them lies within a row of that; null under ten values. */
function spacingOf(valid: ArrayLike<number>): { rows: number; even: number } | null {
  const steps: number[] = [];
  let last = -1;
  for (let i = 0; i < valid.length; i++) {
    if (!valid[i]) continue;
    if (last >= 0) steps.push(i - last);
    last = i;
  }
  if (steps.length < 9) return null;
  const sorted = Int32Array.from(steps).sort();
  const rows = sorted[sorted.length >> 1]!;
  return { rows, even: steps.filter((s) => Math.abs(s - rows) <= 1).length / steps.length };
}

/**
 * The values of a channel on the kept rows, each blank with the value before it: so a device that sends once a second is seen between two of its
 * messages. NaN before the first value, and where none came for long.
 */
export function heldValues({ values, valid }: Cells, keep: Int32Array): Float64Array {
  const out = new Float64Array(keep.length);
  const longest = mostHeld * (spacingOf(valid)?.rows ?? 1);
  let row = -1;
  let last = -1;
  for (let k = 0; k < keep.length; k++) {
    const to = keep[k]!;
    for (row++; row <= to; row++) if (valid[row]) last = row;
    row = to;
    out[k] = last < 0 || to - last > longest ? Number.NaN : values[last]!;
  }
  return out;
}

/**
 * The kept rows that hold a reading, where the reading is logged more seldom than the file has rows (evenly, and at most on every other row).
 * @returns null where blanks are lone ones or come unevenly: such a row stays, as a blank. `every`: rows from one reading to the next.
 */
export function rowsWithReading({ valid }: Cells, keep: Int32Array): { keep: Int32Array; every: number } | null {
  const filled = keep.filter((i) => valid[i] === 1);
  if (filled.length > (1 - mostlyBlank) * keep.length) return null;
  const spacing = spacingOf(Uint8Array.from(keep, (i) => valid[i]!));
  return spacing && spacing.rows >= 2 && spacing.even >= evenShare ? { keep: filled, every: spacing.rows } : null;
}
