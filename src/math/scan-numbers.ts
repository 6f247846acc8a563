/**
 * Numbers out of the bytes of a regular table, line by line, without making a string of any cell.
 *
 * A decimal is read as a whole mantissa and a power of ten. Below 2^53 over a power up to 10^22 both are exact doubles, so that one
 * division or multiplication rounds rightly (Clinger 1990, "How to read floating point numbers accurately", the fast path);
 * anything longer goes through `Number`. A line that is not blank, numbers and clock times is left to the caller.
 */

export interface NumberScan {
  rows: number;
  /** Line of each row in the file, from 1. */
  line: Int32Array;
  /** First byte of each row; its end is the next line end. */
  from: Int32Array;
  /** One per column, `rows` long; NaN where the cell is blank, or where the row is among `left`. */
  columns: Float64Array[];
  /** Most digits behind the decimal mark that the column shows. */
  decimals: Int32Array;
  /** 1 if the column holds clock times (`h:mm`, `h:mm:ss`, `h:mm:ss.f`), read as seconds of the day. */
  clock: Uint8Array;
  /** Rows that hold anything else, by number. */
  left: number[];
}

const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;
const BLANK = 32;
const TAB = 9;
const QUOTE = 34;
const PLUS = 43;
const COMMA = 44;
const MINUS = 45;
const POINT = 46;
const ZERO = 48;
const COLON = 58;

/** 10^0 to 10^22 are exact in double precision. */
const power = Float64Array.from({ length: 23 }, (_, e) => Number(`1e${e}`));
const exactMantissa = 2 ** 53;

/**
 * Scans `bytes` (ASCII, UTF-8 or Windows-1252).
 *
 * @param at `from` the first byte of the first data row and `line` its number in the file; `delimiter` as a byte, where 32
 *   means runs of blanks and tabs; `decimal` as a byte; `width` in columns.
 * @returns null where the table is not regular: a quote, or more than `maxLeft` rows of something else.
 */
