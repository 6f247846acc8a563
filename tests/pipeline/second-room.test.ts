import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { overShelf, partsAt } from "../../src/pipeline/curve-inverse";
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
  shelf: steps && { from_L: 20, spread_L: 1, size_L: 4, steps, unseen: [] },
  noises: null,
});

describe("a pour that no reading shows", () => {
  /** 30 L known within 1 L, well over a wall at 20 L, and a room of 4 L: a pour of 5 L more is in it once in ten, one of 5 L less never. */
  const bare = {
    mean_L: [30, 40],
    covariance_L2: [
      [1, 0.5],
      [0.5, 1],
    ],
  };
  const room = {
    from_L: 20,
    spread_L: 1,
    size_L: 4,
    steps: [4, 6] as [number, number],
    unseen: [{ more_L: 5, odds: 1 / 9 }],
  };

  test("is a part of its own over the room, by its chance; none of it under the wall", () => {
    expect(partsAt(1, bare, room, 0).map((p) => [Number(p.weight.toFixed(6)), p.mean])).toEqual([
      [0, 30],
      [0.9, 34],
      [0.1, 39],
    ]);
    const under = { mean_L: [10], covariance_L2: [[1]] };
    const [below, ...above] = partsAt(1, under, room, 0);
    expect(below).toMatchObject({ mean: 10, standard: 1 });
    for (const part of above) expect(part.weight).toBeLessThan(1e-9);
  });

  test("by hand: it lifts the mean by a tenth of itself and moves all readings over the room together: 0.9·0.1·25 L²", () => {
    const over = overShelf(room, bare);
    expect(over.mean_L.map((v) => Number(v.toFixed(6)))).toEqual([34.5, 44.5]);
    expect(over.covariance_L2.flat().map((v) => Number(v.toFixed(6)))).toEqual([3.25, 2.75, 2.75, 3.25]);
  });

  test("mean and variance of the parts are those of the whole", () => {
    const near = { mean_L: [20.4], covariance_L2: [[1.7]] };
    const parts = partsAt(1, near, room, 0);
    const mean = parts.reduce((s, p) => s + p.weight * p.mean, 0);
    const square = parts.reduce((s, p) => s + p.weight * (p.standard ** 2 + p.mean ** 2), 0);
    const whole = overShelf(room, near);
    expect(whole.mean_L[0]).toBeCloseTo(mean, 9);
    expect(whole.covariance_L2[0]![0]).toBeCloseTo(square - mean ** 2, 9);
  });
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
