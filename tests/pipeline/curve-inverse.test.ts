/** A normal distribution cut off between two steps, against SciPy 1.17.1 (`truncnorm.stats`), and what contradicting steps leave. */
import { describe, expect, test } from "vitest";
import { cutOff } from "../../src/pipeline/curve-inverse";

describe("cutOff", () => {
  test.each([
    { mean: 0, standard: 1, lower: -1, upper: 2, cut: 0.22963717909132902, share: 0.7209455868590458 },
    { mean: 50, standard: 20, lower: 45, upper: 60, cut: 52.38501117928201, share: 0.2144353537378782 },
    { mean: 10, standard: 2, lower: 11, upper: 14, cut: 12.085986668284908, share: 0.3876616069315578 },
    { mean: 66, standard: 358, lower: 55, upper: 70, cut: 62.50051200929589, share: 0.012094972918170537 },
  ])("SciPy: $mean ± $standard between $lower and $upper", ({ mean, standard, lower, upper, cut, share }) => {
    const got = cutOff(mean, standard, lower, upper);
    expect(Math.abs(got.mean - cut)).toBeLessThan(1e-3 * (upper - lower));
    expect(got.share).toBeCloseTo(share, 4);
  });

  test("what lies well inside is left as it is, and so it is between steps that contradict each other", () => {
    expect(cutOff(5, 1, 0, 10)).toEqual({ mean: 5, share: 1 });
    expect(cutOff(5, 1, 7, 3)).toEqual({ mean: 5, share: 1 });
  });

  test("all of it beyond a limit: nothing but the limits is known", () => {
    const { mean, share } = cutOff(100, 1, 0, 10);
    expect(mean).toBe(5);
    expect(share * 1).toBeCloseTo(10 / Math.sqrt(12), 10);
  });
});
