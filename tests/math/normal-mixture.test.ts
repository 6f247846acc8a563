/** Quantiles of mixtures of normals, against SciPy 1.17.1 (`brentq` on the weighted sum of `norm.cdf`), and as a property. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { normalProbability } from "../../src/math/distributions";
import { mixtureQuantile, type NormalPart } from "../../src/math/normal-mixture";

const part = ([weight, mean, standard]: number[]): NormalPart => ({
  weight: weight!,
  mean: mean!,
  standard: standard!,
});

describe("mixtureQuantile", () => {
  test.each([
    {
      parts: [
        [0.9, 0, 1],
        [0.1, 10, 1],
      ],
      at: [-1.9145058250555738, 0.13971029888186218, 10.67448975019608],
    },
    {
      parts: [
        [0.5, -3, 0.5],
        [0.5, 3, 2],
      ],
      at: [-3.8239940532158836, -1.8, 6.2897072539029315],
    },
    {
      parts: [
        [0.2, 1, 0.1],
        [0.3, 1.5, 0.4],
        [0.5, 0, 3],
      ],
      at: [-4.934560880854418, 1.0545776034321437, 4.934560880854418],
    },
    { parts: [[1, 7, 2]], at: [3.0800720309198923, 7, 10.919927969080108] },
  ])("SciPy: $parts", ({ parts, at }) => {
    const mixture = parts.map(part);
    const finest = Math.min(...mixture.map((p) => p.standard));
    for (const [i, p] of [0.025, 0.5, 0.975].entries())
      expect(Math.abs(mixtureQuantile(mixture, p) - at[i]!)).toBeLessThan(1e-4 * finest);
  });

  test("as much of the mixture lies under its quantile as was asked for, whatever the scale of the weights", () => {
    const parts = fc.array(
      fc.record({
        weight: fc.double({ min: 0.01, max: 5, noNaN: true }),
        mean: fc.double({ min: -50, max: 50, noNaN: true }),
        standard: fc.double({ min: 0.05, max: 8, noNaN: true }),
      }),
      { minLength: 1, maxLength: 12 },
    );
    fc.assert(
      fc.property(parts, fc.double({ min: 0.01, max: 0.99, noNaN: true }), (mixture, p) => {
        const v = mixtureQuantile(mixture, p);
        const total = mixture.reduce((s, t) => s + t.weight, 0);
        const under = mixture.reduce((s, t) => s + t.weight * normalProbability((v - t.mean) / t.standard), 0) / total;
        expect(Math.abs(under - p)).toBeLessThan(1e-4);
      }),
      { numRuns: 300 },
    );
  });

  test("a mixture without weight is refused", () => {
    expect(() => mixtureQuantile([part([0, 1, 1])], 0.5)).toThrow(RangeError);
  });
});
