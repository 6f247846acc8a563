import { describe, expect, test } from "vitest";
import { offOnAverage } from "../../src/pipeline/trial-off";
import type { TrialRun } from "../../src/pipeline/trial-run";
import { published } from "../../src/said";

const run = (meanError_L: number, lag_L = 0.5): TrialRun => ({
  rmsError_L: Math.abs(meanError_L),
  meanError_L,
  worstError_L: Math.abs(meanError_L),
  reversalsPerMinute: 0,
  digitChangesPerMinute: 0,
  digitChanges: 0,
  parkedDigitChanges: 0,
  emptyFlickersPerHour: 0,
  fullFlickersPerHour: 0,
  lag_s: 60,
  lag_L,
});

describe("a display that stands still, and far from the fuel", () => {
  test("is said, with the drop-outs that it takes for fuel", () => {
    const said = offOnAverage(run(8), 60, 19)!;
    expect(said.code).toBe("trial/off-on-average");
    expect(published(said.says)).toContain(
      "8.0 L too much on average on these logs: the device takes 19 drop-outs for fuel",
    );
    expect(said.remedy).toContain("fault limits");
    expect(published(offOnAverage(run(-8), 60, 0)!.says)).toContain(
      "8.0 L too little on average on these logs, far more than its lag",
    );
  });

  test("is laid on a table of too few rows or on the displayed step where those are off by so much, and on the drive else", () => {
    const of = (tableError_L: number, step_L: number) =>
      offOnAverage(run(-10), 60, 0, { tableError_L, rows: 2, step_L })!;
    expect(published(of(11, 1).says)).toContain("because the 2 rows of the table stray by up to 11.0 L from the curve");
    expect(of(11, 1).remedy).toMatch(/more rows/);
    expect(published(of(0.2, 100).says)).toContain("because it shows whole steps of 100.0 L");
    expect(published(of(0.2, 1).says)).toContain("far more than its lag");
  });

  test("is none within a twentieth of the tank, nor where lag alone explains it", () => {
    expect(offOnAverage(run(2.9), 60, 19)).toBeNull();
    expect(offOnAverage(run(8, 6), 60, 19)).toBeNull();
  });
});
