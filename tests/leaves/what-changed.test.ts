import { expect, test } from "vitest";
import { changesToSay } from "../../src/leaves/what-changed";

const before = { verdict: "Not yet.", leaves: { curve: "Within 1 L.", table: "10 rows." } };

test("the leaf in hand and the verdict are said, each only where it changed", () => {
  const now = { verdict: "Ready.", leaves: { curve: "Within 2 L.", table: "4 rows." } };
  expect(changesToSay(before, now, "curve")).toBe("Within 2 L. Ready.");
  expect(changesToSay(before, { ...now, verdict: before.verdict }, "table")).toBe("4 rows.");
  expect(changesToSay(before, now, null)).toBe("Ready.");
  expect(changesToSay(before, before, "curve")).toBe("");
});

test("a leaf that has no words of its own says nothing", () => {
  expect(changesToSay(before, { ...before, leaves: {} }, "curve")).toBe("");
  expect(changesToSay(before, before, "no-leaf")).toBe("");
});
