/** A warning over all that the display shows: said as what it is, with no range for a moment that never comes. */
import { expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { JobInput } from "../../src/pipeline/job";
import { lowFuelFinding } from "../../src/pipeline/words/low-fuel";
import { runExample } from "./example-run";

/** Fill run alone: the point then depends on reserve, curve and the displayed step only. */
const runWith = (change: (job: JobInput) => JobInput) =>
  runExample("moor-runner", (s) => ({ ...s, job: change(s.job), files: { ...s.files, drives: [] } })).answers;
const issueOf = (answers: ReturnType<typeof runWith>) =>
  answers.lowFuel.state === "ready"
    ? answers.lowFuel.cautions.find((c) => c.code === "low-fuel/over-the-tank")
    : undefined;
const reserveOf = (value: number) => (job: JobInput) => ({ ...job, reserve: { value, unit: "L" as const } });

test("a reserve over the tank is no warning point, and no range is told for it", () => {
  const answers = runWith(reserveOf(80));
  expect(issueOf(answers)!.remedy).toContain("smaller reserve");
  const low = valueIn(answers.lowFuel)!;
  expect(low.alwaysOn!.most_L).toBeLessThan(64);
  expect(
    lowFuelFinding(low)
      .sentence.map((p) => (typeof p === "string" ? p : p.text))
      .join(""),
  ).toMatch(/^It would never go out: 83\sL usable are asked for/);
  expect(answers.range.state).toBe("stuck");
});

test("a displayed step that lifts the point over the fullest row is told as that", () => {
  const answers = runWith((job) => ({
    ...reserveOf(52)(job),
    device: { ...job.device, displayUnit: "percent", displayStep: 20 },
  }));
  expect(issueOf(answers)).toBeDefined();
  expect(issueOf(answers)!.remedy).toContain("finer");
  expect(answers.range.state).toBe("stuck");
});

test("what is not known of the level is blamed where it is more than the reserve", () => {
  const answers = runWith((job) => ({
    ...job,
    fill: { ...job.fill, startedFrom: "drained" },
    tank: { ...job.tank, unusableLimit_L: 50 },
  }));
  expect(issueOf(answers)!.remedy).toContain("unusable volume");
});

test("a light clears under the fullest row, where a step lies between both", () => {
  const low = valueIn(runWith(reserveOf(55)).lowFuel)!;
  expect(low.alwaysOn).toBeUndefined();
  expect(low.warnAtUsable_L).toBe(57);
  expect(low.clearAtUsable_L).toBe(58);
});

test("an ordinary job clears as far over its warning as noise asks for", () => {
  const low = valueIn(runWith((job) => job).lowFuel)!;
  expect([low.warnAtUsable_L, low.clearAtUsable_L, low.alwaysOn]).toEqual([5, 7, undefined]);
});
