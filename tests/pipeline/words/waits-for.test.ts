import { expect, test } from "vitest";
import { ready, stuck } from "../../../src/answer";
import { leafTitles, waitsFor } from "../../../src/pipeline/words/all";

const none = stuck({ code: "fill-run/none", says: "There is no fill run yet." });

test("waitsFor names the leaf whose want a stuck leaf hands on, with its number in reading order", () => {
  expect(waitsFor("table", none)).toEqual({ name: "fill-run", title: "fill run", number: 3 });
  expect(Object.keys(leafTitles).indexOf("fill-run") + 1).toBe(3);
});

test("what needs the litres of a drive waits for the drive log, which says itself what it needs", () => {
  const litres = stuck({ code: "as-found/none", says: "There is no fill run, and no table." });
  for (const name of ["noise", "display", "trial"])
    expect(waitsFor(name, litres)).toEqual({ name: "drive-log", title: "drive log", number: 6 });
  expect(waitsFor("drive-log", litres)).toBeNull();
});

test("waitsFor is null for a leaf with an answer, for the leaf that asks itself, and for a want that is no leaf's", () => {
  expect(waitsFor("table", ready(1))).toBeNull();
  expect(waitsFor("fill-run", none)).toBeNull();
  expect(waitsFor("trial", stuck({ code: "recording/odd", says: "" }))).toBeNull();
});
