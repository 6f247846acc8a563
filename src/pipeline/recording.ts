/**
 * Recording: what does the file say?
 *
 * Takes the bytes of a file and returns named columns with units, and one line on what was decided. Every row that
 * could not be read is listed with its line as an editor counts it; none is dropped in silence.
 */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { blanksOnce, decodeText, type Encoding, findDialect, lineOf, parseRows, unitsKept } from "../csv";
import { badCellUnit } from "./cell-unit-issues";
import { isUnit, takeCellUnits } from "./cell-units";
import type { ColumnRole, FileReading } from "./choices";
import { convertColumn, oddLinesOf, readTable, scanTable, validOf } from "./columns";
import { type HeaderUnit, unitInHeader, unitOf } from "./header-units";
import { findLayout, layoutRows, namesOf, sideways, splitDecimals } from "./layout";
import { assignRoles, guessEntered, roleByName } from "./roles";
import { takeUnits } from "./stated-units";
import { findTwins } from "./twin-columns";
import { exportAgain, mendedBy, otherMarks } from "./ways";

/** One file as it was given: the bytes are kept, everything else is computed. */
export interface SourceFile {
  name: string;
  /** What the user says it is. */
  kind: "fill" | "drain" | "drive";
  bytes: Uint8Array;
  sha256: string;
}

export interface Column {
  header: string;
  role: ColumnRole | null;
  /** Canonical unit (header-units.ts) as read from header, units row or behaviour; null if nothing says so. */
  unit: string | null;
  /** Why it has this role: by name, by unit, by behaviour, by hand. */
  why: string;
  /** In `unit`, millivolts as volts, clock times as seconds; NaN where a cell is blank or unreadable (`valid` 0). */
  values: Float64Array;
  valid: Uint8Array;
  /** Smallest step that the written digits show. */
  writtenStep: number;
}

export interface Recording {
  file: string;
  sha256: string;
  kind: SourceFile["kind"];
  rows: number;
  /** Line in the file, from 1, of each data row. */
  line: Int32Array;
  columns: Column[];
  decided: {
    encoding: string;
    delimiter: string;
    decimal: "." | ",";
    preambleLines: number;
    headerLine: number | null;
    unitsLine: number | null;
    enteredAs: "added" | "cumulative" | null;
    /** False if the volumes could be read the other way nearly as well, and nobody has said. */
    enteredSure: boolean;
    /** Chosen for this very file: it goes before what the job says of all of them. */
    enteredByHand: boolean;
    /** How the file is laid out, in one sentence; what its volumes are read as hangs on the job too (`enteredAsOf` in steps.ts). */
    says: string;
    /** True if two readings of the file were equally likely and the user should look. */
    ambiguous: boolean;
  };
  /** Lines left out or repaired, with what and why. */
  oddLines: Issue[];
  /** Rows whose reading was blanked because the logged supply stood too low, with that supply, volts. */
  lowSupply?: Map<number, number>;
}

/** Files from this size on are scanned from their bytes where they are regular. */
const scanFrom_bytes = 100_000;
/** Enough of a long file to see its header and first rows. */
const head_chars = 200_000;

/** Under these names the steps typed on the page stand among the runs: poured in, and drawn out. */
export const typedNames = { fill: "typed by hand.csv", drain: "drained by hand.csv" } as const;

/** Where a line is found again: in the file as an editor counts it, in a typed sheet by its step (under the header the start). */
export function placeOfLine(file: string, line: number): string {
  if (file === typedNames.fill) return line <= 2 ? "The start" : `Step ${line - 2}`;
  if (file === typedNames.drain) return line <= 2 ? "The full tank" : `Draw ${line - 2}`;
  return `${file}, line ${line}`;
}

const encodingNames: Record<Encoding, string> = {
  "utf-8": "UTF-8",
  "utf-16le": "UTF-16",
  "utf-16be": "UTF-16",
  "windows-1252": "Windows-1252",
};
/** What the volumes of a run are, in words. */
export const volumesAre = {
  fill: { added: "added with each pour", cumulative: "counted up" },
  drain: { added: "drawn with each draw", cumulative: "drawn in all" },
} as const;
const delimiterNames: Record<string, string> = {
  ",": "commas",
  ";": "semicolons",
  "\t": "tabs",
  " ": "blanks",
  "|": "bars",
};

/**
 * Reads one file.
 * @param by what the user decided by hand for this file, or null.
 * @returns stuck `recording/…` for an empty file, header only, a binary file, no numeric column, a named column that is not
 *   there; the issue names file, line, column, what is wrong, and what mends it.
 */
