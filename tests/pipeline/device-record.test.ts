import { describe, expect, test } from "vitest";
import { atDeviceRate, believed } from "../../src/pipeline/device-record";
import { columnsOf } from "./log-columns";

describe("the log at the device's rate", () => {
  test("a slow log is held between its rows, a gap over five seconds is left out", () => {
    const record = atDeviceRate(columnsOf([0, 1, 2, 20, 21], [1, 2, 3, 4, 5]), 2, null, null);
    expect(Array.from(record.reading)).toEqual([1, 1, 2, 2, 3, 3, 4, 4, 5]);
  });

  test("a reading outside the fault limits gives way to the last good one only if the device has the limits", () => {
    const record = atDeviceRate(columnsOf([0, 1, 2, 3], [2, 0, 9, 2.5]), 1, 0.5, 3.5);
    expect(Array.from(believed(record, true))).toEqual([2, 2, 2, 2.5]);
    expect(Array.from(believed(record, false))).toEqual([2, 0, 9, 2.5]);
  });

  test("a log that starts with a fault starts the filter at the first good reading", () => {
    const record = atDeviceRate(columnsOf([0, 1, 2], [0, 0, 2]), 1, 0.5, 3.5);
    expect(Array.from(believed(record, true))).toEqual([2, 2, 2]);
  });
});
