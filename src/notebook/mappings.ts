/** Mappings: a file is known again by its set of headers, so that a reading by hand is done once per logger. */
import { decodeText, findDialect, parseRows } from "../csv";
import { isUnit } from "../pipeline/cell-units";
import type { FileReading } from "../pipeline/choices";
import { findLayout, namesOf } from "../pipeline/layout";
import type { SourceFile } from "../pipeline/recording";

/** Enough of a file to see its header. */
const headBytes = 20_000;

const layoutIn = (text: string, by: FileReading) => {
  const marks = {
    ...(by.delimiter ? { delimiter: by.delimiter } : {}),
    ...(by.decimal ? { decimal: by.decimal } : {}),
  };
  const dialect = findDialect(text, marks, isUnit);
  return findLayout(parseRows(text, dialect.delimiter), dialect.decimal, by.headerRow);
};

const headOf = (bytes: Uint8Array, by: FileReading) =>
  decodeText(bytes.subarray(0, headBytes - (headBytes % 2)), by.encoding);

/**
 * The set of headers as one line, sorted; empty for a file without a header. Fill and drive files are kept apart. Columns of one name
 * are chosen by their place, so there the order counts.
 */
export function headersOf(bytes: Uint8Array, kind: SourceFile["kind"]): string {
  const decoded = headOf(bytes, {});
  if (!decoded) return "";
  const headers = (layoutIn(decoded.text, {}).header?.cells ?? []).map((c) => c.trim()).filter((c) => c !== "");
  return headers.length === 0
    ? ""
    : `${kind}: ${JSON.stringify(new Set(headers).size < headers.length ? headers : headers.sort())}`;
}

/** The columns of a file, to choose from while it cannot be read; empty where no row holds numbers. */
export function columnsToChoose(bytes: Uint8Array, by: FileReading): string[] {
  const decoded = headOf(bytes, by);
  if (!decoded) return [];
  const layout = layoutIn(decoded.text, by);
  return layout.start < 0 ? [] : namesOf(layout);
}
