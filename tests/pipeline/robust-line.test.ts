import { describe, expect, test } from "vitest";
import { fitCandidates } from "../../src/pipeline/curve-candidates";
import { robustLine } from "../../src/pipeline/robust-line";
import { analyse, sheet } from "./fill-world";

const straight = (bump: number) => {
  const reading = Array.from({ length: 12 }, (_, i) => 0.5 + 0.3 * i);
  const volume_L = reading.map((r, i) => 15 * r + (i === 11 ? bump : 0));
  const covariance = reading.map((_, i) => reading.map((_, j) => (i === j ? 0.01 : 0)));
  return { reading, volume_L, covariance };
};

describe("robustLine", () => {
  test("on a straight sender it is the straight line", () => {
    const points = straight(0);
    const line = robustLine(points, fitCandidates(points, null), null)!;
    expect(line.against).toBe("line");
    expect(line.slope).toBeCloseTo(15, 9);
    expect(line.apart_L).toBeLessThan(1e-6);
  });

  test("one wild step pulls the straight line and not this one: they part at that step", () => {
    const points = straight(12);
    const line = robustLine(points, fitCandidates(points, null), null)!;
    expect(line.slope).toBeCloseTo(15, 9);
    expect(line.slopeLower!).toBeLessThanOrEqual(15);
    expect(line.slopeUpper!).toBeGreaterThanOrEqual(15);
    // Least squares: the last of 12 even steps has leverage 1/12 + 5.5²/143 = 0.295 (hat matrix), so the line rises there by 12 L times that.
    expect(line.apart_L).toBeCloseTo(12 * (1 / 12 + 5.5 ** 2 / 143), 6);
    expect(line.reading).toBeCloseTo(points.reading[11]!, 9);
  });

  test("with a known supply it is straight in 1/(supply − reading)", () => {
    const reading = [0.6, 1.2, 1.8, 2.4, 3.0, 3.3];
    const volume_L = reading.map((r) => -20 + 100 / (5 - r));
    const points = {
      reading,
      volume_L,
      covariance: reading.map((_, i) => reading.map((_, j) => (i === j ? 0.01 : 0))),
    };
    const line = robustLine(points, fitCandidates(points, 5), 5)!;
    expect(
      [line.against, line.slope, line.apart_L].map((v) => (typeof v === "number" ? Number(v.toFixed(6)) : v)),
    ).toEqual(["divider", 100, 0]);
  });

  test("two steps bound nothing", () => {
    const points = {
      reading: [1, 2],
      volume_L: [0, 10],
      covariance: [
        [0.01, 0],
        [0, 0.01],
      ],
    };
    expect(robustLine(points, fitCandidates(points, null), null)).toBeNull();
  });

  test("the curve of a run publishes it", () => {
    expect(analyse(sheet(1)).curve.robust!.apart_L).toBeGreaterThan(0);
  });
});
