import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { secondRoomOf } from "../../src/pipeline/second-room";
import type { RunState } from "../../src/pipeline/suspect-states";
import { textOf } from "../../src/pipeline/words/all";
import { suspectStepsFinding } from "../../src/pipeline/words/suspect-steps";
import { runExample } from "./example-run";
import { analyse, job, sheet, trueVolts } from "./fill-world";

const state = (chance: number, steps: [number, number] | null): RunState => ({
  chance,
  points: [],
  putIns: [],
  kinks_L: [],
  shelf: steps && { from_L: 20, spread_L: 1, size_L: 4, steps },
  noises: null,
});

describe("a second room", () => {
  test("is told where it is likelier than not, at the place that is likeliest over all states", () => {
    expect(secondRoomOf({ states: [state(0.5, null), state(0.5, [4, 6])] })).toBeNull();
    const room = secondRoomOf({
      states: [state(0.35, [4, 6]), state(0.2, null), state(0.25, [5, 7]), state(0.2, [5, 7])],
    })!;
    expect(room.chance).toBeCloseTo(0.8, 12);
    expect(room.steps).toEqual([5, 7]);
  });

  test("that fills over the pours 6 to 9 is said, with what it would hide", () => {
    const twoRooms = (l: number) => trueVolts(l <= 22 ? l : Math.max(22, l - 11));
    for (let seed = 47; seed <= 50; seed++) {
      const { suspects } = analyse(sheet(seed, { n: 18, volts: twoRooms }), {
        job: { ...job, tank: { capacity_L: 71 } },
      });
      const room = secondRoomOf(suspects.runs[0]!)!;
      expect(room.steps).toEqual([5, 9]);
      const finding = suspectStepsFinding(suspects);
      expect(textOf(finding.sentence).replaceAll("\u00a0", " ")).toContain(
        `Between steps 5 and 9 a second room of the tank seems to fill (chance ${Math.round(100 * room.chance)} %): a pour forgotten there would show in no reading.`,
      );
      expect(finding.says).toContain("suspect-steps/second-room");
    }
  });

  test("is not seen in a tank that has none", () => {
    for (let seed = 1; seed <= 12; seed++) expect(secondRoomOf(analyse(sheet(seed)).suspects.runs[0]!)).toBeNull();
    for (const name of ["moor-runner", "fell-carrier"] as const) {
      const { answers } = runExample(name);
      expect(valueIn(answers.suspectSteps)!.runs.map(secondRoomOf)).toEqual([null]);
    }
  });
});

test("the curve holds only if the pours beside the wall are as written, and that is a caution", () => {
  const twoRooms = (l: number) => trueVolts(l <= 22 ? l : Math.max(22, l - 11));
  const { cautions } = analyse(sheet(47, { n: 18, volts: twoRooms }), { job: { ...job, tank: { capacity_L: 71 } } });
  expect(cautions.find((c) => c.code === "suspect-steps/second-room")).toMatchObject({
    weight: "holds-if",
    condition: "the pours from step 5 to 9 are as written",
    where: { file: "fill.csv", step: 9 },
  });
});
