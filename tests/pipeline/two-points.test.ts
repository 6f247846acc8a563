import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { cholesky } from "../../src/math/triangular";
import type { CurveState } from "../../src/pipeline/curve-limits";
import type { CurvePoint } from "../../src/pipeline/curve-types";
import type { FitPoint } from "../../src/pipeline/smooth-problem";
import { twoPointError, twoPointLimits } from "../../src/pipeline/two-points";

const n = 41;
const readings = Array.from({ length: n }, (_, i) => 0.5 + (4 * i) / (n - 1));
/** 60 L, a parabola in the reading: 15 L off a straight line in the middle. */
const bent = readings.map((r) => 60 * ((r - 0.5) / 4) ** 2);
const gridOf = (volumes: number[]) => readings.map((reading, i) => ({ reading, volume_L: volumes[i]! }) as CurvePoint);
const point = (reading: number, volume_L: number) => ({ volume_L, step: { reading } }) as FitPoint;
const ends = [point(0.5, 0), point(4.5, 60)];
/** Errors that wander along the curve, as summed pours do, and that are 0 at its start. */
const wander = (standard_L: number) =>
  readings.map((_, i) => readings.map((_, j) => (standard_L ** 2 * Math.min(i, j)) / (n - 1)));
const nothing = wander(0);

describe("two points", () => {
  test("are as far off as a parabola is from its chord", () => {
    const off = twoPointError(gridOf(bent), ends, 0);
    expect(off.error_L).toBeCloseTo(15, 1);
    // d = 60(x − x²) with x = √(v/60), volumes equally likely: ∫ 3600·(x − x²)²·2x dx = 3600·2·(1/4 − 2/5 + 1/6) = 120.
    expect(off.rms_L).toBeCloseTo(Math.sqrt(120), 1);
  });

  test("a curve that is known leaves nothing open", () => {
    const grid = gridOf(bent);
    const off = twoPointError(grid, ends, 0);
    const open = twoPointLimits(grid, [{ chance: 1, mean_L: bent, covariance_L2: nothing }], ends, 0, 0.95);
    expect(open.lower_L).toBeCloseTo(off.error_L, 2);
    expect(open.upper_L).toBeCloseTo(off.error_L, 2);
    expect(open.rmsLower_L).toBeCloseTo(off.rms_L, 1);
    expect(open.rmsUpper_L - open.rmsLower_L).toBeLessThan(0.001);
  });

  test("limits are those of curves that are drawn", () => {
    const grid = gridOf(bent);
    const covariance_L2 = wander(2);
    const open = twoPointLimits(grid, [{ chance: 1, mean_L: bent, covariance_L2 }], ends, 0, 0.95);
    const root = cholesky(covariance_L2.map((row, i) => row.map((c, j) => c + (i === j ? 1e-9 : 0))))!;
    const random = createRandom(3);
    const drawn = Array.from({ length: 4000 }, () => {
      const z = readings.map(() => random.normal());
      const curve = bent.map((v, i) => v + root[i]!.reduce((s, l, k) => s + (k <= i ? l * z[k]! : 0), 0));
      const top = curve[n - 1]!;
      let squares = 0;
      let whole = 0;
      for (let i = 0; i < n; i++) {
        const volume = (bent[Math.min(n - 1, i + 1)]! - bent[Math.max(0, i - 1)]!) / 2;
        squares += volume * ((top * i) / (n - 1) - curve[i]!) ** 2;
        whole += volume;
      }
      return Math.sqrt(squares / whole);
    }).sort((p, q) => p - q);
    const width = drawn[3899]! - drawn[100]!;
    expect(Math.abs(open.rmsLower_L - drawn[100]!)).toBeLessThan(0.04 * width);
    expect(Math.abs(open.rmsUpper_L - drawn[3899]!)).toBeLessThan(0.04 * width);
  });

  test("a pour that may be missing from the sheet is one way, none the other", () => {
    const straight = readings.map((r) => (60 * (r - 0.5)) / 4);
    // In one state of four 5 L went in half way up and were not written down.
    const lifted = straight.map((v, i) => v + (i > n / 2 ? 5 : 0));
    const states: CurveState[] = [
      { chance: 0.75, mean_L: straight, covariance_L2: wander(0.2) },
      { chance: 0.25, mean_L: lifted, covariance_L2: wander(0.2) },
    ];
    const open = twoPointLimits(gridOf(straight), states, ends, 0, 0.95);
    expect(open.lower_L).toBeLessThan(0.3);
    expect(open.upper_L).toBeGreaterThan(2.2);
    expect(open.upper_L).toBeLessThan(3);
  });

  test("a ladder stands up to half a level off the line, whatever the curve", () => {
    const straight = readings.map((r) => (60 * (r - 0.5)) / 4);
    const known = [{ chance: 1, mean_L: straight, covariance_L2: nothing }];
    // A level of 0.4 V is 6 L of this tank.
    expect(twoPointError(gridOf(straight), ends, 0.4).error_L).toBeCloseTo(3, 6);
    const open = twoPointLimits(gridOf(straight), known, ends, 0.4, 0.95);
    expect(open.upper_L).toBeCloseTo(3, 2);
    expect(open.rmsUpper_L).toBeCloseTo(6 / Math.sqrt(12), 2);
  });
});
