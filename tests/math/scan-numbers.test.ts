import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parseNumber, parseRows } from "../../src/csv";
import { scanNumbers } from "../../src/math/scan-numbers";

const bytes = (text: string) => new TextEncoder().encode(text);
const scan = (text: string, width: number, marks = { delimiter: ",", decimal: "." }, maxLeft = 100) =>
  scanNumbers(bytes(text), {
    from: 0,
    line: 1,
    delimiter: marks.delimiter.charCodeAt(0),
    decimal: marks.decimal.charCodeAt(0),
    width,
    maxLeft,
  });
/** Bit for bit, so that −0 and the last digit count. */
const bits = (x: number) => new BigUint64Array(Float64Array.of(x).buffer)[0]!;

describe("scanNumbers", () => {
  test("reads numbers, blank cells and short rows, and counts lines as an editor does", () => {
    const found = scan("1,2.50,\r\n\r\n-3,,4e2\r5", 3)!;
    expect([...found.line]).toEqual([1, 3, 4]);
    expect(found.columns.map((c) => [...c])).toEqual([
      [1, -3, 5],
      [2.5, Number.NaN, Number.NaN],
      [Number.NaN, 400, Number.NaN],
    ]);
    expect([...found.decimals]).toEqual([0, 2, 0]);
    expect(found.left).toEqual([]);
  });

  test("reads clock times as seconds of the day and says which column holds them", () => {
    const found = scan("23:59:58.5;0,1\n0:00:01;0,2\n12:30;0,3\n", 2, { delimiter: ";", decimal: "," })!;
    expect([...found.columns[0]!]).toEqual([86398.5, 1, 45000]);
    expect([...found.clock]).toEqual([1, 0]);
  });

  test("leaves a row with text to the caller, and gives the table up where rows are left too often or quotes stand in it", () => {
    const found = scan("1,2\n3,open\n5,6,7\n8,9\n", 2)!;
    expect(found.left).toEqual([1, 2]);
    expect([...found.columns[1]!]).toEqual([2, Number.NaN, Number.NaN, 9]);
    expect(scan("1,a\n2,b\n3,c\n", 2, undefined, 2)).toBeNull();
    expect(scan('1,"2"\n', 2)).toBeNull();
    expect(() => scan("1\n", 0)).toThrow("scanNumbers: needs a width of 1 column or more, got 0");
  });

  test("blanks as delimiter part once, however many there are", () => {
    const found = scan("  1   2.5 \t 3\n4 5  6  \n", 3, { delimiter: " ", decimal: "." })!;
    expect(found.columns.map((c) => [...c])).toEqual([
      [1, 4],
      [2.5, 5],
      [3, 6],
    ]);
  });

  test("every written double is read back to the last bit", () => {
    const written = fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true }).map(String),
      fc.tuple(fc.integer(), fc.integer({ min: 0, max: 12 })).map(([n, d]) => (n / 10 ** d).toFixed(d)),
      fc.tuple(fc.bigInt({ min: 0n, max: 10n ** 25n }), fc.integer({ min: -30, max: 30 })).map(([m, e]) => `${m}e${e}`),
      fc.constantFrom("-0", "0.", ".5", "+7", "9007199254740993", "1e23", "0.1e-22", "123456789012345678901234567890"),
    );
    fc.assert(
      fc.property(written, (text) => {
        const found = scan(`${text},1\n`, 2)!;
        expect(found.left).toEqual([]);
        expect(bits(found.columns[0]![0]!)).toBe(bits(Number(text)));
      }),
      { numRuns: 2000 },
    );
  });

  test("every cell is what the CSV library and Number make of it, or its row is left to them", () => {
    const cell = fc.oneof(
      { weight: 8, arbitrary: fc.tuple(fc.integer({ min: -99999, max: 99999 }), fc.integer({ min: 0, max: 5 })) },
      {
        weight: 1,
        arbitrary: fc.constantFrom("", " ", " 1 ", "\t2", "x", "1-2", "--1", "1e", "e5", ".", "-", "NaN", "1:", "5 6"),
      },
    );
    const ends = fc.constantFrom("\n", "\r\n", "\r");
    fc.assert(
      fc.property(
        fc.array(fc.array(cell, { minLength: 1, maxLength: 4 }), { minLength: 1, maxLength: 12 }),
        fc.constantFrom([",", "."], [";", ","], ["\t", "."], ["|", ","]),
        ends,
        (cells, [delimiter, decimal], end) => {
          const rows = cells.map((row) =>
            row
              .map((c) => (typeof c === "string" ? c : (c[0] / 10 ** c[1]).toFixed(c[1]).replace(".", decimal!)))
              .join(delimiter),
          );
          const text = rows.join(end);
          const found = scan(text, 3, { delimiter: delimiter!, decimal: decimal! })!;
          const parsed = parseRows(text, delimiter!);
          expect([...found.line]).toEqual(parsed.map((r) => r.line));
          parsed.forEach((row, i) => {
            const numbers = row.cells.map((c) => parseNumber(c, decimal as "."));
            const regular =
              row.cells.every((c, k) => c.trim() === "" || numbers[k] !== null) &&
              row.cells.slice(3).every((c) => c.trim() === "");
            expect(found.left.includes(i)).toBe(!regular);
            if (regular) for (let c = 0; c < 3; c++) expect(found.columns[c]![i]).toEqual(numbers[c] ?? Number.NaN);
          });
        },
      ),
      { numRuns: 500 },
    );
  });
});
