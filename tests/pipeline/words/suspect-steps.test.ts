import { describe, expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import { createRandom } from "../../../src/math/random";
import { noChoices } from "../../../src/pipeline/choices";
import { volumeAt } from "../../../src/pipeline/curve-lookup";
import { answersOf, createPipeline } from "../../../src/pipeline/index";
import { textOf } from "../../../src/pipeline/words/all";
import { suspectStepsFinding } from "../../../src/pipeline/words/suspect-steps";
import { runExample, sheet } from "../example-run";
import { fileOf, fill, world } from "../runs-world";

const plain = (text: string) => text.replaceAll("\u00a0", " ");
const suspectsOf = (rows: [number, number][]) => {
  const files = { fills: [sheet("added_L,reading_V", rows)], drives: [] };
  return valueIn(answersOf(createPipeline({ job: {}, files, readings: {}, choices: noChoices })).suspectSteps)!;
};

test.each([3, 4])("of %i steps none can be weighed, so none is said to belong", (n) => {
  const rows = Array.from({ length: n }, (_, i): [number, number] => [i ? 12 : 0, 0.5 + 0.61 * i]);
  const { sentence, condition, short } = suspectStepsFinding(suspectsOf(rows));
  expect(textOf(sentence)).toBe("Too few steps to tell whether one of them does not belong.");
  expect(textOf(short)).toBe("too few");
  expect(textOf(condition)).toMatch(/^Pour more steps/);
});

test("enough steps that fit are said to belong", () => {
  const rows = Array.from({ length: 12 }, (_, i): [number, number] => [i ? 4 : 0, 0.5 + 0.21 * i - 0.002 * i * i]);
  expect(textOf(suspectStepsFinding(suspectsOf(rows)).sentence)).toMatch(/^All steps belong/);
});

test("best and worst step that read the same are one figure, the larger one", () => {
  const suspects = valueIn(runExample("moor-runner").answers.suspectSteps)!;
  const told = (values: number[]) => {
    const runs = suspects.runs.map((r) => ({ ...r, smallestDetectable_L: r.steps.map((_, i) => values[i] ?? null) }));
    return plain(textOf(suspectStepsFinding({ ...suspects, runs }).condition));
  };
  expect(told([4.1, 4.2])).toMatch(/shows from 4\.2 L on at any step\./);
  expect(told([3.1, 4.2])).toMatch(/shows from 3\.1 L on at the best step, from 4\.2 L on at the worst\./);
});

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

describe("a first step off the rest that is not raised", () => {
  /** The first pour moves the reading as far as the next four together: a slip, or a narrow foot. */
  const rows = [
    0.498, 1.102, 1.27, 1.429, 1.582, 1.737, 1.891, 2.038, 2.187, 2.332, 2.478, 2.622, 2.761, 2.912, 3.054, 3.196,
    3.332, 3.473, 3.617, 3.758, 3.901,
  ].map((reading, k): [number, number] => [k ? 3 : 0, reading]);
  const stages = createPipeline({
    job: { tank: { capacity_L: 62 }, sender: { kind: "float-arm" }, pour: { errorPerPour_L: 0.02 } },
    files: { fills: [sheet("added_L,sender_V", rows)], drives: [] },
    readings: {},
    choices: noChoices,
  }).stages;
  const suspects = valueIn(stages.suspectSteps.read())!;

  test("is told with all that would explain it, instead of that all steps belong", () => {
    const run = suspects.runs[0]!;
    expect(run.events).toEqual([]);
    expect(run.oddEnds.map((e) => e.step)).toEqual([0]);
    expect(textOf(suspectStepsFinding(suspects).short)).toBe("1 doubt");
    expect(plain(textOf(suspectStepsFinding(suspects).sentence))).toMatch(
      /^Step 0 lies 3\.\d+ ± [\d.]+ L off the rest: a wrong first reading or pour would do that \(chance \d\d %\), and so would a tank that bends there\./,
    );
  });

  test("where the first pour hardly moves the reading, the sender's stop is named too", () => {
    const steps: [number, number][] = [
      2.5, 2.48, 2.378, 2.269, 2.148, 2.018, 1.874, 1.716, 1.541, 1.346, 1.129, 0.883, 0.605,
    ].map((reading, k) => [k ? 5 : 0, reading]);
    const found = valueIn(
      createPipeline({
        job: {
          tank: { capacity_L: 60, unusable_L: 1 },
          sender: { kind: "float-arm", emptyOhms: 240, fullOhms: 33 },
          circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5, ratiometric: true, adcBits: 12 },
          fill: { startedFrom: "pick-up-dry" },
          pour: { size_L: 5, errorPerPour_L: 0.03, scaleErrorLimit: 0.005 },
        },
        files: { fills: [sheet("added_L,sender_V", steps)], drives: [] },
        readings: {},
        choices: noChoices,
      }).stages.suspectSteps.read(),
    )!;
    expect(plain(textOf(suspectStepsFinding(found).sentence))).toMatch(
      /^Step 0 lies 3\.9\d ± [\d.]+ L off the rest: a wrong first reading or pour would do that \(chance \d\d %\), and so would a sender that stands on its empty stop there, or a tank that bends there\./,
    );
  });

  test("does not decide the curve: it goes through the step as it is written", () => {
    const { grid } = valueIn(stages.curve.read())!;
    expect(Math.abs(volumeAt({ grid }, 0.498))).toBeLessThan(0.5);
    expect(Math.abs(volumeAt({ grid }, 1.102) - 3)).toBeLessThan(0.2);
  });
});

test("a decimal mark that slipped: ten among ones is told with the one that fits", () => {
  const rows = Array.from({ length: 15 }, (_, k): [number, number] => [
    k === 0 ? 0 : k === 6 ? 40 : 4,
    0.5 + 0.22 * k + 0.003 * k * k,
  ]);
  const said = plain(textOf(suspectStepsFinding(suspectsOf(rows)).sentence));
  expect(said).toMatch(
    /^Pour 6 is probably not as written: .* sits 3[56]\.\d+ ± [\d.]+ L high; taken as 4\.0 L, like the others, it fits\./,
  );
});
