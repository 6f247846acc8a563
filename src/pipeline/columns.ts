/** Columns: the cells of the data rows as numbers, by papaparse's rows or, for a long regular table, straight from its bytes. */
import type { Issue } from "../answer";
import { type Dialect, parseNumber, parseRows, type Row } from "../csv";
import { scanNumbers } from "../math/scan-numbers";
import { quantityOf, type UnitCell } from "./cell-units";
import { acrossMidnight, clockOf, daysBetween } from "./clock-time";
import type { HeaderUnit } from "./header-units";
import { isMissingMark } from "./layout";

/** A column while it is being read: raw values, and what stood there instead of a number. */
export interface Draft {
  header: string;
  unit: HeaderUnit | null;
  values: Float64Array;
  decimals: number;
  isClock: boolean;
  /** Dates as written, in order of first sight, and for each row which one; null without dates. */
  dates: string[];
  dateOf: Int32Array | null;
  /** Cells that are text, and cells that say themselves that there is no number: row numbers. */
  texts: { row: number; cell: string }[];
  missing: { row: number; cell: string }[];
  /** Cells that had a unit behind their number. */
  unitCells: UnitCell[];
}

export interface Table {
  columns: Draft[];
  line: Int32Array;
  /** Lines that are out of line as a whole: all text, or too many cells. */
  oddRows: { line: number; what: "text" | "header-again" | "too-wide" | "further-text"; cells: string[] }[];
}

const draft = (header: string, unit: HeaderUnit | null, values: Float64Array): Draft => ({
  header,
  unit,
  values,
  decimals: 0,
  isClock: false,
  dates: [],
  dateOf: null,
  texts: [],
  missing: [],
  unitCells: [],
});

interface Shape {
  headers: string[];
  units: (HeaderUnit | null)[];
  decimal: "." | ",";
  /** Names above the numbers, to know them again when a logger repeats them. */
  names: string[];
}

/** @param data rows from the first data row on. */
export function readTable(data: Row[], shape: Shape): Table {
  const table: Table = {
    columns: shape.headers.map((h, c) => draft(h, shape.units[c]!, new Float64Array(data.length).fill(Number.NaN))),
    line: Int32Array.from(data, (r) => r.line),
    oddRows: [],
  };
  data.forEach((row, i) => {
    readRow(table, i, row, shape);
  });
  return table;
}

/**
 * The same table from the bytes of a long file; rows that are more than numbers go through the CSV library one by one.
 * @param bytes in an encoding where digits and marks are single bytes; `line` of the first data row.
 * @returns null where the table is not regular enough.
 */
export function scanTable(bytes: Uint8Array, line: number, dialect: Dialect, shape: Shape): Table | null {
  const from = offsetOfLine(bytes, line);
  const scan = scanNumbers(bytes, {
    from,
    line,
    delimiter: dialect.delimiter.charCodeAt(0),
    decimal: shape.decimal.charCodeAt(0),
    width: shape.headers.length,
    maxLeft: 50 + bytes.length / 4000,
  });
  if (!scan) return null;
  const table: Table = {
    columns: shape.headers.map((h, c) => ({
      ...draft(h, shape.units[c]!, scan.columns[c]!),
      decimals: scan.decimals[c]!,
      isClock: scan.clock[c] === 1,
    })),
    line: scan.line,
    oddRows: [],
  };
  const decoder = new TextDecoder(isUtf8(bytes) ? "utf-8" : "windows-1252");
  for (const row of scan.left) {
    let end = scan.from[row]!;
    while (end < bytes.length && bytes[end] !== 10 && bytes[end] !== 13) end++;
    const text = decoder.decode(bytes.subarray(scan.from[row]!, end));
    const [parsed] = parseRows(
      dialect.delimiter === " " ? text.trim().replace(/[ \t]+/g, " ") : text,
      dialect.delimiter,
    );
    // Only blanks of another kind (a no-break space): a blank line after all, kept as an empty row.
    if (parsed) readRow(table, row, { line: scan.line[row]!, cells: parsed.cells }, shape);
  }
  return table;
}

function isUtf8(bytes: Uint8Array): boolean {
  try {
    new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    return true;
  } catch {
    return false;
  }
}

function offsetOfLine(bytes: Uint8Array, line: number): number {
  let at = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  for (let l = 1; l < line && at < bytes.length; at++)
    if (bytes[at] === 10 || (bytes[at] === 13 && bytes[at + 1] !== 10)) l++;
  return at;
}

