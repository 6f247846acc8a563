import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { overTable_L, rangeLeft } from "../../src/pipeline/range-left";
import { runExample } from "./example-run";

const { answers } = runExample("moor-runner");
const curve = valueIn(answers.curve)!;
const lowFuel = valueIn(answers.lowFuel)!;
const onCurve = curve.grid.map((g) => ({
  reading: g.reading,
  volume_L: g.volume_L,
  typedReading: "",
  typedVolume: "",
}));

describe("range left where the table leaves the curve", () => {
  test("litres over the table are those of the curve at the reading that shows the value, either way round; none outside the rows", () => {
    const { grid } = curve;
    const line = {
      readingUnit: "V" as const,
      grid: [
        { reading: 0, volume_L: 0 },
        { reading: 4, volume_L: 40 },
      ],
    };
    const straight = line as unknown as Parameters<typeof overTable_L>[0];
    const rows = [
      { reading: 0.5, volume_L: 0 },
      { reading: 1, volume_L: 8 },
      { reading: 4, volume_L: 40 },
    ].map((r) => ({ ...r, typedReading: "", typedVolume: "" }));
    expect(overTable_L(straight, { rows }, 4)).toBeCloseTo(7.5 - 4, 9);
    expect(overTable_L(straight, { rows: [...rows].reverse() }, 4)).toBeCloseTo(3.5, 9);
    expect(overTable_L(straight, { rows }, -1)).toBe(0);
    expect(overTable_L(straight, { rows }, 41)).toBe(0);
    expect(overTable_L(curve, { rows: onCurve }, (grid[5]!.volume_L + grid[6]!.volume_L) / 2)).toBeCloseTo(0, 6);
  });

  test("a table that shows two litres less than the curve lights the lamp two litres early, and the range counts them", () => {
    const ranged = (rows: typeof onCurve) => {
      const { display, noise, trial, job } = answers;
      const answer = rangeLeft(
        curve,
        lowFuel,
        valueIn(display),
        valueIn(noise),
        valueIn(trial),
        { rows },
        valueIn(job)!,
        1,
      );
      return valueIn(answer)!;
    };
    const plain = ranged(onCurve);
    const early = ranged(onCurve.map((r) => ({ ...r, volume_L: r.volume_L - 2 })));
    expect(early.usable_L - plain.usable_L).toBeGreaterThan(1.8);
    expect(early.usable_L - plain.usable_L).toBeLessThan(2.2);
    expect(early.range).toBeGreaterThan(1.2 * plain.range);
  });
});
