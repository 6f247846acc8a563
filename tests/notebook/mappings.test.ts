import { expect, test } from "vitest";
import { columnsToChoose, headersOf } from "../../src/notebook/mappings";

const bytes = (text: string) => new TextEncoder().encode(text);

test("a file is known again by its headers in any order, unless two are called alike", () => {
  const of = (head: string) => headersOf(bytes(`${head}\n0,1,2\n1,2,3\n`), "fill");
  expect(of("a,b,c")).toBe(of("c,a,b"));
  expect(of("a,b,b")).not.toBe(of("b,a,b"));
  expect(of("a,b,c")).not.toBe(headersOf(bytes("a,b,c\n0,1,2\n1,2,3\n"), "drive"));
});

test("columns can be chosen while the file cannot be read, by the marks chosen so far", () => {
  const file = bytes("Yard\nvolume L;sender;sender\n0 L;0,5 V;1\n4 L;0,7 V;2\n");
  expect(columnsToChoose(file, {})).toEqual(["volume L", "sender", "sender"]);
  expect(columnsToChoose(file, { headerRow: 1 })).toEqual(["Yard", "column 2", "column 3"]);
  expect(columnsToChoose(bytes("nothing here\n"), {})).toEqual([]);
});
