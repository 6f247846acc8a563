import { expect, test } from "vitest";
import type { FillRun } from "../../src/pipeline/fill-run";
import { findDeadZones } from "../../src/pipeline/sender-marks";

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
