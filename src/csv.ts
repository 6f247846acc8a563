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
  let text = new TextDecoder(encoding).decode(bytes);
  if (encoding === "windows-1252") text = text.replace(/[\x80-\x9f]/g, (c) => windows1252[c.charCodeAt(0) - 128]!);
  return { text: text.startsWith("\ufeff") ? text.slice(1) : text, encoding };
}

/** Characters 0x80 to 0x9F of Windows-1252 (WHATWG Encoding, index windows-1252): some versions of Node decode them as Latin-1. */
const windows1252 = [
  ..."\u20ac\x81\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\x8d\u017d\x8f",
  ..."\x90\u2018\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\x9d\u017e\u0178",
];

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
  /** Blanks part the columns and stand before units as well: see `unitsKept`. */
  unitsApart?: true;
}

export interface Row {
  /** Line in the file, from 1. */
  line: number;
  cells: string[];
}

/**
 * Splits text into rows with their line numbers; blank lines are left out but counted. Line ends may be of any kind.
 * A quote that is opened and never closed would swallow the rest of the file: then quotes are plain characters, and
 * `onLooseQuote` is told the line.
 */
export function parseRows(text: string, delimiter: string, onLooseQuote?: (line: number) => void): Row[] {
  const plain = text.includes("\r") ? text.replace(/\r\n?/g, "\n") : text;
  const options = { delimiter, newline: "\n", skipEmptyLines: false } as const;
  let parsed = Papa.parse<string[]>(plain, options);
  const loose = parsed.errors.find((e) => e.code === "MissingQuotes");
  if (loose) {
    parsed = Papa.parse<string[]>(plain, { ...options, quoteChar: "\u0000" });
    for (const cells of parsed.data)
      for (let c = 0; c < cells.length; c++) cells[c] = cells[c]!.replace(/^\s*"([^"]*)"\s*$/, "$1");
    const at = parsed.data.findIndex((cells) => cells.some((c) => /^\s*"/.test(c)));
    onLooseQuote?.(at + 1);
  }
  const rows: Row[] = [];
  let line = 1;
  for (const cells of parsed.data) {
    if (cells.some((c) => c.trim() !== "")) rows.push({ line, cells });
    line += 1;
    for (const c of cells) for (let i = c.indexOf("\n"); i >= 0; i = c.indexOf("\n", i + 1)) line += 1;
  }
  return rows;
}

/** One line as it stands in the file; lines are counted as an editor does. */
export function lineOf(text: string, line: number): string {
  const ends = /\r\n|\n|\r/g;
  let from = 0;
  for (let at = 1; at < line; at++) {
    if (!ends.exec(text)) return "";
    from = ends.lastIndex;
  }
  const end = ends.exec(text);
  return text.slice(from, end ? end.index : text.length);
}

const number = { ".": /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i, ",": /^[+-]?(\d+,?\d*|,\d+)(e[+-]?\d+)?$/i } as const;

/** Thousands parted by an apostrophe or a blank that does not break, or by the other mark where the number says so itself: by two of them, or by its own decimal mark. */
const grouped = {
  ".": /^[+-]?\d{1,3}(?:(?:['\u2019\u00a0\u2009\u202f]\d{3})+(?:\.\d*)?|(?:,\d{3})+\.\d*|(?:,\d{3}){2,})$/,
  ",": /^[+-]?\d{1,3}(?:(?:['\u2019\u00a0\u2009\u202f]\d{3})+(?:,\d*)?|(?:\.\d{3})+,\d*|(?:\.\d{3}){2,})$/,
} as const;
const groupMarks = { ".": /['\u2019\u00a0\u2009\u202f,]/g, ",": /['\u2019\u00a0\u2009\u202f.]/g } as const;

/** A number as written with this decimal mark; null for anything else. A typographic minus is taken as one. */
export function parseNumber(cell: string, decimal: "." | ","): number | null {
  let text = cell.trim().replace(/^\u2212/, "-");
  if (!number[decimal].test(text)) {
    // A lone "5.000" among decimal commas may be five or five thousand: it stays text, and is told.
    if (!grouped[decimal].test(text)) return null;
    text = text.replace(groupMarks[decimal], "");
  }
  return Number(decimal === "," ? text.replace(",", ".") : text);
}

const withTail = {
  ".": /^([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*([^\d\s.,:;+\-\u2212/].*)$/i,
  ",": /^([+-]?(?:\d+,?\d*|,\d+)(?:e[+-]?\d+)?)\s*([^\d\s.,:;+\-\u2212/].*)$/i,
} as const;

/** A number and the word written behind it, as in `5.0 L` or `40%`; null for anything else. Whether the word is a unit is not judged here. */
export function numberAndTail(
  cell: string,
  decimal: "." | ",",
): { value: number; digits: string; tail: string } | null {
  const found = withTail[decimal].exec(cell.trim().replace(/^\u2212/, "-"));
  if (!found) return null;
  const digits = found[1]!;
  return { value: Number(decimal === "," ? digits.replace(",", ".") : digits), digits, tail: found[2]!.trim() };
}

/** Blanks as delimiter: a run of them parts once, those that lead a line not at all. */
export const blanksOnce = (text: string): string => text.replace(/^[ \t]+/gm, "").replace(/[ \t]+/g, " ");

/** Where blanks part the columns: a unit stays with the number before it, by a blank that parts nothing. */
export const unitsKept = (text: string, isUnit: (word: string) => boolean): string =>
  text.replace(
    /(?<=^|[ \n\r])([+\-\u2212]?[\d.,]*\d[.,]?) ([^\s\d]\S*)(?=[ \n\r]|$)/g,
    (whole, digits: string, word: string) => (isUnit(word) ? `${digits}\u00a0${word}` : whole),
  );

const delimiters = [",", ";", "\t", "|", " "] as const;
const marks = [".", ","] as const;

/** A date beside the clock: no number, and no text that speaks against a pair of marks. */
const isDate = /^\s*(?:\d{4}([-/.])\d{1,2}\1\d{1,2}|\d{1,2}([-/.])\d{1,2}\2\d{2,4})\s*$/;

interface Tried {
  delimiter: string;
  decimal: "." | ",";
  /** Cells that are numbers, less twice those that stay text beside numbers, in rows of the most frequent width. */
  score: number;
  width: number;
  /** Numbers that hold the decimal mark. */
  marked: number;
  unitsApart?: true;
}

/** Longer files are judged by 200 kB from the start, the middle and the end of them. */
const sampled = 200_000;

function sampleOf(text: string): string {
  if (text.length <= 2 * sampled) return text;
  const part = (from: number, length: number) => text.slice(text.indexOf("\n", from) + 1, from + length);
  const middle = text.length >> 1;
  return `${text.slice(0, sampled / 2)}\n${part(middle, sampled / 4)}\n${part(text.length - sampled / 4, sampled)}`;
}

/**
 * Decides delimiter and decimal mark together: the pair under which most cells of the file are numbers in rows of the
 * most frequent width. Points are preferred on a tie, since a lone comma between digits is more often a delimiter.
 * @param isUnit which words behind a number are units: such a cell is a number too.
 */
export function findDialect(
  text: string,
  fixed: { delimiter?: string; decimal?: "." | "," } = {},
  isUnit: (word: string) => boolean = () => false,
): Dialect {
  const sample = sampleOf(text);
  const strong = triedDialects(sample, fixed, isUnit, false);
  const tried = strong.some((t) => t.score > 0) ? strong : triedDialects(sample, fixed, isUnit, true);
  tried.sort((a, b) => b.score - a.score);
  const best = tried[0];
  if (!best || best.score <= 0)
    return { delimiter: fixed.delimiter ?? ",", decimal: fixed.decimal ?? ".", ambiguous: false };
  const rival = tried.find((t) => t !== best && t.score >= best.score && t.width > 1 && differ(best, t));
  return {
    delimiter: best.delimiter,
    decimal: best.decimal,
    ambiguous: rival !== undefined,
    ...(best.unitsApart ? { unitsApart: true } : {}),
  };
}

function triedDialects(
  sample: string,
  fixed: { delimiter?: string; decimal?: "." | "," },
  isUnit: (word: string) => boolean,
  onlyWeak: boolean,
): Tried[] {
  const tried: Tried[] = [];
  for (const delimiter of fixed.delimiter ? [fixed.delimiter] : delimiters) {
    if (!fixed.delimiter && !sample.includes(delimiter)) continue;
    const blanks = delimiter === " " ? blanksOnce(sample) : sample;
    // A spreadsheet that writes decimal commas quotes such cells: "2,50","1,31".
    const quoted = /"[+-]?\d*,\d+[^"\d]*"/.test(sample);
    const under = (text: string) => {
      const rows = parseRows(text, delimiter);
      return (fixed.decimal ? [fixed.decimal] : marks).flatMap((decimal) =>
        delimiter !== (decimal as string) || quoted ? [tryDialect(rows, delimiter, decimal, isUnit, onlyWeak)] : [],
      );
    };
    const plain = under(blanks);
    // A unit behind every number makes as many words as numbers: only then they are taken together.
    const apart = delimiter === " " && !plain.some((t) => t.score > 0) ? unitsKept(blanks, isUnit) : blanks;
    tried.push(...(apart === blanks ? plain : under(apart).map((t) => ({ ...t, unitsApart: true as const }))));
  }
  return tried;
}

/** Whole numbers read the same under either mark, and one tab is also one blank: only other numbers are another reading. */
function differ(a: Tried, b: Tried): boolean {
  if (a.delimiter === b.delimiter) return a.marked > 0 && b.marked > 0;
  return !(a.decimal === b.decimal || a.marked + b.marked === 0) || !isBlank(a.delimiter) || !isBlank(b.delimiter);
}
const isBlank = (delimiter: string) => delimiter === "\t" || delimiter === " ";

function tryDialect(
  rows: Row[],
  delimiter: string,
  decimal: "." | ",",
  isUnit: (word: string) => boolean,
  onlyWeak: boolean,
): Tried {
  const hasUnit = (cell: string) => {
    const tail = numberAndTail(cell, decimal)?.tail;
    return tail !== undefined && isUnit(tail);
  };
  const widths = new Map<number, { score: number; marked: number }>();
  for (const row of rows) {
    let numbers = 0;
    let clocks = 0;
    let texts = 0;
    let marked = 0;
    for (const c of row.cells) {
      if (c.trim() === "") continue;
      if (parseNumber(c, decimal) !== null || hasUnit(c)) {
        numbers++;
        if (c.includes(decimal)) marked++;
      } else if (/\d{1,2}:\d{2}/.test(c) || isDate.test(c)) clocks++;
      else texts++;
    }
    // A cell that stays text in a row of numbers speaks against the pair.
    // One number beside names ("stand A; 0,51") says little, and counts only where no row says more.
    const weak = numbers === 1 && clocks === 0;
    if (numbers >= 2 || (numbers === 1 && clocks + texts > 0)) {
      const kept = widths.get(row.cells.length) ?? { score: 0, marked: 0 };
      kept.score += weak ? (onlyWeak ? 1 : 0) : Math.max(0, numbers - 2 * texts);
      kept.marked += marked;
      widths.set(row.cells.length, kept);
    }
  }
  const best: Tried = { delimiter, decimal, score: 0, width: 0, marked: 0 };
  for (const [width, kept] of widths) if (kept.score > best.score) Object.assign(best, kept, { width });
  return best;
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
