/**
 * Recording: what does the file say?
 *
 * Takes the bytes of a file and returns named columns with units, and one line on what was decided. Every row that
 * could not be read is listed with its line as an editor counts it; none is dropped in silence.
 */
import type { Answer, Issue } from "../answer";
import type { ColumnRole, FileReading } from "./choices";

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
export function readRecording(_source: SourceFile, _by: FileReading | null): Answer<Recording> {
  throw new Error("not written yet");
}