function readRow(table: Table, i: number, row: Row, shape: Shape): void {
  const width = table.columns.length;
  const filled = row.cells.filter((c) => c.trim() !== "");
  const isNumber = (cell: string) =>
    parseNumber(cell, shape.decimal) !== null || clockOf(cell) !== null || quantityOf(cell, shape.decimal) !== null;
  if (!filled.some((c) => isNumber(c) || isMissingMark(c))) {
    const again = filled.every((c) => shape.names.includes(c.trim()));
    table.oddRows.push({ line: row.line, what: again ? "header-again" : "text", cells: row.cells });
    return;
  }
  const further = row.cells.slice(width).filter((c) => c.trim() !== "");
  if (further.length > 0) {
    const wide = further.some(isNumber);
    table.oddRows.push({ line: row.line, what: wide ? "too-wide" : "further-text", cells: row.cells });
    // With a number too many nobody can say which cell belongs to which column.
    if (wide) return;
  }
  for (let c = 0; c < width; c++) readCell(table.columns[c]!, i, (row.cells[c] ?? "").trim(), shape.decimal);
}

/** Decimals of a number as it was meant: 11.440000000000001 is what a spreadsheet makes of 11.44. */
function writtenDecimals(digits: string, mark: number): number {
  const decimals = digits.length - mark - 1;
  if (digits.replace(/\D/g, "").replace(/^0+/, "").length < 16) return decimals;
  return (Number(digits.replace(",", ".")).toPrecision(14).split(".")[1] ?? "").replace(/0+$/, "").length;
}

function decimalsOf(digits: string, decimal: "." | ","): number {
  const at = digits.indexOf(decimal);
  return at < 0 ? 0 : writtenDecimals(digits.replace(/e.*$/i, ""), at);
}

function readCell(column: Draft, i: number, cell: string, decimal: "." | ","): void {
  if (cell === "") return;
  const value = parseNumber(cell, decimal);
  if (value !== null) {
    column.values[i] = value;
    column.decimals = Math.max(column.decimals, decimalsOf(cell, decimal));
    return;
  }
  const quantity = quantityOf(cell, decimal, column.header);
  if (quantity) {
    column.values[i] = quantity.value;
    column.unitCells.push({ row: i, cell, unit: quantity.unit, decimals: decimalsOf(quantity.digits, decimal) });
    return;
  }
  const clock = clockOf(cell);
  if (clock) {
    column.values[i] = clock.seconds;
    column.decimals = Math.max(column.decimals, clock.decimals);
    column.isClock = true;
    if (clock.date !== null) {
      column.dateOf ??= new Int32Array(column.values.length).fill(-1);
      let at = column.dates.lastIndexOf(clock.date);
      if (at < 0) at = column.dates.push(clock.date) - 1;
      column.dateOf[i] = at;
    }
    return;
  }
  (isMissingMark(cell) ? column.missing : column.texts).push({ row: i, cell });
}

/** Where a number stands: 1; a number too large to hold is none. */
export function validOf(column: Draft): Uint8Array {
  const { values } = column;
  const valid = new Uint8Array(values.length);
  for (let i = 0; i < values.length; i++) {
    // Infinity less itself is no number, and neither is NaN: one test for both.
    if (values[i]! - values[i]! === 0) valid[i] = 1;
    else values[i] = Number.NaN;
  }
  return valid;
}

/** Clock times to seconds that go on over midnight, other values to their canonical unit; in place. @returns the smallest written step. */
export function convertColumn(column: Draft): number {
  const { values } = column;
  if (!column.isClock) {
    const factor = column.unit?.factor ?? 1;
    // A thousandth is no exact double, a thousand is: dividing gives the double nearest to what was written.
    const parts = Math.round(1 / factor);
    if (factor < 1 && 1 / parts === factor) for (let i = 0; i < values.length; i++) values[i] = values[i]! / parts;
    else if (factor !== 1) for (let i = 0; i < values.length; i++) values[i] = values[i]! * factor;
    return 10 ** -column.decimals * factor;
  }
  if (column.dateOf) {
    const days = daysBetween(column.dates);
    for (let i = 0; i < values.length; i++)
      if (column.dateOf[i]! >= 0) values[i] = values[i]! + 86_400 * days[column.dateOf[i]!]!;
  } else acrossMidnight(values);
  return 10 ** -column.decimals;
}

const shownCells = 3;
const shownLines = 12;

