import { describe, expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import { createRandom } from "../../../src/math/random";
import { noChoices } from "../../../src/pipeline/choices";
import { createPipeline } from "../../../src/pipeline/index";
import { textOf } from "../../../src/pipeline/words/all";
import { suspectStepsFinding } from "../../../src/pipeline/words/suspect-steps";
import { fileOf, fill, world } from "../runs-world";

const job = {
  tank: { capacity_L: 55 },
  fill: { enteredAs: "added" as const },
  pour: { size_L: 5, errorPerPour_L: 0.05 },
  readingUnit: "V" as const,
  volumeUnit: "L" as const,
};

describe("odd steps of several runs", () => {
  const random = createRandom(4);
  const first = fileOf(fill(world, random).rows, "fill", "monday.csv");
  const second = fileOf(fill(world, random, 6).rows, "fill", "tuesday.csv");
  const says = (...fills: (typeof first)[]) => {
    const pipeline = createPipeline({ job, files: { fills, drives: [] }, readings: {}, choices: noChoices });
    return textOf(suspectStepsFinding(valueIn(pipeline.stages.suspectSteps.read())!).sentence);
  };

  test("the run is named in which a pour is wrong; of one run nothing is named", () => {
    expect(says(first, second)).toMatch(/^tuesday\.csv: Pour 6 is probably not as written/);
    expect(says(second)).toMatch(/^Pour 6 is perhaps not as written/);
  });
});
