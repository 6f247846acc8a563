import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { decimalsFor, decimalsOfStep, fixed, halfWidthText, plusMinus, tied, withUnit } from "../src/format";

describe("one rounding rule", () => {
  it("an uncertainty keeps two significant digits and the value is rounded to match (JCGM 100:2008, 7.2.6)", () => {
    // 7.2.6 itself: R = 10.057 62 Ω with u = 27 mΩ is reported as 10.058 Ω.
    expect(plusMinus(10.05762, 0.027, "Ω")).toBe("10.058\u00a0±\u00a00.027\u00a0Ω");
    expect(plusMinus(7.93, 1.31, "L")).toBe("7.9\u00a0±\u00a01.3\u00a0L");
    expect(plusMinus(104.4, 23, "L")).toBe("104\u00a0±\u00a023\u00a0L");
  });

  it("a rounding that moves the place still leaves two digits: 0.0996 is 0.10", () => {
    expect(halfWidthText(0.0996, "L")).toBe("±\u00a00.10\u00a0L");
    expect(decimalsFor(9.96, 2)).toBe(0);
  });

  it("never shows a minus before a zero, and uses a true minus sign otherwise", () => {
    expect(fixed(-0.004, 2)).toBe("0.00");
    expect(fixed(-0.4, 1)).toBe("\u22120.4");
  });

  it("what is not finite is said, not printed as NaN", () => {
    expect(fixed(Number.NaN, 1)).toBe("—");
    expect(withUnit(Number.POSITIVE_INFINITY, "km")).toBe("∞\u00a0km");
  });

  it("a device step tells its own decimals", () => {
    expect([1, 0.5, 0.25, 0.01, 10].map(decimalsOfStep)).toEqual([0, 1, 2, 2, 0]);
  });

  it("the text of any value is within half of its last place of the value", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.double({ min: 1e-4, max: 1e3, noNaN: true }),
        (value, half) => {
          const shown = Number(plusMinus(value, half, "").split("\u00a0")[0]!.replace("\u2212", "-"));
          return Math.abs(shown - value) <= half * 0.5 + 1e-9;
        },
      ),
    );
  });
});

it("a number keeps its unit and ± its number over the end of a line; plain words stay as they are", () => {
  const plain = (text: string) => tied(text).replaceAll("\u00a0", "_");
  expect(plain("± 0.05 L (1 % of a pour) at 5 Hz, 95 % by the scatter")).toBe(
    "±_0.05_L (1_% of a pour) at 5_Hz, 95_% by the scatter",
  );
  expect(plain("step 3 sits low, line 4 leaves 2 lines and 12 Less")).toBe(
    "step 3 sits low, line 4 leaves 2 lines and 12 Less",
  );
});
