import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { readSheet, type Sheet, writeSheet } from "../../src/notebook/typed-sheet";

describe("the typed sheet", () => {
  test("is a plain table, a blank start being 0, and a decimal comma a point", () => {
    const sheet: Sheet = {
      enteredAs: "added",
      volumeUnit: "L",
      readingUnit: "V",
      rows: [
        { poured: "", reading: "0,31" },
        { poured: "5", reading: "0.52" },
      ],
    };
    expect(writeSheet(sheet)).toBe("added_L;reading_V\n0;0.31\n5;0.52\n");
  });

  test("comes back as it was written, words and blanks in it too", () => {
    const cell = fc.oneof(fc.constant(""), fc.constantFrom("5", "0.25", "-1"), fc.string({ maxLength: 8 }));
    const clean = (s: string) => s.trim().replace("\u2212", "-").replace(",", ".");
    fc.assert(
      fc.property(
        fc.array(fc.record({ poured: cell, reading: cell }), { maxLength: 12 }),
        fc.constantFrom("added" as const, "cumulative" as const),
        fc.constantFrom("V" as const, "ohm" as const, "count" as const),
        (rows, enteredAs, readingUnit) => {
          const cells = rows
            .map((r) => ({ poured: clean(r.poured), reading: clean(r.reading) }))
            .filter((r) => r.poured !== "" || r.reading !== "")
            .map((r, i) => (i === 0 && r.poured === "" ? { ...r, poured: "0" } : r));
          const sheet: Sheet = { enteredAs, volumeUnit: "USgal", readingUnit, rows: cells };
          expect(readSheet(writeSheet(sheet))).toEqual(sheet);
        },
      ),
      { seed: 7, numRuns: 200 },
    );
  });
});
