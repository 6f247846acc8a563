/**
 * Recording: what does the file say?
 *
 * Takes the bytes of a file and returns named columns with units, and one line on what was decided. Every row that
 * could not be read is listed with its line as an editor counts it; none is dropped in silence.
 */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { decodeText, findDialect, parseRows } from "../csv";
import type { ColumnRole, FileReading } from "./choices";
import { assignRoles, findLayout, guessEntered, readColumns } from "./columns";

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
  /** Unit as read from header, units row or behaviour; null if nothing says so. */
  unit: string | null;
  /** Why it has this role: by name, by unit, by behaviour, by hand. */
  why: string;
  /** In the file's own unit; NaN where a cell is blank or unreadable (`valid` 0). */
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
    /** The whole decision in one sentence. */
    says: string;
    /** True if two readings of the file were equally likely and the user should look. */
    ambiguous: boolean;
  };
  /** Lines left out or repaired, with what and why. */
  oddLines: Issue[];
}

/**
 * Reads one file.
 * @param by what the user decided by hand for this file, or null.
 * @returns stuck `recording/…` for an empty file, header only, a binary file, no numeric column, and so on; the issue
 *   names file, row, column, what is wrong, and what mends it.
 */
export function readRecording(source: SourceFile, by: FileReading | null): Answer<Recording> {
  const issue = (code: string, says: string, remedy: string): Answer<never> =>
    stuck({ code: `recording/${code}`, says: `${source.name}: ${says}`, remedy, where: { file: source.name } });
  if (source.bytes.length === 0)
    return issue("empty", "the file is empty.", "Export it again, or type the steps into the grid.");
  const decoded = decodeText(source.bytes, by?.encoding);
  if (!decoded) return issue("binary", "this is no text file.", "Export the recording as CSV text from the logger.");
  const dialect = findDialect(decoded.text, {
    ...(by?.delimiter ? { delimiter: by.delimiter } : {}),
    ...(by?.decimal ? { decimal: by.decimal } : {}),
  });
  const text = dialect.delimiter === " " ? decoded.text.replace(/^[ \t]+/gm, "").replace(/[ \t]+/g, " ") : decoded.text;
  const rows = parseRows(text, dialect.delimiter);
  if (rows.length === 0) return issue("empty", "the file holds only blank lines.", "Export it again.");

  const layout = findLayout(rows, dialect.decimal, by?.headerRow);
  if (layout.data.length === 0)
    return issue(
      "header-only",
      `there are ${rows.length} lines and none of them holds numbers.`,
      "Check that the recording was running, or choose another delimiter or decimal mark.",
    );

  const width = layout.width;
  const headers = Array.from({ length: width }, (_, c) => (layout.header?.cells[c] ?? "").trim() || `column ${c + 1}`);
  const units = Array.from({ length: width }, (_, c) => (layout.units?.cells[c] ?? "").trim() || null);
  const odd: Issue[] = [];
  const columns = readColumns(source.name, layout.data, headers, units, dialect.decimal, odd);
  const line = Int32Array.from(layout.data, (r) => r.line);
  assignRoles(columns, source.kind, by);
  if (columns.every((c) => !c.valid.some((v) => v === 1)))
    return issue(
      "no-numbers",
      "no column holds numbers.",
      "Choose another delimiter or decimal mark in the line on what was decided.",
    );
  const volume = columns.find((c) => c.role === "volume");
  const enteredAs = source.kind === "drive" || !volume ? null : (by?.enteredAs ?? guessEntered(volume));
  const delimiterName: Record<string, string> = {
    ",": "commas",
    ";": "semicolons",
    "\t": "tabs",
    " ": "blanks",
    "|": "bars",
  };
  const first = layout.data[0]!.line;
  const preambleLines = (layout.header ?? layout.units ?? layout.data[0]!).line - 1;
  const recording: Recording = {
    file: source.name,
    sha256: source.sha256,
    kind: source.kind,
    rows: layout.data.length,
    line,
    columns,
    decided: {
      encoding: decoded.encoding,
      delimiter: dialect.delimiter,
      decimal: dialect.decimal,
      preambleLines,
      headerLine: layout.header?.line ?? null,
      unitsLine: layout.units?.line ?? null,
      enteredAs,
      says: `Columns parted by ${delimiterName[dialect.delimiter] ?? dialect.delimiter}, decimal ${dialect.decimal === "," ? "comma" : "point"}, ${decoded.encoding.toUpperCase()}, ${
        preambleLines > 0 ? `${preambleLines} lines before the header passed over, ` : ""
      }numbers from line ${first} on${enteredAs ? `, volumes ${enteredAs === "added" ? "added with each pour" : "counted up"}` : ""}.`,
      ambiguous: dialect.ambiguous,
    },
    oddLines: odd,
  };
  const cautions: Issue[] = [...odd.slice(0, 20)];
  if (dialect.ambiguous)
    cautions.push({
      code: "recording/ambiguous",
      says: `${source.name} can be read with another delimiter or decimal mark just as well.`,
      remedy: "Look at the first rows and change the marks if they are wrong.",
      weight: "holds-if",
      condition: "the columns were read rightly",
    });
  return ready(recording, cautions);
}
