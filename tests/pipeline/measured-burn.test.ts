import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { DriveLog } from "../../src/pipeline/drive-log";
import type { Job } from "../../src/pipeline/job";
import { measuredBurns } from "../../src/pipeline/measured-burn";
import { textOf } from "../../src/pipeline/words/all";
import { measuredBurnPhrases } from "../../src/pipeline/words/range-left";
import { runExample } from "./example-run";

const log = (change: Partial<DriveLog>) =>
  ({ file: "drive.csv", burn_L_per_h: 24.437, burnStandard_L_per_h: 0.5, burnIsLeast: false, ...change }) as DriveLog;
const job = (consumption: Partial<Job["consumption"]>, reserve: Partial<Job["reserve"]>) =>
  ({
    consumption: { mean: null, standardUncertainty: null, unit: "L/100km", ...consumption },
    reserve: { value: null, unit: "km", ...reserve },
  }) as Job;

describe("a measured burn", () => {
  test("is offered to the place of its ±, with the spread from run to run beside it", () => {
    const [burn] = measuredBurns([log({})], job({}, { value: 0.5, unit: "h" }));
    expect(burn!.halfWidth_L_per_h).toBeCloseTo(0.98, 9);
    // √(0.5² + (0.15 · 24.437)²) = 3.6995 L/h
    expect(burn!.consumption).toEqual({ mean: 24.44, standardUncertainty: 3.7, unit: "L/h" });
    expect(burn!.reserveIn).toBeNull();
    expect(burn!.taken).toBe(false);
  });

  test("keeps the spread that the job states, as a share", () => {
    const stated = job({ mean: 20, standardUncertainty: 1, unit: "L/h" }, { value: 0.5, unit: "h" });
    // √(0.5² + (0.05 · 24.437)²) = 1.3202 L/h
    expect(measuredBurns([log({})], stated)[0]!.consumption.standardUncertainty).toBe(1.3);
  });

  test.each([
    ["is no more than a least", { burnIsLeast: true }],
    ["has no ±", { burnStandard_L_per_h: null }],
    ["is smaller than its ±", { burn_L_per_h: 0.9 }],
    ["is none", { burn_L_per_h: 0 }],
  ])("is not offered where it %s", (_, change) => {
    expect(measuredBurns([log(change)], job({}, { value: 0.5, unit: "h" }))).toEqual([]);
  });

  test.each(["km", "mi", "lap"] as const)("by the hour serves no reserve in %s, and says so", (unit) => {
    const [burn] = measuredBurns([log({})], job({}, { value: 12, unit }));
    expect(burn!.reserveIn).toBe(unit);
    expect(textOf(measuredBurnPhrases(burn!))).toContain("state the reserve in hours or litres");
  });

  test("that is taken gives fen-skiff its range, says that it is taken and is offered no second time", () => {
    const before = runExample("fen-skiff");
    const offered = measuredBurns(valueIn(before.answers.driveLog)!, valueIn(before.answers.job)!)[0]!;
    const after = runExample("fen-skiff", (s) => ({ ...s, job: { ...s.job, consumption: offered.consumption } }));
    const [taken] = measuredBurns(valueIn(after.answers.driveLog)!, valueIn(after.answers.job)!);
    expect(taken!.taken).toBe(true);
    expect(textOf(measuredBurnPhrases(taken!))).toMatch(/^What drive\.csv measured is taken: /);
    const range = (run: typeof before) => valueIn(run.answers.range)!;
    expect(range(after).unit).toBe("h");
    // Little more than the reserve of half an hour is left at the warning, whatever an hour burns.
    expect(range(after).range).toBeGreaterThan(0.5);
    expect(range(after).range).not.toBe(range(before).range);
  });
});
