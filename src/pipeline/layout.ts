/** Layout: where in a file the numbers begin, which row is the header, which the units. */
import { type Dialect, parseNumber, type Row } from "../csv";
import { quantityOf } from "./cell-units";
import { clockOf } from "./clock-time";
import { unitOf } from "./header-units";

export interface Layout {
  header: Row | null;
  units: Row | null;
  /** Index of the first data row among the rows given; -1 where no row holds numbers. */
  start: number;
  /** Cells in a data row. */
  width: number;
}

/** Rows that the layout is judged by; a longer preamble is read in full. */
export const layoutRows = 500;

const hasText = (cell: string) => cell.trim() !== "";
const missingMark = /^(nan|na|n\/a|#n\/a|#n\/v|null|none|-+|\?+|x|ovf|ol|inf|-inf|\+inf|infinity|-infinity|#div\/0!)$/i;

/** A cell that says by itself that there is no number: blank in all but name. */
export const isMissingMark = (cell: string): boolean => missingMark.test(cell.trim());

/**
 * The numbers begin with the first row that is numbers in every column where the file holds numbers, and that more such rows
 * follow; the header is the row of names right above it, with a units row between at most.
 * @param headerLine line of the header where the user has named it.
 */
export function findLayout(rows: Row[], decimal: "." | ",", headerLine?: number | null): Layout {
  const head = rows.slice(0, layoutRows);
  const found = layoutOf(head, decimal, headerLine);
  return found.start < 0 && rows.length > head.length ? layoutOf(rows, decimal, headerLine) : found;
}

function layoutOf(rows: Row[], decimal: "." | ",", headerLine?: number | null): Layout {
  const isNumber = (cell: string) => parseNumber(cell, decimal) !== null || clockOf(cell) !== null;
  const withUnits = columnsWithUnits(rows, decimal);
  const isQuantity = (cell: string) => isNumber(cell) || quantityOf(cell, decimal) !== null;
  const numeric = rows.map((r) => {
    // A row that is nothing but numbers is data with its units in it, whatever other rows do.
    const given = r.cells.filter(hasText);
    const throughout = given.length >= 2 && given.every(isQuantity);
    return r.cells.map((cell, c) => (throughout || withUnits.has(c) ? isQuantity(cell) : isNumber(cell)));
  });
  const count = numeric.map((n) => n.filter(Boolean).length);
  const filled = rows.map((r) => r.cells.filter(hasText).length);
  const mostly = rows.map((r, i) => count[i]! >= 1 && count[i]! >= 0.5 * filled[i]! && !isSetting(r));
  const widths = new Map<number, number>();
  rows.forEach((r, i) => {
    if (mostly[i]) widths.set(r.cells.length, (widths.get(r.cells.length) ?? 0) + 1);
  });
  const width = [...widths].sort((a, b) => b[1] - a[1] || b[0] - a[0])[0]?.[0] ?? 0;
  // A column counts as numbers if most of its filled cells are, over the rows of that width.
  const alike = rows.flatMap((r, i) => (mostly[i] && r.cells.length === width ? [i] : []));
  const holdsNumbers = Array.from({ length: width }, (_, c) => {
    const cells = alike.filter((i) => hasText(rows[i]!.cells[c]!));
    return cells.length > 0 && cells.filter((i) => numeric[i]![c]).length > 0.5 * cells.length;
  });
  const isData = rows.map(
    (r, i) =>
      mostly[i]! &&
      r.cells.length >= Math.min(2, width) &&
      r.cells.length <= width + 1 &&
      r.cells.every((cell, c) => !holdsNumbers[c] || !hasText(cell) || numeric[i]![c] || isMissingMark(cell)),
  );
  const none: Layout = { header: rows[rows.length - 1] ?? null, units: null, start: -1, width };
  if (headerLine !== undefined && headerLine !== null) {
    const start = rows.findIndex((r, i) => r.line > headerLine && mostly[i]);
    const header = rows.find((r) => r.line === headerLine) ?? null;
    if (start < 0) return { ...none, header };
    const between = rows[start - 1];
    return { header, units: between && between.line > headerLine && isUnits(between) ? between : null, start, width };
  }
  let start = rows.findIndex((_, i) => isData[i] && followed(isData, i));
  if (start < 0) start = rows.findIndex((_, i) => mostly[i]);
  if (start < 0) return none;

  // Rows with one cell that is no number right under the header are data with a slip in them, not part of the preamble.
  let above = start;
  while (above > 0 && mostly[above - 1] && rows[above - 1]!.cells.length === width) above--;
  if (above < start && (above === 0 || namesAt(rows, above - 1, width, isNumber))) start = above;
  return { ...headerAbove(rows, start, width, isNumber), start, width };
}

/**
 * A sheet that lies on its side: every line is one quantity, its name before four numbers or more, and there are fewer such lines than numbers in them.
 * @returns the lines, or null.
 */
export function sideways(rows: Row[], decimal: "." | ","): Row[] | null {
  const lies = rows.filter(({ cells }) => {
    const given = cells.filter(hasText);
    return (
      /\p{L}/u.test(cells[0] ?? "") &&
      quantityOf(cells[0]!, decimal) === null &&
      given.length >= 5 &&
      given.slice(1).every((c) => parseNumber(c, decimal) !== null)
    );
  });
  const width = lies[0]?.cells.filter(hasText).length ?? 0;
  const others = rows.filter((r) => !lies.includes(r) && r.cells.filter(hasText).length >= Math.max(3, width / 2));
  return lies.length >= 2 && lies.length < width - 1 && others.length === 0 ? lies : null;
}

/** `name =` or `name:` with its value beside it. */
const isSetting = (row: Row) => row.cells.some((c) => /[\p{L})][^\S\n]*[:=]\s*$/u.test(c));

