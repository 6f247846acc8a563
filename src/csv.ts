/**
 * Text to cells through the CSV library, with every line numbered as an editor counts it.
 * Encoding, delimiter and decimal mark are decided here, the last two together over the whole file.
 */
import Papa from "papaparse";

export type Encoding = "utf-8" | "utf-16le" | "utf-16be" | "windows-1252";

/** Bytes to text. @returns null for a file that is no text (binary). */
export function decodeText(bytes: Uint8Array, wanted?: Encoding): { text: string; encoding: Encoding } | null {
  const encoding = wanted ?? findEncoding(bytes);
  if (!encoding) return null;
  const text = new TextDecoder(encoding).decode(bytes);
  return { text: text.startsWith("\ufeff") ? text.slice(1) : text, encoding };
}

function findEncoding(bytes: Uint8Array): Encoding | null {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return "utf-16le";
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return "utf-16be";
  const sample = bytes.subarray(0, 65536);
  let zerosEven = 0;
  let zerosOdd = 0;
  let control = 0;
  for (let i = 0; i < sample.length; i++) {
    const b = sample[i]!;
    if (b === 0) i % 2 === 0 ? zerosEven++ : zerosOdd++;
    else if (b < 9 || (b > 13 && b < 32)) control++;
  }
  const half = sample.length / 2;
  if (zerosOdd > 0.3 * half && zerosEven < 0.02 * half) return "utf-16le";
  if (zerosEven > 0.3 * half && zerosOdd < 0.02 * half) return "utf-16be";
  if (zerosEven + zerosOdd > 0 || control > 0.02 * sample.length) return null;
  try {
    new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    return "utf-8";
  } catch {
    return "windows-1252";
  }
}

export interface Dialect {
  delimiter: string;
  decimal: "." | ",";
  /** True if another dialect reads as many numbers from this file. */
  ambiguous: boolean;
}

export interface Row {
  /** Line in the file, from 1. */
  line: number;
  cells: string[];
}

/** Splits text into rows with their line numbers; blank lines are left out but counted. */
export function parseRows(text: string, delimiter: string): Row[] {
  const parsed = Papa.parse<string[]>(text, { delimiter, skipEmptyLines: false });
  const rows: Row[] = [];
  let line = 1;
  for (const cells of parsed.data) {
    if (cells.some((c) => c.trim() !== "")) rows.push({ line, cells });
    line += 1;
    for (const c of cells) for (let i = c.indexOf("\n"); i >= 0; i = c.indexOf("\n", i + 1)) line += 1;
  }
  return rows;
}

const number = { ".": /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i, ",": /^[+-]?(\d+,?\d*|,\d+)(e[+-]?\d+)?$/i } as const;

/** A number as written with this decimal mark; null for anything else. A typographic minus is taken as one. */
export function parseNumber(cell: string, decimal: "." | ","): number | null {
  const text = cell.trim().replace(/^\u2212/, "-");
  if (!number[decimal].test(text)) return null;
  return Number(decimal === "," ? text.replace(",", ".") : text);
}

const delimiters = [",", ";", "\t", "|", " "];

/**
 * Decides delimiter and decimal mark together: the pair under which most cells of the file are numbers in rows of the
 * most frequent width. Points are preferred on a tie, since a lone comma between digits is more often a delimiter.
 */
export function findDialect(text: string, fixed: { delimiter?: string; decimal?: "." | "," } = {}): Dialect {
  const sample =
    text.length > 400_000 ? text.slice(0, 200_000) + text.slice(text.indexOf("\n", text.length - 200_000)) : text;
  const tried: { delimiter: string; decimal: "." | ","; score: number; width: number }[] = [];
  for (const delimiter of fixed.delimiter ? [fixed.delimiter] : delimiters) {
    const rows = parseRows(delimiter === " " ? sample.replace(/[ \t]+/g, " ") : sample, delimiter);
    for (const decimal of (fixed.decimal ? [fixed.decimal] : [".", ","]) as "."[]) {
      if (delimiter === (decimal as string)) continue;
      const widths = new Map<number, number>();
      for (const row of rows) {
        let numbers = 0;
        let texts = 0;
        for (const c of row.cells) {
          if (c.trim() === "") continue;
          if (parseNumber(c, decimal) !== null) numbers++;
          else if (!/\d{1,2}:\d{2}/.test(c)) texts++;
        }
        // A cell that stays text in a row of numbers speaks against the pair.
        if (numbers >= 2 || (numbers === 1 && /\d:\d/.test(row.cells[0] ?? "")))
          widths.set(row.cells.length, (widths.get(row.cells.length) ?? 0) + Math.max(0, numbers - 2 * texts));
      }
      let score = 0;
      let width = 0;
      for (const [w, s] of widths) if (s > score) [score, width] = [s, w];
      tried.push({ delimiter, decimal, score, width });
    }
  }
  tried.sort((a, b) => b.score - a.score);
  const best = tried[0]!;
  const rival = tried.find((t) => t !== best && t.score >= best.score && t.width > 1);
  return {
    delimiter: best.score > 0 ? best.delimiter : (fixed.delimiter ?? ","),
    decimal: best.decimal,
    ambiguous: rival !== undefined && best.score > 0 && hasBothReadings(sample, best, rival),
  };
}

/** Integers read the same under either mark: only a file with a mark inside a number is truly ambiguous. */
function hasBothReadings(
  text: string,
  a: Pick<Dialect, "delimiter" | "decimal">,
  b: Pick<Dialect, "delimiter" | "decimal">,
): boolean {
  if (a.delimiter === b.delimiter)
    return /\d[.,]\d/.test(text.replaceAll(a.delimiter, "\n")) && a.decimal !== b.decimal;
  return true;
}

/** A cell that a spreadsheet would run as a formula is written so that it stays text. */
export function neutralCell(cell: string): string {
  return /^[=+\-@\t\r]/.test(cell) && parseNumber(cell, ".") === null ? `'${cell}` : cell;
}

/** Rows to CSV text, formulas neutralised. */
export function writeCsv(rows: (string | number)[][], delimiter = ","): string {
  return Papa.unparse(
    rows.map((r) => r.map((c) => (typeof c === "string" ? neutralCell(c) : c))),
    { delimiter, newline: "\n" },
  );
}
