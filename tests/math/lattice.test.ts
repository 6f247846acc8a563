import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { levelSpacing } from "../../src/math/lattice";
import { createRandom } from "../../src/math/random";

describe("levelSpacing", () => {
  test("readings on ninths of the travel lie 1/9 apart", () => {
    expect(levelSpacing([0, 1 / 9, 3 / 9, 4 / 9, 6 / 9, 7 / 9, 1], 0.003)).toBeCloseTo(1 / 9, 9);
  });
  test("one reading that is off does not hide the levels", () => {
    expect(levelSpacing([0, 0.1, 0.2, 0.3, 0.447, 0.5, 0.6, 0.7, 0.9, 1], 0.003)).toBeCloseTo(0.1, 9);
  });
  test("under 4 readings nothing is claimed", () => expect(levelSpacing([0, 0.5, 1], 0.003)).toBeNull());
  test("a smooth sweep of 20 readings is taken for levels in fewer than 1 of 10 draws", () => {
    const random = createRandom(5);
    let claimed = 0;
    for (let t = 0; t < 100; t++)
      if (
        levelSpacing(
          Array.from({ length: 20 }, () => random.uniform()),
          0.002,
        ) !== null
      )
        claimed++;
    expect(claimed).toBeLessThan(10);
  });
  test("never claims levels closer together than the noise can tell", () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 4, maxLength: 30 }), (v) => {
        const spacing = levelSpacing(v, 0.01);
        if (spacing !== null) expect(spacing).toBeGreaterThanOrEqual(0.05 - 1e-12);
      }),
    );
  });
});
