import { expect, test } from "vitest";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
import { allSaid } from "../../../src/pipeline/words/finding";
import { runExample } from "../example-run";

const said = (answers: ReturnType<typeof runExample>["answers"]) =>
  textOf(allSaid(allFindings(answers).find((l) => l.name === "ends")!.finding!)).replaceAll("\u00a0", " ");

test("with a drive log the flickers are told, to a tenth or as less than that, and both ends to the same decimals", () => {
  const text = said(runExample("moor-runner").answers);
  expect(text).toMatch(/^Empty is told at \d\.\d\d V and full at \d\.\d\d V: /);
  expect(text).toMatch(/flickers? (less than 0\.1|\d+(\.\d)?) times an hour/);
  expect(text).toMatch(
    / the display already says 0 with a chance of \d\d %; (the named default allows it to be late on 35 % of days\.|on \d\d % of days it is late, and the named default allows 35 %: .*)$/,
  );
});

test("without a drive log nothing is claimed of the flickers", () => {
  const text = said(runExample("moor-runner", (s) => ({ ...s, files: { ...s.files, drives: [] } })).answers);
  expect(text).toContain("How often the end digits flicker is not known without a drive log.");
  expect(text).not.toMatch(/times an hour|neither/);
});

test("a 0 that is late more often than the job allows is called so", () => {
  const { answers } = runExample("moor-runner");
  const { ends, job } = answers;
  if (ends?.state !== "ready" || job?.state !== "ready") throw new Error("the example has no ends");
  const with_ = (zeroInTime: number) => {
    const empty = { ...ends.value.empty, zeroInTime };
    return said({ ...answers, ends: { ...ends, value: { ...ends.value, empty } } });
  };
  expect(with_(0.54)).toContain(
    "a chance of 54 %, so it is late more often than on the 35 % of days that the named default allows.",
  );
  // The same end told as far inside as was wanted: then the typed step is not to blame.
  const inside = { ...ends.value.empty, zeroInTime: 0.59, margin: 1 };
  expect(said({ ...answers, ends: { ...ends, value: { ...ends.value, empty: inside } } })).toContain(
    "a chance of 59 %, so it is late more often",
  );
  // A little late without any rounding: no step is blamed.
  const hardly = { ...ends.value.empty, zeroInTime: 0.62, margin: 1 };
  expect(said({ ...answers, ends: { ...ends, value: { ...ends.value, empty: hardly } } })).toContain(
    "on 38 % of days it is late, and the named default allows 35 %, hardly more.",
  );
  expect(with_(0.65)).toContain("a chance of 65 %; the named default allows it to be late on 35 % of days.");
  expect(with_(0.61)).toContain(
    "a chance of 61 %; on 39 % of days it is late, and the named default allows 35 %: the device takes readings only in whole steps of 0.01 V, so the end to type lies a little short of the one worked out.",
  );
});

test("the days on which 0 may be late are the job's only where it states them", () => {
  const stated = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, targets: { ...s.job.targets, lateZeroRisk: 0.35 } },
  }));
  expect(said(stated.answers)).toContain("your job allows");
  expect(said(runExample("moor-runner").answers)).not.toContain("your job allows");
});