export function readRecording(source: SourceFile, by: FileReading | null): Answer<Recording> {
  type Remedy = string | ReturnType<typeof mendedBy>;
  const issue = (code: string, says: string, remedy: Remedy, where: Issue["where"] = {}): Answer<never> =>
    stuck({
      code: `recording/${code}`,
      says: `${source.name}: ${says}`,
      ...(typeof remedy === "string" ? { remedy } : remedy),
      where: { file: source.name, ...where },
    });
  if (source.bytes.length === 0)
    return issue(
      "empty",
      "the file is empty.",
      source.kind === "drive" ? "Export it again." : mendedBy(exportAgain, (way) => way),
    );
  const decoded = decodeText(source.bytes, by?.encoding);
  if (!decoded) return issue("binary", "this is no text file.", "Export the recording as CSV text from the logger.");
  const marks = {
    ...(by?.delimiter ? { delimiter: by.delimiter } : {}),
    ...(by?.decimal ? { decimal: by.decimal } : {}),
  };
  const dialect = findDialect(decoded.text, marks, isUnit);
  const looseQuotes: number[] = [];
  const rowsOf = (text: string) => {
    const once = dialect.delimiter === " " ? blanksOnce(text) : text;
    const kept = dialect.unitsApart ? unitsKept(once, isUnit) : once;
    return parseRows(kept, dialect.delimiter, (line) => looseQuotes.push(line));
  };
  // A comma in a quoted cell is told from one between cells by the quotes, which the byte scan does not read.
  const isLong = source.bytes.length >= scanFrom_bytes && dialect.delimiter !== dialect.decimal && !dialect.unitsApart;
  // Of a long file the start is enough to see how it is laid out; the last row of that part may be cut.
  const head = isLong ? rowsOf(decoded.text.slice(0, head_chars)).slice(0, -1) : null;
  const headLayout =
    head && looseQuotes.length === 0 ? findLayout(head.slice(0, layoutRows), dialect.decimal, by?.headerRow) : null;
  const scannable = headLayout !== null && headLayout.start >= 0;
  looseQuotes.length = 0;
  let rows = scannable ? head! : rowsOf(decoded.text);
  if (rows.length === 0) return issue("empty", "the file holds only blank lines.", "Export it again.");
  const aside = scannable ? null : sideways(rows, dialect.decimal);
  if (aside)
    return issue(
      "sideways",
      `the sheet lies on its side: line ${aside[0]!.line} is “${aside[0]!.cells[0]!.trim()}” and line ${aside[1]!.line} “${aside[1]!.cells[0]!.trim()}”, each with its numbers beside it.`,
      "Turn it in the spreadsheet, so that each column is one quantity (paste special, transpose), and export it again.",
      { row: aside[0]!.line, text: lineOf(decoded.text, aside[0]!.line).slice(0, 300) },
    );
  const layout = scannable ? headLayout : findLayout(rows, dialect.decimal, by?.headerRow);
  if (layout.start < 0)
    return issue(
      "header-only",
      rows.length === 1
        ? "there is one line, and it is no row of numbers."
        : `there are ${rows.length} lines, and none of them is a row of numbers.`,
      mendedBy(otherMarks, (way) => `Check that the recording was running. ${way} another delimiter or decimal mark.`),
      { row: rows[0]!.line, text: lineOf(decoded.text, rows[0]!.line).slice(0, 300) },
    );

  const { width } = layout;
  const split = by?.delimiter ? null : splitDecimals(rows, layout, dialect);
  if (split !== null)
    return issue(
      "split-decimals",
      `the header names ${split} columns and the rows have ${width}, none with a decimal point: a comma seems to stand both between the columns and inside the numbers.`,
      "Export the file with semicolons or tabs between the columns, or with decimal points; if the commas only part columns, name every column in the header.",
      { row: rows[layout.start]!.line, text: lineOf(decoded.text, rows[layout.start]!.line).slice(0, 300) },
    );
  const first = rows[layout.start]!.line;
  const headers = namesOf(layout);
  const shape = {
    headers,
    units: headers.map((header, c): HeaderUnit | null => {
      const written = (layout.units?.cells[c] ?? "").trim().replace(/^[[(]\s*|\s*[\])]$/g, "");
      return (written ? unitOf(written) : null) ?? unitInHeader(header);
    }),
    decimal: dialect.decimal,
    names: (layout.header?.cells ?? []).map((n) => n.trim()).filter((n) => n !== ""),
  };
  const scanned = scannable ? scanTable(plainBytes(source.bytes, decoded), first, dialect, shape) : null;
  if (!scanned && scannable) rows = rowsOf(decoded.text);
  const table = scanned ?? readTable(rows.slice(rows.findIndex((r) => r.line >= first)), shape);

  const told = {
    file: source.name,
    lineOf: (row: number) => table.line[row]!,
    rawLine: (line: number) => lineOf(decoded.text, line),
  };
  const settled = table.columns.map(takeCellUnits);
  const columns = table.columns.map(
    (draft): Column => ({
      header: draft.header,
      role: null,
      unit: draft.isClock ? "s" : (draft.unit?.unit ?? null),
      why: "",
      values: draft.values,
      valid: validOf(draft),
      writtenStep: 1,
    }),
  );
  const missing = assignRoles(columns, source.kind, by);
  if (missing.length > 0)
    return issue(
      "no-such-column",
      `there is no column “${missing[0]!.header}” for the ${missing[0]!.role}; there are ${headers.map((h) => `“${h}”`).join(", ")}.`,
      "Name one of these, or its number from the left.",
      { column: missing[0]!.header, ...(layout.header ? { row: layout.header.line } : {}) },
    );
  const cautions: Issue[] = [];
  const badUnit =
    badCellUnit(told, source.kind, columns, table.columns, settled) ??
    takeUnits(source, by, columns, table.columns, told, cautions);
  if (badUnit) return stuck(badUnit);
  columns.forEach((column, c) => {
    column.writtenStep = convertColumn(table.columns[c]!);
  });
  if (columns.every((c) => !c.valid.includes(1)))
    return issue(
      "no-numbers",
      "no column holds numbers.",
      mendedBy(otherMarks, (way) => `${way} another mark between columns, or another decimal mark.`),
    );
  const odd = oddLinesOf(
    source.name,
    table,
    dialect.decimal,
    (c) => columns[c]!.role !== null || isNamedRole(columns, c, source.kind),
    told.rawLine,
  );
  if (looseQuotes.length > 0)
    odd.unshift({
      code: "recording/loose-quote",
      says: `${source.name}, line ${looseQuotes[0]}: a quote is opened and never closed, so quotes are read as plain characters.`,
      remedy: "Close the quote, or take it out.",
      where: { file: source.name, row: looseQuotes[0]!, text: lineOf(decoded.text, looseQuotes[0]!).slice(0, 300) },
      weight: "note",
    });

  const volume = columns.find((c) => c.role === "volume");
  const recorded = columns.some((c) => c.role === "time") && table.line.length > 60;
  const guess = source.kind === "drive" || !volume ? null : guessEntered(volume, recorded);
  const enteredAs = guess ? (by?.enteredAs ?? guess.as) : null;
  const twins = findTwins(source.name, source.kind, columns, by, told.lineOf, enteredAs);
  if (twins.issue) return stuck(twins.issue);
  cautions.push(...twins.cautions);
  const preambleLines = (layout.header ?? layout.units ?? rows[layout.start]!).line - 1;
  const recording: Recording = {
    file: source.name,
    sha256: source.sha256,
    kind: source.kind,
    rows: table.line.length,
    line: table.line,
    columns,
    decided: {
      encoding: decoded.encoding,
      delimiter: dialect.delimiter,
      decimal: dialect.decimal,
      preambleLines,
      headerLine: layout.header?.line ?? null,
      unitsLine: layout.units?.line ?? null,
      enteredAs,
      enteredByHand: guess !== null && by?.enteredAs !== undefined,
      enteredSure: guess === null || by?.enteredAs !== undefined || guess.sure,
      says: `Columns parted by ${delimiterNames[dialect.delimiter] ?? `“${dialect.delimiter}”`}, decimal ${dialect.decimal === "," ? "comma" : "point"}, ${
        // Only what is unusual is worth a word: UTF-8 is how nearly every text is written.
        decoded.encoding === "utf-8" ? "" : `letters as ${encodingNames[decoded.encoding]}, `
      }${
        preambleLines > 0
          ? `${preambleLines} ${preambleLines === 1 ? "line" : "lines"} before the header passed over, `
          : ""
      }numbers from line ${first} on.`,
      ambiguous: dialect.ambiguous,
    },
    oddLines: odd,
  };
  cautions.push(...odd);
  if (dialect.ambiguous)
    cautions.push({
      code: "recording/ambiguous",
      says: `${source.name} can be read with another mark between columns, or another decimal mark, just as well.`,
      remedy: "Look at the first rows and change the marks if they are wrong.",
      weight: "holds-if",
      condition: "the columns were read rightly",
    });
  return ready(recording, cautions);
}

/** The columns of a file, to choose from where none has the wanted role: ` (its columns: “a”, “b” without a number)`. */
export function columnsIn({ columns }: Pick<Recording, "columns">): string {
  const named = columns.map((c) => `“${c.header}”${c.valid.includes(1) ? "" : " without a number"}`);
  return ` (its ${named.length === 1 ? "only column" : "columns"}: ${named.join(", ")})`;
}

/** Bytes whose digits and marks are single ones: the file's own, or its text anew where it is UTF-16. */
function plainBytes(bytes: Uint8Array, decoded: { text: string; encoding: string }): Uint8Array {
  return decoded.encoding.startsWith("utf-16") ? new TextEncoder().encode(decoded.text) : bytes;
}

/** A column whose name says what it is but which holds no number: its text must be told, or the role is missed without a word. */
function isNamedRole(columns: Column[], c: number, kind: SourceFile["kind"]): boolean {
  const column = columns[c]!;
  if (column.role !== null || column.valid.includes(1)) return false;
  const role = roleByName(column, kind);
  return role !== null && !columns.some((other) => other.role === role);
}
