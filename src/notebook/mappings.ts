/** Mappings: a file is known again by its set of headers, so that a reading by hand is done once per logger. */
import { decodeText, findDialect, parseRows } from "../csv";
import { isUnit } from "../pipeline/cell-units";
import { findLayout } from "../pipeline/layout";
import type { SourceFile } from "../pipeline/recording";

/** Enough of a file to see its header. */
const headBytes = 20_000;

/** The set of headers as one line, sorted; empty for a file without a header. Fill and drive files are kept apart. */
export function headersOf(bytes: Uint8Array, kind: SourceFile["kind"]): string {
  const decoded = decodeText(bytes.subarray(0, headBytes - (headBytes % 2)));
  if (!decoded) return "";
  const dialect = findDialect(decoded.text, {}, isUnit);
  const layout = findLayout(parseRows(decoded.text, dialect.delimiter), dialect.decimal);
  const headers = (layout.header?.cells ?? []).map((c) => c.trim()).filter((c) => c !== "");
  return headers.length === 0 ? "" : `${kind}: ${JSON.stringify(headers.sort())}`;
}