/** Columns whose cells have their unit in them more often than not: elsewhere "50 Hz" stands in a preamble. */
function columnsWithUnits(rows: Row[], decimal: "." | ","): Set<number> {
  const more: number[] = [];
  for (const { cells } of rows)
    cells.forEach((cell, c) => {
      if (parseNumber(cell, decimal) !== null) more[c] = (more[c] ?? 0) - 1;
      else if (quantityOf(cell, decimal)) more[c] = (more[c] ?? 0) + 1;
    });
  return new Set([...more.keys()].filter((c) => (more[c] ?? 0) > 0));
}

/** The columns' names, as the header has them, else by their number from the left. */
export function namesOf({ header, width }: Layout): string[] {
  const named = (header?.cells ?? []).map((c) => c.trim());
  if (named[0]?.startsWith("#")) named[0] = named[0].replace(/^#+\s*/, "");
  return Array.from({ length: width }, (_, c) => named[c] || `column ${c + 1}`);
}

/** At least two of the next three rows are data too, or all there are. */
function followed(isData: boolean[], i: number): boolean {
  const next = isData.slice(i + 1, i + 4);
  return next.filter(Boolean).length >= Math.min(2, next.length);
}

const isUnits = (row: Row) =>
  row.cells.some(hasText) &&
  row.cells.every((c) => !hasText(c) || unitOf(bare(c)) !== null || /^[[(]?-+[\])]?$/.test(c.trim()));
const bare = (cell: string) => cell.trim().replace(/^[[(]\s*|\s*[\])]$/g, "");

/** A row of names: text in at least half of the columns, no number, and no `name =` or `name:` that has its value beside it. */
function namesAt(rows: Row[], i: number, width: number, isNumber: (cell: string) => boolean): boolean {
  const cells = rows[i]!.cells;
  const named = cells.filter(hasText);
  return (
    named.length >= Math.max(Math.min(2, width), 0.5 * width) &&
    cells.length <= width + 1 &&
    !named.some(isNumber) &&
    !named.some((c) => /[:=]\s*$/.test(c)) &&
    named.some((c) => /[\p{L}%]/u.test(c))
  );
}

function headerAbove(
  rows: Row[],
  start: number,
  width: number,
  isNumber: (cell: string) => boolean,
): Pick<Layout, "header" | "units"> {
  let at = start - 1;
  // A ruled line between header and numbers holds no letter and no digit.
  while (at >= 0 && !/[\p{L}\d%]/u.test(rows[at]!.cells.join(""))) at--;
  if (at < 0) return { header: null, units: null };
  if (isUnits(rows[at]!) && at > 0 && namesAt(rows, at - 1, width, isNumber))
    return { header: rows[at - 1]!, units: rows[at]! };
  return { header: namesAt(rows, at, width, isNumber) ? rows[at]! : null, units: null };
}

/** Names in the header where commas split numbers in two: more cells than names, all whole numbers. Null where that is not so. */
export function splitDecimals(
  rows: Row[],
  { header, start, width }: Layout,
  dialect: Pick<Dialect, "delimiter" | "decimal">,
): number | null {
  if (dialect.delimiter !== "," || dialect.decimal !== "." || header === null || header.cells.length >= width)
    return null;
  const data = rows.slice(start, start + layoutRows).filter((r) => r.cells.length > header.cells.length);
  const whole = data.every((r) => r.cells.every((c) => !c.includes(".")));
  return whole && data.some((r) => r.cells.slice(header.cells.length).some((c) => c.trim() !== ""))
    ? header.cells.length
    : null;
}
