/** The statement to the customer: decision, probability and guard band must be one story. */
import { expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { exampleNames, runExample } from "./example-run";

test.each(exampleNames)(
  "%s: conforms exactly where the largest error and its guard band fit into the tolerance",
  (name) => {
    // The tolerance also decides how many rows are worth typing; the very same table is to be judged each time.
    const asked = (tolerance_L: number | null) =>
      valueIn(
        runExample(name, (s) => ({
          ...s,
          files: { ...s.files, drives: [] },
          choices: { ...s.choices, table: { points: 8 } },
          job: { ...s.job, targets: { ...s.job.targets, ...(tolerance_L === null ? {} : { tolerance_L }) } },
        })).answers.verdict,
      )!;
    const plain = asked(null);
    expect(plain.guard_L).toBeGreaterThan(0);
    // Below three significant digits the draws themselves decide.
    const wide = asked(1.02 * (plain.largest_L + plain.guard_L));
    expect([wide.decision, wide.probability >= wide.sayFrom]).toEqual(["conforms", true]);
    const narrow = asked(0.98 * (plain.largest_L + plain.guard_L));
    expect(narrow.decision).not.toBe("conforms");
    const none = asked(0.001);
    expect(none.probability).toBe(0);
    expect(none.probabilityHigh).toBeCloseTo(3 / none.draws, 12);
  },
);
