import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { decodeText, findDialect, lineOf, neutralCell, parseNumber, parseRows, writeCsv } from "../src/csv";

const utf16 = (text: string, little: boolean, mark: boolean) => {
  const units = [...(mark ? "\ufeff" : ""), ...text].map((c) => c.charCodeAt(0));
  return Uint8Array.from(units.flatMap((u) => (little ? [u & 255, u >> 8] : [u >> 8, u & 255])));
};

describe("decodeText", () => {
  const text = "volume_L;sender_Ω\n0;12,5\n4;31\n";
  test("UTF-8 with and without its mark", () => {
    expect(decodeText(new TextEncoder().encode(text))).toEqual({ text, encoding: "utf-8" });
    expect(decodeText(new TextEncoder().encode(`\ufeff${text}`))).toEqual({ text, encoding: "utf-8" });
  });
  test("UTF-16 of either order, with and without its mark", () => {
    for (const little of [true, false])
      for (const mark of [true, false])
        expect(decodeText(utf16(text, little, mark))).toEqual({ text, encoding: little ? "utf-16le" : "utf-16be" });
  });
  test("what is no UTF-8 is Windows-1252", () => {
    // 0xFC is ü there, and no start of any character in UTF-8.
    const bytes = Uint8Array.from([..."f\u00fcll;V\n1;2\n"].map((c) => c.charCodeAt(0)));
    expect(decodeText(bytes)).toEqual({ text: "füll;V\n1;2\n", encoding: "windows-1252" });
  });
  test("a picture or a program is no text", () => {
    expect(decodeText(Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, 0, 0, 0, 13]))).toBeNull();
    expect(decodeText(Uint8Array.from({ length: 400 }, (_, i) => (i * 37) % 256))).toBeNull();
  });
  test("the encoding that the user names is taken", () => {
    expect(decodeText(Uint8Array.from([0x80]), "windows-1252")?.text).toBe("€");
  });
});

describe("parseRows", () => {
  test("numbers lines as an editor does, over quoted line ends and blank lines of every kind", () => {
    for (const end of ["\n", "\r\n", "\r"]) {
      const rows = parseRows(["a,b", "", '1,"two', 'lines"', "3,4"].join(end), ",");
      expect(rows.map((r) => r.line)).toEqual([1, 3, 5]);
      expect(rows[1]!.cells).toEqual(["1", "two\nlines"]);
    }
  });
  test("a quote that is never closed does not swallow the file, and its line is told", () => {
    const told: number[] = [];
    const rows = parseRows('a,b\n1,2\n3,"4\n5,6\n', ",", (line) => told.push(line));
    expect(told).toEqual([3]);
    expect(rows.map((r) => r.cells)).toEqual([
      ["a", "b"],
      ["1", "2"],
      ["3", '"4'],
      ["5", "6"],
    ]);
  });
  test("lineOf gives the raw line", () => {
    expect(lineOf("a\r\nb\rc\nd", 3)).toBe("c");
    expect(lineOf("a\n", 9)).toBe("");
  });
});

describe("parseNumber", () => {
  test("takes one decimal mark, an exponent, a typographic minus, and nothing else", () => {
    expect(parseNumber(" 1.5 ", ".")).toBe(1.5);
    expect(parseNumber("1,5", ",")).toBe(1.5);
    expect(parseNumber("\u22122", ".")).toBe(-2);
    expect(parseNumber("1.5E-3", ".")).toBe(0.0015);
    for (const cell of ["", " ", "1,5", "1.5.2", "0x10", "1 000", "NaN", "Infinity", "1e", "."])
      expect(parseNumber(cell, ".")).toBeNull();
  });
});

describe("findDialect", () => {
  test("decides delimiter and decimal mark together", () => {
    expect(findDialect("v;r\n0;0,51\n3;1,13\n6;1,55\n")).toEqual({ delimiter: ";", decimal: ",", ambiguous: false });
    expect(findDialect("v,r\n0,0.51\n3,1.13\n")).toEqual({ delimiter: ",", decimal: ".", ambiguous: false });
    expect(findDialect("v\tr\n0\t0,51\n3\t1,13\n")).toEqual({ delimiter: "\t", decimal: ",", ambiguous: false });
    expect(findDialect("v|r\n0|0.51\n3|1.13\n")).toEqual({ delimiter: "|", decimal: ".", ambiguous: false });
    expect(findDialect("v   r\n 0   0,51\n 3   1,13\n")).toEqual({ delimiter: " ", decimal: ",", ambiguous: false });
  });
  test("a late row decides what the first rows leave open", () => {
    expect(findDialect(`v;r\n${"1;2\n".repeat(50)}1;2,5\n`).decimal).toBe(",");
  });
  test("says so where two readings are equally good", () => {
    expect(findDialect("1.5;2,5\n").ambiguous).toBe(true);
    expect(findDialect("1\t2\n3\t4\n").ambiguous).toBe(false);
  });
  test("what the user fixed stays fixed", () => {
    expect(findDialect("0,51;1,13\n", { delimiter: ",", decimal: "." })).toMatchObject({
      delimiter: ",",
      decimal: ".",
    });
  });
});

describe("writeCsv", () => {
  test("a cell that a spreadsheet would run stays text, numbers stay numbers", () => {
    expect(writeCsv([["=1+2", "+SUM(A1)", "@x", "-5", -5, "a,b"]])).toBe("'=1+2,'+SUM(A1),'@x,-5,-5,\"a,b\"");
  });
  test("no exported text begins as a formula", () => {
    fc.assert(
      fc.property(fc.string(), (cell) => {
        const out = neutralCell(cell);
        expect(/^[=+\-@\t\r]/.test(out) && parseNumber(out, ".") === null).toBe(false);
        expect(out.endsWith(cell)).toBe(true);
      }),
    );
  });
});
