import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  dividerBend,
  dividerBendAt,
  dividerOhms,
  dividerSlope,
  dividerSpan,
  dividerVolts,
  senderHeat,
  widestPullUp,
} from "../../src/math/divider";

const ohms = fc.double({ min: 0, max: 1000, noNaN: true });
const pullUp = fc.double({ min: 10, max: 5000, noNaN: true });

describe("the divider's closed forms", () => {
  test("33 to 240 Ω on 240 Ω bends by 14.0 % of the span at 122.0 Ω, and spans 0.379 of the supply", () => {
    expect(dividerBend(33, 240, 240)).toBeCloseTo(0.140149999072845, 12);
    expect(dividerBendAt(33, 240, 240)).toBeCloseTo(121.99447509596052, 9);
    expect(dividerSpan(33, 240, 240, 1)).toBeCloseTo(0.3791208791208791, 12);
    expect(widestPullUp(33, 240)).toBeCloseTo(88.99438184514796, 9);
    expect(senderHeat(33, 240, 240, 1)).toBeCloseTo(0.0010416666666666667, 14);
  });
  test("0 to 300 Ω on 240 Ω bends by a fifth of the span at 120 Ω", () => {
    expect(dividerBend(0, 300, 240)).toBeCloseTo(0.2, 12);
    expect(dividerBendAt(0, 300, 240)).toBeCloseTo(120, 9);
  });
  test("a lifted sender ground is seen by half where the sender equals the pull-up", () => {
    expect(dividerVolts(100, 100, 5, 0.2) - dividerVolts(100, 100, 5)).toBeCloseTo(0.1, 12);
  });
  test("an open sender reads as infinite ohms", () => {
    expect(dividerOhms(5, 240, 5)).toBe(Number.POSITIVE_INFINITY);
  });
  test("volts lead back to the ohms that made them, whatever the ground stands at", () => {
    fc.assert(
      fc.property(ohms, pullUp, fc.double({ min: -0.3, max: 0.3, noNaN: true }), (r, p, g) => {
        expect(dividerOhms(dividerVolts(r, p, 5, g), p, 5, g)).toBeCloseTo(r, 6);
      }),
    );
  });
  test("the slope is the derivative of the volts", () => {
    fc.assert(
      fc.property(ohms, pullUp, (r, p) => {
        const h = 1e-4 * (r + p);
        const numeric = (dividerVolts(r + h, p, 5) - dividerVolts(r - h, p, 5)) / (2 * h);
        expect(numeric / dividerSlope(r, p, 5)).toBeCloseTo(1, 5);
      }),
    );
  });
  test("nothing between the ends lies further off the straight line than the bend says, and the place given does", () => {
    fc.assert(
      fc.property(ohms, fc.double({ min: 5, max: 800, noNaN: true }), pullUp, (least, travel, p) => {
        const most = least + travel;
        const v = (r: number) => dividerVolts(r, p, 1);
        const span = v(most) - v(least);
        const off = (r: number) => (v(r) - v(least)) / span - (r - least) / travel;
        const bend = dividerBend(least, most, p);
        for (let i = 0; i <= 20; i++) expect(off(least + (travel * i) / 20)).toBeLessThanOrEqual(bend + 1e-9);
        expect(off(dividerBendAt(least, most, p))).toBeCloseTo(bend, 6);
      }),
    );
  });
  test("no pull-up spans more volts than the geometric mean of the ends", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 200, noNaN: true }),
        fc.double({ min: 5, max: 800, noNaN: true }),
        pullUp,
        (l, t, p) => {
          expect(dividerSpan(l, l + t, p, 5)).toBeLessThanOrEqual(
            dividerSpan(l, l + t, widestPullUp(l, l + t), 5) * (1 + 1e-12),
          );
        },
      ),
    );
  });
});
