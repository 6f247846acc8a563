import { describe, expect, test } from "vitest";
import { readRows } from "../../src/leaves/found-rows";

const rows = [
  { reading: 0.46, volume: 0 },
  { reading: 3.2, volume: 55.5 },
];

describe("readRows", () => {
  test.each([
    ["blanks", "0.46 0\n3.2   55.5\n"],
    ["tabs", "0.46\t0\r\n3.2\t55.5"],
    ["semicolons and decimal commas", "0,46;0\n\n3,20; 55,5"],
    ["commas between decimal points", "0.46,0\n3.2,55.5"],
    ["a comma and a blank", "0.46, 0\n3.20, 55.5"],
  ])("reads %s", (_, text) => {
    expect(readRows(text)).toEqual({ rows });
  });

  test("names the first line that is no row, and takes none of the others", () => {
    expect(readRows("0.46 0\nabc 4\n3.2 x")).toEqual({ wrong: "abc 4" });
    expect(readRows("0.46 0 7")).toEqual({ wrong: "0.46 0 7" });
    // One number with a decimal comma, or two whole ones? It is not guessed.
    expect(readRows("2,69")).toEqual({ wrong: "2,69" });
  });

  test("an empty text is an empty table", () => {
    expect(readRows(" \n\n")).toEqual({ rows: [] });
  });
});