export function scanNumbers(
  bytes: Uint8Array,
  at: { from: number; line: number; delimiter: number; decimal: number; width: number; maxLeft: number },
): NumberScan | null {
  const { delimiter, decimal, width, maxLeft } = at;
  if (!(width > 0)) throw new Error(`scanNumbers: needs a width of 1 column or more, got ${width}`);
  const end = bytes.length;
  let lines = 1;
  for (let i = at.from; i < end; i++) {
    const b = bytes[i]!;
    if (b === LINE_FEED || (b === CARRIAGE_RETURN && bytes[i + 1] !== LINE_FEED)) lines++;
    else if (b === QUOTE) return null;
  }
  const line = new Int32Array(lines);
  const from = new Int32Array(lines);
  const columns = Array.from({ length: width }, () => new Float64Array(lines).fill(Number.NaN));
  const decimals = new Int32Array(width);
  const clock = new Uint8Array(width);
  const left: number[] = [];
  const inBlanks = delimiter === BLANK;
  let rows = 0;
  let lineNumber = at.line;
  let i = at.from;
  // What a line shows counts only once the whole line was taken.
  const shown = new Int32Array(width);
  const isClock = new Uint8Array(width);

  while (i < end) {
    const start = i;
    let column = 0;
    let filled = 0;
    let taken = true;
    for (;;) {
      if (column < width) {
        shown[column] = 0;
        isClock[column] = 0;
      }
      while (i < end && (bytes[i] === BLANK || (bytes[i] === TAB && delimiter !== TAB))) i++;
      let b = i < end ? bytes[i]! : LINE_FEED;
      if (b !== delimiter && b !== LINE_FEED && b !== CARRIAGE_RETURN) {
        const cellFrom = i;
        let negative = false;
        if (b === MINUS || b === PLUS) {
          negative = b === MINUS;
          b = ++i < end ? bytes[i]! : LINE_FEED;
        }
        let mantissa = 0;
        let digits = 0;
        let fraction = 0;
        while (b >= ZERO && b < COLON) {
          mantissa = mantissa * 10 + (b - ZERO);
          digits++;
          b = ++i < end ? bytes[i]! : LINE_FEED;
        }
        let value: number;
        if (b === COLON && digits > 0 && digits < 3 && cellFrom === i - digits) {
          const time = clockAt(bytes, i, end, mantissa, delimiter);
          if (time === null) {
            taken = false;
            break;
          }
          value = time.seconds;
          i = time.next;
          fraction = time.fraction;
          if (column < width) isClock[column] = 1;
        } else {
          if (b === decimal) {
            b = ++i < end ? bytes[i]! : LINE_FEED;
            const first = i;
            while (b >= ZERO && b < COLON) {
              mantissa = mantissa * 10 + (b - ZERO);
              b = ++i < end ? bytes[i]! : LINE_FEED;
            }
            fraction = i - first;
            digits += fraction;
          }
          if (digits === 0) {
            taken = false;
            break;
          }
          let exponent = 0;
          if (b === 101 || b === 69) {
            let sign = 1;
            b = ++i < end ? bytes[i]! : LINE_FEED;
            if (b === MINUS || b === PLUS) {
              sign = b === MINUS ? -1 : 1;
              b = ++i < end ? bytes[i]! : LINE_FEED;
            }
            const first = i;
            while (b >= ZERO && b < COLON) {
              exponent = exponent * 10 + (b - ZERO);
              b = ++i < end ? bytes[i]! : LINE_FEED;
            }
            if (i === first) {
              taken = false;
              break;
            }
            exponent *= sign;
          }
          const e = exponent - fraction;
          if (mantissa < exactMantissa && e >= -22 && e <= 22) {
            value = e < 0 ? mantissa / power[-e]! : mantissa * power[e]!;
            if (negative) value = -value;
          } else value = Number(asciiOf(bytes, cellFrom, i).replace(",", "."));
        }
        if (column < width) {
          columns[column]![rows] = value;
          shown[column] = fraction;
          filled++;
        } else {
          // A cell beyond the last column is something to tell of.
          taken = false;
          break;
        }
        while (i < end && (bytes[i] === BLANK || (bytes[i] === TAB && delimiter !== TAB))) i++;
        b = i < end ? bytes[i]! : LINE_FEED;
        if (inBlanks && i > cellFrom && (bytes[i - 1] === BLANK || bytes[i - 1] === TAB) && !isLineEnd(b)) {
          column++;
          continue;
        }
      }
      if (isLineEnd(b)) break;
      if (b !== delimiter) {
        taken = false;
        break;
      }
      column++;
      i++;
    }
    if (!taken) {
      while (i < end && !isLineEnd(bytes[i]!)) i++;
      if (left.length >= maxLeft) return null;
      left.push(rows);
      for (const cells of columns) cells[rows] = Number.NaN;
      filled = 1;
    } else
      for (let c = 0; c <= column && c < width; c++) {
        if (shown[c]! > decimals[c]!) decimals[c] = shown[c]!;
        if (isClock[c]) clock[c] = 1;
      }
    if (filled > 0) {
      line[rows] = lineNumber;
      from[rows] = start;
      rows++;
    }
    if (i < end && bytes[i] === CARRIAGE_RETURN && bytes[i + 1] === LINE_FEED) i++;
    i++;
    lineNumber++;
  }
  return {
    rows,
    line: line.slice(0, rows),
    from: from.slice(0, rows),
    columns: columns.map((c) => (rows === lines ? c : c.slice(0, rows))),
    decimals,
    clock,
    left,
  };
}

const isLineEnd = (b: number) => b === LINE_FEED || b === CARRIAGE_RETURN;

function asciiOf(bytes: Uint8Array, from: number, to: number): string {
  let text = "";
  for (let i = from; i < to; i++) text += String.fromCharCode(bytes[i]!);
  return text;
}

/** `:mm` or `:mm:ss` or `:mm:ss.f` behind the hours. @returns null for anything else. */
function clockAt(
  bytes: Uint8Array,
  colon: number,
  end: number,
  hours: number,
  delimiter: number,
): { seconds: number; fraction: number; next: number } | null {
  const digit = (i: number) => {
    const d = i < end ? bytes[i]! - ZERO : -1;
    return d >= 0 && d < 10 ? d : -1;
  };
  const two = (i: number) => (digit(i) < 0 || digit(i + 1) < 0 ? -1 : 10 * digit(i) + digit(i + 1));
  const minutes = two(colon + 1);
  if (minutes < 0 || digit(colon + 3) >= 0) return null;
  let next = colon + 3;
  let seconds = 0;
  let fraction = 0;
  if (bytes[next] === COLON) {
    const whole = two(next + 1);
    if (whole < 0 || digit(next + 3) >= 0) return null;
    next += 3;
    seconds = whole;
    if (next < end && (bytes[next] === POINT || bytes[next] === COMMA) && bytes[next] !== delimiter) {
      const first = next + 1;
      let mantissa = whole;
      next = first;
      while (digit(next) >= 0) mantissa = mantissa * 10 + digit(next++);
      fraction = next - first;
      if (fraction === 0 || fraction > 9) return null;
      seconds = mantissa / power[fraction]!;
    }
  }
  return next < end && bytes[next] === COLON
    ? null
    : { seconds: hours * 3600 + minutes * 60 + seconds, fraction, next };
}
