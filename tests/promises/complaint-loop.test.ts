/** Closed loop of the complaint on a tuning seed; larger counts by `npx tsx tests/promises/run-loop.ts complaint 1 20`. */
import { expect, test } from "vitest";
import { complaintsOf, countComplaints } from "./complaint-loop";

test("what the first sentence blames mends the display in an independent replay, and a sound display is blamed for nothing", {
  timeout: 120_000,
}, () => {
  const all = complaintsOf(4, 4, ["none", "row on the full stop", "quick filter", "two rows", "reversed sender"]);
  expect(all.map((c) => [c.planted, c.judgement, c.cause])).toEqual([
    ["none", "rightly silent", null],
    ["row on the full stop", "right", "bounces-at-an-end: no-margin"],
    ["quick filter", "right", "dances: quick-filter"],
    ["two rows", "right", "wrong-in-the-middle: straight-line"],
    ["reversed sender", "right", "wrong-in-the-middle: reversed"],
  ]);
  expect(countComplaints(all).at(-1)!.figures).toMatchObject({ right: 4, wrong: 0, missed: 0 });
});
