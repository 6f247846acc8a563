import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { tankMode_Hz } from "../../src/math/tank-mode";

describe("tankMode_Hz", () => {
  test.each([
    [1, 0.89825],
    [2, 1.38452],
    [3, 1.70952],
    [4, 1.97551],
    [5, 2.20885],
  ])(
    "mode %i of a tank 0.8 m long and 0.3 m deep is as printed (code_aster validation manual, test V8.21.101; g = 9.81)",
    (mode, printed) => {
      expect(Math.abs(tankMode_Hz(0.8, 0.3, mode, 9.81) / printed - 1)).toBeLessThan(1e-5);
    },
  );

  test("deep water no longer feels the bottom: √(g/(4πL)) (limit of the same formula)", () => {
    expect(tankMode_Hz(0.6, 50)).toBeCloseTo(Math.sqrt(9.80665 / (4 * Math.PI * 0.6)), 9);
  });

  test("fuller is faster, longer is slower", () => {
    const metres = fc.double({ min: 0.05, max: 3, noNaN: true });
    fc.assert(
      fc.property(metres, metres, fc.double({ min: 1.05, max: 3, noNaN: true }), (length, depth, factor) => {
        expect(tankMode_Hz(length, depth * factor)).toBeGreaterThanOrEqual(tankMode_Hz(length, depth));
        expect(tankMode_Hz(length * factor, depth)).toBeLessThan(tankMode_Hz(length, depth));
      }),
    );
  });
});
