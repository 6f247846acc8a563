import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { chooseCandidate, fitCandidates } from "../../src/pipeline/curve-candidates";

/** A straight tank, poured with errors that neither the covariance nor anybody knows of: a course of correlation 0.6. */
function straight(seed: number, n: number) {
  const random = createRandom(seed);
  let state = random.normal();
  const reading = Array.from({ length: n }, (_, i) => 0.5 + (4 * i) / (n - 1));
  const volume_L = reading.map((v) => {
    state = 0.6 * state + 0.8 * random.normal();
    return 15 * v + 0.3 * state;
  });
  const covariance = reading.map((_, i) => reading.map((_, j) => (i === j ? 0.3 ** 2 : 0)));
  return { reading, volume_L, covariance };
}

describe("candidates of a fill run", () => {
  test("as many straight pieces are tried as the steps can carry, six at most", () => {
    const pieces = (n: number) => fitCandidates(straight(1, n), null).filter((f) => f.kind === "piecewise").length;
    expect([7, 8, 11, 14, 17, 20, 40].map(pieces)).toEqual([0, 1, 2, 3, 4, 5, 5]);
  });

  test("pieces that are a spike of correlated errors say so in their name, and in the reason if they are chosen", () => {
    let warned = 0;
    for (let seed = 1; seed <= 10; seed++)
      for (const fit of fitCandidates(straight(seed, 30), null)) {
        if (!/no more than a spike of correlated errors$/.test(fit.name)) continue;
        warned++;
        expect(fit.kind).toBe("piecewise");
        expect(chooseCandidate([fit], 100, 30).why).toContain("do not build on it");
      }
    expect(warned).toBeGreaterThan(10);
  });

  test("a plain kink is not called a spike, and is chosen without a warning", () => {
    const { reading, covariance } = straight(1, 30);
    const random = createRandom(2);
    const volume_L = reading.map((v) => 15 * v + 12 * Math.max(0, v - 2.2) + 0.3 * random.normal());
    const { fit, why } = chooseCandidate(fitCandidates({ reading, volume_L, covariance }, null), 2, 30);
    expect(fit.name).toBe("two straight pieces");
    expect(fit.breakpoints[0]!.reading).toBeCloseTo(2.2, 1);
    expect(why).not.toContain("do not build on it");
  });
});
