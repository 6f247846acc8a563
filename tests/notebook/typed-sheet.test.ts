import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { readSheet, type Sheet, writeSheet } from "../../src/notebook/typed-sheet";
import { readRecording, typedNames } from "../../src/pipeline/recording";

describe("the typed sheet", () => {
  test("is a plain table, a blank start being 0, and a decimal comma a point", () => {
    const sheet: Sheet = {
      kind: "fill",
      enteredAs: "added",
      volumeUnit: "L",
      readingUnit: "V",
      rows: [
        { poured: "", reading: "0,31" },
        { poured: "5", reading: "0.52" },
      ],
    };
    expect(writeSheet(sheet)).toBe("added_L;reading_V\n0;0.31\n5;0.52\n");
    expect(writeSheet({ ...sheet, kind: "drain" })).toBe("drawn_each_L;reading_V\n0;0.31\n5;0.52\n");
  });

  test("comes back as it was written, words and blanks in it too", () => {
    const cell = fc.oneof(fc.constant(""), fc.constantFrom("5", "0.25", "-1"), fc.string({ maxLength: 8 }));
    const clean = (s: string) => s.trim().replace("\u2212", "-").replace(",", ".");
    fc.assert(
      fc.property(
        fc.array(fc.record({ poured: cell, reading: cell }), { maxLength: 12 }),
        fc.constantFrom("added" as const, "cumulative" as const),
        fc.constantFrom("fill" as const, "drain" as const),
        fc.constantFrom("L", "USgal", "impgal", "kg"),
        fc.constantFrom("V" as const, "ohm" as const, "count" as const),
        (rows, enteredAs, kind, volumeUnit, readingUnit) => {
          const cells = rows
            .map((r) => ({ poured: clean(r.poured), reading: clean(r.reading) }))
            .filter((r) => r.poured !== "" || r.reading !== "")
            .map((r, i) => (i === 0 && r.poured === "" ? { ...r, poured: "0" } : r));
          const sheet: Sheet = { kind, enteredAs, volumeUnit, readingUnit, rows: cells };
          expect(readSheet(writeSheet(sheet))).toEqual(sheet);
        },
      ),
      { seed: 7, numRuns: 200 },
    );
  });

  test("is read by the pipeline as what it is, in every unit, poured or drawn, amounts or sums", () => {
    for (const kind of ["fill", "drain"] as const)
      for (const enteredAs of ["added", "cumulative"] as const)
        for (const volumeUnit of ["L", "USgal", "impgal", "kg"])
          for (const readingUnit of ["V", "ohm", "count"] as const) {
            const rows = [1, 2, 3, 4].map((n) => ({ poured: String(5 * n), reading: String(80 * n) }));
            const bytes = new TextEncoder().encode(writeSheet({ kind, enteredAs, volumeUnit, readingUnit, rows }));
            const read = readRecording({ name: typedNames[kind], kind, bytes, sha256: "0" }, null);
            if (read.state !== "ready") throw new Error("the sheet is sound");
            expect(read.value.decided).toMatchObject({ enteredAs, enteredSure: true });
            expect(read.value.columns.map((c) => [c.role, c.unit])).toEqual([
              ["volume", volumeUnit],
              ["reading", readingUnit],
            ]);
          }
  });
});
