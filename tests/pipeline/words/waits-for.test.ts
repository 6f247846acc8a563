import { expect, test } from "vitest";
import { ready, stuck } from "../../../src/answer";
import { leafTitles, waitsFor } from "../../../src/pipeline/words/all";

const none = stuck({ code: "fill-run/none", says: "There is no fill run yet." });

test("waitsFor names the leaf whose want a stuck leaf hands on, with its number in reading order", () => {
  expect(waitsFor("table", none)).toEqual({ name: "fill-run", title: "fill run", number: 3 });
  expect(Object.keys(leafTitles).indexOf("fill-run") + 1).toBe(3);
});

test("waitsFor is null for a leaf with an answer, for the leaf that asks itself, and for a want that is no leaf's", () => {
  expect(waitsFor("table", ready(1))).toBeNull();
  expect(waitsFor("fill-run", none)).toBeNull();
  expect(waitsFor("trial", stuck({ code: "recording/odd", says: "" }))).toBeNull();
});
