import { describe, expect, test } from "vitest";
import { hidden } from "../../src/pipeline/end-table";
import type { FillRun } from "../../src/pipeline/fill-run";
import { resolveJob } from "../../src/pipeline/job";
import { findDeadZones, findFixedSteps } from "../../src/pipeline/sender-marks";

/** A recorded run of equal pours of 5 L whose plateaus are known to 0.4 mV. */
const recorded = (readings: number[]): FillRun =>
  ({
    steps: readings.map((reading, index) => ({
      index,
      volume_L: 5 * index,
      reading,
      standardError: 0.0004,
      atStop: null,
    })),
  }) as unknown as FillRun;

test("a recorded reading that creeps back at the full end while fuel is poured stands on its stop", () => {
  const falling = recorded([2.1, 1.8, 1.5, 1.25, 0.9, 0.6, 0.3, 0.053, 0.062, 0.071]);
  expect(findDeadZones(falling, -1, 0.0012).map((z) => [z.end, z.steps])).toEqual([["full", [7, 8, 9]]]);
  const rising = recorded([2.1, 1.8, 1.5, 1.25, 0.9, 0.6, 0.3, 0.053, 0.062, 0.071].map((r) => 3 - r));
  expect(findDeadZones(rising, 1, 0.0012).map((z) => [z.end, z.steps])).toEqual([["full", [7, 8, 9]]]);
});

test("a reading that goes on by as much is on its way and no stop", () => {
  const slowing = recorded([2.1, 1.8, 1.5, 1.25, 0.9, 0.6, 0.3, 0.071, 0.062, 0.053]);
  expect(findDeadZones(slowing, -1, 0.0012)).toEqual([]);
});

describe("levels of a ladder", () => {
  const answer = resolveJob({ sender: { kind: "reed-ladder" } });
  if (answer.state !== "ready") throw new Error("the job should be usable");
  const job = answer.value;

  test("one plateau that wavered between two levels does not merge all the others", () => {
    const run = recorded([6.02, 5.92, 5.82, 5.71, 5.59, 5.45, 5.3, 5.13, 4.93]);
    run.steps[6]!.standardError = 0.045;
    expect(findFixedSteps(run, job, 0.005)!.levels).toHaveLength(9);
  });

  test("typed readings that repeat worse than their last digit still show the levels that they stand on", () => {
    // Twelve levels 0.1 V apart, three pours on each, read to 1 mV and repeating within 4 mV.
    const wobble = [0, 0.004, -0.003, 0.001, -0.004, 0.003];
    const noisy = recorded(Array.from({ length: 36 }, (_, k) => 0.5 + 0.1 * Math.floor(k / 3) + wobble[k % 6]!));
    for (const s of noisy.steps) s.standardError = 0.0003;
    const found = findFixedSteps(noisy, job, 0.001)!;
    expect(found.levels).toHaveLength(12);
    expect(found.height_L).toBeCloseTo((noisy.steps[35]!.volume_L - noisy.steps[0]!.volume_L) / 11.5, 9);
    // Stated or not: two heaps of moves are seen.
    expect(findFixedSteps(noisy, { ...job, sender: { ...job.sender, kind: "float-arm" } }, 0.001)!.levels).toHaveLength(
      12,
    );
    // An arm whose moves go on from small to large has one heap, and no levels.
    const arm = recorded(Array.from({ length: 36 }, (_, k) => 0.5 + 0.002 * k ** 1.7));
    expect(findFixedSteps(arm, { ...job, sender: { ...job.sender, kind: "float-arm" } }, 0.001)).toBeNull();
  });

  test("a margin hides litres between levels that coarse pours never read; where all were read, only theirs", () => {
    const readings = [0, 1, 2, 3, 4, 5, 6, 7];
    const grid = readings.map((reading) => ({ reading, volume_L: 6 * reading }));
    // biome-ignore lint/suspicious/noExplicitAny: a curve of volumes alone
    const curve = { sense: 1, grid, readingUnit: "V" } as any;
    const coarse = findFixedSteps(recorded(readings), job, 0.01);
    expect(coarse!.resolved).toBe(false);
    expect(hidden(curve, { readingStep: 0.01, fixedSteps: coarse, runs: [] }, 0, 0.9)).toBeCloseTo(5.4, 6);
    const fine = findFixedSteps(recorded(readings.flatMap((r) => [r, r])), job, 0.01);
    expect(fine!.resolved).toBe(true);
    expect(hidden(curve, { readingStep: 0.01, fixedSteps: fine, runs: [] }, 0, 0.9)).toBe(0);
  });
});
