import { expect, test } from "vitest";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
import { runExample } from "../example-run";

const said = (answers: ReturnType<typeof runExample>["answers"]) =>
  textOf(allFindings(answers).find((l) => l.name === "ends")!.finding!.sentence).replaceAll("\u00a0", " ");

test("with a drive log the flickers are told, to a tenth or as less than that, and both ends to the same decimals", () => {
  const text = said(runExample("moor-runner").answers);
  expect(text).toMatch(/^Empty is told at \d\.\d\d V and full at \d\.\d\d V: /);
  expect(text).toMatch(/flickers? (less than 0\.1|\d+(\.\d)?) times an hour/);
  expect(text).toMatch(
    / the display already says 0 with a chance of \d\d %; your job lets it be late on 35 % of days\.$/,
  );
});

test("without a drive log nothing is claimed of the flickers", () => {
  const text = said(runExample("moor-runner", (s) => ({ ...s, files: { ...s.files, drives: [] } })).answers);
  expect(text).toContain("How often the end digits flicker is not known without a drive log.");
  expect(text).not.toMatch(/times an hour|neither/);
});
