/** What is said to mend a thing can be done where it is said: on the page without paths of job.json, and of one's own choice as one's own. */
import { expect, test } from "vitest";
import { figuresOf } from "../../../src/pipeline/figures/all";
import { published } from "../../../src/said";
import { runExample } from "../example-run";

const muchHidden = (margin: number | null) => {
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    // 0 hardly ever late: then the dry pick-up decides the empty end.
    job: { ...s.job, targets: { ...s.job.targets, lateZeroRisk: 0.00001 } },
    choices: { ...s.choices, ends: { emptyMargin: margin, fullMargin: null } },
  }));
  if (answers.ends.state !== "ready") throw new Error("remedies: the ends are not ready");
  return answers.ends.cautions.find((c) => c.code === "ends/much-hidden")!;
};

test("a margin of one's own that hides much is made smaller where it was typed", () => {
  const caution = muchHidden(0.2);
  expect(published(caution.says)).toMatch(/of the run’s volume, is hidden: that is the margin you chose\.$/);
  expect(caution.remedy).toBe("Make it smaller, or take what is recommended.");
});

test("days on which 0 may come late are named by their place on the page, and by their path on the command line", () => {
  const caution = muchHidden(null);
  expect(caution.remedy).toContain("on more days in the job, under “How good it must be”.");
  expect(caution.remedyOnCommandLine).toContain("--set targets.lateZeroRisk=SHARE");
});

test("the rows as they are typed stand with their units in the table of their figure, also where the job reads in others", () => {
  const { answers } = runExample("peat-hauler");
  expect(figuresOf(answers).table![0]!.table.columns.map((c) => c.replaceAll("\u00a0", " "))).toEqual([
    "row",
    "reading in V, as typed",
    "usable in US gal, as typed",
  ]);
});