/** What was left out, told with its lines: the first few cells of a column by themselves, the others counted. */
export function oddLinesOf(
  file: string,
  table: Table,
  decimal: "." | ",",
  isInUse: (column: number) => boolean,
  rawLine: (line: number) => string,
): Issue[] {
  const odd: Issue[] = [];
  const width = table.columns.length;
  const other = decimal === "." ? "," : ".";
  const markNames = { ".": "decimal point", ",": "decimal comma" } as const;
  const place = (line: number, column?: string) => ({
    file,
    row: line,
    ...(column === undefined ? {} : { column }),
    text: rawLine(line).slice(0, 300),
  });
  for (const row of table.oddRows.slice(0, 20)) {
    const text = rawLine(row.line).trim().slice(0, 60);
    const told = {
      text: [`“${text}” holds no numbers, so this line is left out.`, "Take the line out if it is no measurement."],
      "header-again": ["the header stands here again, so this line is left out.", "Nothing needs to be done."],
      "too-wide": [
        `${row.cells.filter((c) => c.trim() !== "").length} cells where the other lines have ${width}, so this line is left out: “${text}”.`,
        `Look for a ${markNames[other]} or a delimiter too many in this line.`,
      ],
      "further-text": [
        `“${row.cells.slice(width).join(" ").trim().slice(0, 60)}” stands behind the last column and is passed over.`,
        "Nothing needs to be done if it is a remark.",
      ],
    }[row.what] as [string, string];
    odd.push({
      code: `recording/${row.what}`,
      says: `${file}, line ${row.line}: ${told[0]}`,
      remedy: told[1],
      where: place(row.line),
      weight: "note",
    });
  }
  if (table.oddRows.length > 20)
    odd.push({
      code: "recording/more-odd-lines",
      says: `${file}: ${table.oddRows.length - 20} more lines like these are left out, the last in line ${table.oddRows[table.oddRows.length - 1]!.line}.`,
      remedy: "Look at the file in an editor.",
      weight: "note",
    });
  table.columns.forEach((column, c) => {
    if (column.texts.length + column.missing.length === 0) return;
    const numbers = column.values.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0);
    const lineAt = (row: number) => table.line[row]!;
    const listed = (cells: { row: number }[]) =>
      `${cells
        .slice(0, shownLines)
        .map((t) => lineAt(t.row))
        .join(", ")}${cells.length > shownLines ? " …" : ""}`;
    if (column.missing.length > 0 && (numbers > 0 || isInUse(c)))
      odd.push({
        code: "recording/no-reading-marked",
        says: `${file}, ${column.header}: “${column.missing[0]!.cell}” stands for a number in ${column.missing.length === 1 ? "line" : `${column.missing.length} lines:`} ${listed(column.missing)}; ${column.missing.length === 1 ? "it is" : "they are"} taken as blank.`,
        remedy: "Nothing needs to be done if nothing was measured there.",
        where: place(lineAt(column.missing[0]!.row), column.header),
        weight: "note",
      });
    // A column of names is no fault: remarks, channel names, dates beside the clock.
    if (column.texts.length === 0 || !(numbers > column.texts.length || isInUse(c))) return;
    const isOtherMark = (cell: string) => parseNumber(cell, other) !== null || quantityOf(cell, other) !== null;
    const otherMark = column.texts.filter((t) => isOtherMark(t.cell));
    for (const t of column.texts.slice(0, shownCells)) {
      const wrongMark = isOtherMark(t.cell);
      odd.push({
        code: wrongMark ? "recording/mixed-decimals" : "recording/text-for-number",
        says: `${file}, line ${lineAt(t.row)}, ${column.header}: “${t.cell.slice(0, 60)}” ${
          wrongMark ? `has a ${markNames[other]} where the file has a ${markNames[decimal]}` : "is no number"
        }, so that cell is left out.`,
        remedy: wrongMark
          ? /^[+-]?\d{1,3}[.,]\d{3}$/.test(t.cell.trim())
            ? "Write all numbers with one decimal mark; if this one parts thousands, take it out."
            : "Write all numbers with one decimal mark."
          : "Correct the cell, or choose the other decimal mark.",
        where: place(lineAt(t.row), column.header),
        weight: "note",
      });
    }
    if (column.texts.length > shownCells)
      odd.push({
        code: "recording/more-text-for-numbers",
        says: `${file}, ${column.header}: ${column.texts.length} cells are no numbers and are left out, in lines ${listed(column.texts)}${
          otherMark.length > shownCells ? `; ${otherMark.length} of them have a ${markNames[other]}` : ""
        }.`,
        remedy: "Correct the cells, or choose another column or decimal mark.",
        where: place(lineAt(column.texts[0]!.row), column.header),
        weight: "note",
      });
  });
  return odd;
}
