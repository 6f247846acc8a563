import { describe, expect, test } from "vitest";
import { markReadings, widestStepOf } from "../../src/pipeline/log-marks";
import { MARK } from "../../src/pipeline/marks";

/** 0.5 to 4 V are 0 to 60 L, on levels 0.5 V apart. */
const travel = { low: 0.5, high: 4, fullIsHigh: true };
const levels = [0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4];

describe("spikes of a ladder", () => {
  // On the level of 2 V, at the top of each wave for two samples on the next, and for one on the one after that.
  const sloshing = Float64Array.from({ length: 1200 }, (_, i) =>
    i % 9 === 4 ? 2.5 : i % 9 === 5 ? (i % 18 < 9 ? 2.5 : 3) : 2,
  );
  const spikes = (values: Float64Array, step: number) =>
    markReadings(values, travel, step).reduce((sum, m) => sum + ((m & MARK.spike) !== 0 ? 1 : 0), 0);

  test("a visit to the next levels is fuel at the next switches, and what goes beyond them is none", () => {
    expect(spikes(sloshing, widestStepOf({ levels }))).toBe(0);
    const struck = sloshing.slice();
    struck[600] = 0.55;
    struck[900] = 3.95;
    expect(spikes(struck, widestStepOf({ levels }))).toBe(2);
  });

  test("a sender without levels does not leap like that: the same is struck", () => {
    expect(widestStepOf(null)).toBe(0);
    expect(spikes(sloshing, widestStepOf(null))).toBeGreaterThan(100);
  });
});

test("the widest step is that between neighbours, however the levels lie", () => {
  expect(widestStepOf({ levels: [0.5, 0.7, 1.4, 1.5] })).toBeCloseTo(0.7, 12);
});
