import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { tQuantile } from "../../src/math/distributions";
import { type Agreeing, inverseLine, within } from "../../src/math/inverse-line";
import { createRandom } from "../../src/math/random";
import { fitLine, onLine, type StraightLine } from "../../src/math/straight-line";

const line = (figures: Partial<StraightLine>): StraightLine => ({
  intercept: 1,
  slope: 2,
  interceptVariance: 0.01,
  slopeVariance: 0.001,
  covariance: -0.002,
  chiSquared: null,
  freedom: 8,
  residualSd: 0.1,
  residuals: [],
  ...figures,
});
const holds = (set: Agreeing, x: number) =>
  set.kind === "unbounded" ||
  (set.kind === "between" && x >= set.lower && x <= set.upper) ||
  (set.kind === "from" && x >= set.lower) ||
  (set.kind === "upTo" && x <= set.upper) ||
  (set.kind === "outside" && (x <= set.upTo || x >= set.from));

describe("Fieller's set", () => {
  test("holds exactly the x at which line and reading agree, whatever kind it is", () => {
    const kinds = new Set<string>();
    fc.assert(
      fc.property(
        fc.record({
          a: fc.double({ min: -5, max: 5, noNaN: true }),
          b: fc.double({ min: -3, max: 3, noNaN: true }),
          ua: fc.double({ min: 0.01, max: 2, noNaN: true }),
          ub: fc.double({ min: 0.01, max: 2, noNaN: true }),
          r: fc.double({ min: -0.95, max: 0.95, noNaN: true }),
          y0: fc.double({ min: -5, max: 5, noNaN: true }),
          u0: fc.double({ min: 0, max: 1, noNaN: true }),
          k: fc.double({ min: 1, max: 4, noNaN: true }),
        }),
        ({ a, b, ua, ub, r, y0, u0, k }) => {
          const l = line({
            intercept: a,
            slope: b,
            interceptVariance: ua * ua,
            slopeVariance: ub * ub,
            covariance: r * ua * ub,
          });
          const { agreeing } = inverseLine(l, y0, u0, k);
          kinds.add(agreeing.kind);
          for (let x = -40; x <= 40; x += 0.37) {
            const at = onLine(l, x);
            const gap = Math.abs(at.value - y0) - k * Math.hypot(at.standard, u0);
            if (Math.abs(gap) > 1e-6) expect(holds(agreeing, x)).toBe(gap < 0);
          }
        },
      ),
      { seed: 21, numRuns: 300 },
    );
    expect([...kinds].sort()).toEqual(["between", "outside", "unbounded"]);
  });

  test("is one-sided where the slope may just be zero", () => {
    const k = 2;
    // b² = k²·var(b), to the last digit.
    const set = (slope: number) =>
      inverseLine(line({ slope, slopeVariance: 1, covariance: 0, interceptVariance: 0.25 }), 3, 0.5, k);
    expect(set(2).agreeing.kind).toBe("from");
    expect(set(-2).agreeing.kind).toBe("upTo");
    expect(set(2).g).toBe(1);
    expect(set(1.99).agreeing.kind).not.toBe("from");
  });

  test("a level line bounds nothing, and has no x", () => {
    const r = inverseLine(line({ slope: 0 }), 1.05, 0.1, 2);
    expect(r.x).toBeNull();
    expect(r.standard).toBeNull();
    expect(r.agreeing.kind).toBe("unbounded");
    expect(r.g).toBe(Number.POSITIVE_INFINITY);
  });

  test("a steep line: its limits are the first-order ones", () => {
    const r = inverseLine(line({ slopeVariance: 1e-8, covariance: 0 }), 5, 0.1, 2);
    expect(r.agreeing.kind).toBe("between");
    if (r.agreeing.kind !== "between") return;
    expect(r.agreeing.lower).toBeCloseTo(r.x! - 2 * r.standard!, 6);
    expect(r.agreeing.upper).toBeCloseTo(r.x! + 2 * r.standard!, 6);
  });

  test("covers the true x in 95 of 100 sheets, also when the slope drowns in the noise; first order does not", () => {
    const random = createRandom(9);
    const x = [0, 1, 2, 3, 4, 5, 6];
    const trials = 4000;
    const t = tQuantile(0.975, 5);
    let fieller = 0;
    let wald = 0;
    for (let n = 0; n < trials; n++) {
      const fit = fitLine(
        x,
        x.map((v) => 1 + 0.3 * v + random.normal()),
      );
      const read = 1 + 0.3 * 9 + random.normal();
      const back = inverseLine(fit, read, fit.residualSd!, t);
      if (holds(back.agreeing, 9)) fieller++;
      if (back.x !== null && Math.abs(back.x - 9) <= t * back.standard!) wald++;
    }
    expect(fieller / trials).toBeGreaterThan(0.94);
    expect(fieller / trials).toBeLessThan(0.96);
    expect(wald / trials).toBeLessThan(0.94);
  });
});

test("within a range, two branches are mostly one side", () => {
  const set: Agreeing = { kind: "outside", upTo: -3, from: 7 };
  expect(within(set, 0, 10)).toEqual({ lower: 7, upper: 10, lowerIsBound: true, upperIsBound: false });
  expect(within(set, -5, 5)).toEqual({ lower: -5, upper: -3, lowerIsBound: false, upperIsBound: true });
  expect(within(set, 0, 5)).toBeNull();
  expect(within(set, -5, 10)).toEqual({ lower: -5, upper: 10, lowerIsBound: false, upperIsBound: false });
  expect(within({ kind: "from", lower: 4 }, 0, 10)?.lower).toBe(4);
  expect(within({ kind: "upTo", upper: 4 }, 0, 10)?.upper).toBe(4);
  expect(within({ kind: "between", lower: 2, upper: 12 }, 0, 10)).toEqual({
    lower: 2,
    upper: 10,
    lowerIsBound: true,
    upperIsBound: false,
  });
  expect(within({ kind: "unbounded" }, 0, 10)).toEqual({
    lower: 0,
    upper: 10,
    lowerIsBound: false,
    upperIsBound: false,
  });
});
