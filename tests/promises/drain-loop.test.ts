/** Closed loop of a drain run alone on tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts drain 1 110`. */
import { describe, expect, test } from "vitest";
import { drawDown } from "../../datasets/world/drain";
import { makeJob } from "../../datasets/world/job";
import { coverageLine } from "./lines";
import { measureDrain } from "./measure-drain";
import { mean } from "./score";

describe("a tank that is drawn down until its pump draws air", () => {
  test("its rows are within the stated errors of what was in it, and end at the pick-up", () => {
    for (const seed of [3, 4, 9]) {
      const { truth } = makeJob(seed);
      const { from_L, to_L, record } = drawDown(truth, 1, false);
      const last = record.steps[record.steps.length - 1]!;
      expect(to_L).toBe(truth.unusable_L);
      expect(from_L + last.trueVolume_L).toBeCloseTo(to_L, 9);
      for (const s of record.steps)
        expect(Math.abs(s.trueVolume_L + s.volume_L)).toBeLessThanOrEqual(
          truth.fill.scaleErrorLimit * s.volume_L + 5 * truth.fill.errorPerPour_L * Math.sqrt(record.steps.length),
        );
    }
  });

  test("its band holds the true volume as often as stated, and its curve is far nearer than two points", () => {
    const scores = Array.from({ length: 40 }, (_, i) => measureDrain(i + 1, false)!);
    // 95 % lies in the interval of the count, or under it.
    expect(
      coverageLine(
        "",
        scores.map((s) => s.band),
      ).figures.upper,
    ).toBeGreaterThan(0.95);
    expect(mean(scores.map((s) => s.curveRms))).toBeLessThan(0.18 * mean(scores.map((s) => s.twoPointRms)));
  });
});

test("a last draw of what was left is no slip of the pen", () => {
  // The last of eleven draws of 3 L held 1.65 L, out of a narrow keel: nothing is wrong with it.
  const score = measureDrain(9, false)!;
  expect(score.band.share).toBeGreaterThan(0.95);
  expect(score.curveRms).toBeLessThan(1);
});
