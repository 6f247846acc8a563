import { describe, expect, test } from "vitest";
import { acrossMidnight, clockOf, daysBetween } from "../../src/pipeline/clock-time";

describe("clockOf", () => {
  test.each([
    ["7:05", 25_500, 0, null],
    ["07:05:03", 25_503, 0, null],
    ["07:05:03,25", 25_503.25, 2, null],
    ["12:00:00 AM", 0, 0, null],
    ["12:30 pm", 45_000, 0, null],
    ["2:03.5", 123.5, 1, null],
    ["2026-02-28T23:59:59.5Z", 86_399.5, 1, "2026-02-28"],
    ["28.02.2026 23:59:59", 86_399, 0, "28.02.2026"],
  ])("%s", (cell, seconds, decimals, date) => {
    expect(clockOf(cell)).toEqual({ seconds, decimals, date });
  });
  test.each(["", "7", "7:5", "1:2:3:4", "a:b", "12:00 noon", "http://x"])("%s is no time", (cell) => {
    expect(clockOf(cell)).toBeNull();
  });
});

describe("daysBetween", () => {
  test("years first, points day first, strokes whichever lies closer together", () => {
    expect(daysBetween(["2024-02-28", "2024-03-01"])).toEqual([0, 2]);
    expect(daysBetween(["01.02.2026", "02.02.2026"])).toEqual([0, 1]);
    expect(daysBetween(["31/12/2025", "01/01/2026"])).toEqual([0, 1]);
    expect(daysBetween(["3/31/2026", "4/1/2026"])).toEqual([0, 1]);
    expect(daysBetween(["2/3/26"])).toEqual([0]);
  });
});

test("acrossMidnight takes half a day backwards as a new day, and lets blanks and small steps be", () => {
  const values = Float64Array.of(86_000, Number.NaN, 86_399, 1, 5, 3, 86_000, 10);
  acrossMidnight(values);
  expect([...values]).toEqual([86_000, Number.NaN, 86_399, 86_401, 86_405, 86_403, 172_400, 172_810]);
});
