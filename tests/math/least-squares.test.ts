import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { exactDot, exactSum } from "../../src/math/exact-sum";
import { leastSquares } from "../../src/math/least-squares";
import { lagCorrelation, momentsOf } from "../../src/math/moments";
import { createRandom } from "../../src/math/random";
import { bonferroniLimit, rowDiagnostics } from "../../src/math/standing-out";

describe("sums that lose nothing", () => {
  test("large terms that cancel leave the small one", () => {
    expect(exactSum([1e16, 1, -1e16])).toBe(1);
    expect(exactDot([1e8, 1, -1e8], [1e8, 1, 1e8])).toBe(1);
    expect(exactDot([1 + 2 ** -30, 1], [1 - 2 ** -30, -1])).toBe(-(2 ** -60));
  });
  test("whole numbers: the sum of products is BigInt's", () => {
    const whole = fc.array(fc.integer({ min: -(2 ** 31), max: 2 ** 31 }), { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(whole, whole, (a, b) => {
        const n = Math.min(a.length, b.length);
        const exact = a.slice(0, n).reduce((s, v, i) => s + BigInt(v) * BigInt(b[i]!), 0n);
        expect(exactDot(a.slice(0, n), b.slice(0, n))).toBe(Number(exact));
      }),
      { seed: 41 },
    );
  });
});

describe("moments", () => {
  test("an offset of a million changes neither spread nor lag correlation beyond the digits that are stored", () => {
    const random = createRandom(3);
    const values = Array.from({ length: 200 }, () => Math.round(1024 * random.normal()) / 1024);
    const far = values.map((v) => v + 2 ** 20);
    expect(momentsOf(far).sd).toBeCloseTo(momentsOf(values).sd, 14);
    expect(momentsOf(far).mean - 2 ** 20).toBeCloseTo(momentsOf(values).mean, 9);
    expect(lagCorrelation(far, 1)).toBeCloseTo(lagCorrelation(values, 1), 13);
  });
  test("one value has no spread; none is a caller's mistake", () => {
    expect(momentsOf([5])).toEqual({ n: 1, mean: 5, sd: 0, squares: 0 });
    expect(() => momentsOf([])).toThrow("at least one value");
    expect(lagCorrelation([2, 2, 2], 1)).toBe(0);
  });
});

/** Rows of a bent sheet with one of them moved. */
function bent(seed: number, n: number, wrong: number) {
  const random = createRandom(seed);
  const x = Array.from({ length: n }, (_, i) => i);
  const y = x.map((v) => 1 + v + 0.05 * v * v + 0.3 * random.normal());
  y[Math.floor(n / 2)]! += wrong;
  return { columns: [x.map(() => 1), x, x.map((v) => v * v)], y };
}

describe("least squares", () => {
  test("residuals stand at right angles to every column, to the last digits", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 0, max: 12 }), (seed, power) => {
        const { columns, y } = bent(seed, 14, 0);
        // A column far from zero is nearly the first one again.
        const far = columns.map((c, k) => (k === 1 ? c.map((v) => v + 2 ** power) : c));
        const fit = leastSquares(far, y);
        const size = Math.sqrt(fit.squares);
        for (const c of far) {
          const length = Math.sqrt(exactDot(c, c));
          expect(Math.abs(exactDot(c, fit.residuals)) / (length * size)).toBeLessThan(1e-14);
        }
        expect(fit.leverage.reduce((s, h) => s + h, 0)).toBeCloseTo(3, 10);
      }),
      { seed: 42, numRuns: 60 },
    );
  });
  test("a column that repeats others is refused", () => {
    expect(() =>
      leastSquares(
        [
          [1, 1, 1],
          [1, 2, 3],
          [2, 3, 4],
        ],
        [1, 2, 4],
      ),
    ).toThrow("depends on");
    expect(() =>
      leastSquares(
        [
          [1, 2],
          [2, 1],
          [0, 1],
        ],
        [1, 2],
      ),
    ).toThrow("2 rows for 3 columns");
  });
});

describe("rows that stand out", () => {
  test("a studentised residual is the row's own t when a column for that row alone is added", () => {
    const { columns, y } = bent(5, 12, 1);
    const d = rowDiagnostics(leastSquares(columns, y));
    y.forEach((_, i) => {
      const alone = leastSquares([...columns, y.map((__, j) => (i === j ? 1 : 0))], y);
      expect(d.studentised[i]).toBeCloseTo(alone.coefficients[3]! / alone.standardErrors[3]!, 9);
    });
  });
  test("the same with stated errors that differ from row to row", () => {
    const { columns, y } = bent(6, 12, 0);
    const standard = y.map((_, i) => 0.2 + 0.05 * i);
    const d = rowDiagnostics(leastSquares(columns, y, standard));
    const whole = leastSquares(
      columns.map((c) => c.map((v, i) => v / standard[i]!)),
      y.map((v, i) => v / standard[i]!),
    );
    expect(d.studentised.map((v) => v!.toFixed(9))).toEqual(
      rowDiagnostics(whole).studentised.map((v) => v!.toFixed(9)),
    );
  });
  test("Cook's distance is the shift of all fitted values when the row is left out", () => {
    const { columns, y } = bent(7, 10, 2);
    const fit = leastSquares(columns, y);
    const d = rowDiagnostics(fit);
    const without = (list: number[], i: number) => list.filter((_, j) => j !== i);
    y.forEach((_, i) => {
      const less = leastSquares(
        columns.map((c) => without(c, i)),
        without(y, i),
      );
      const moved = y.map((__, j) =>
        columns.reduce((s, c, k) => s + c[j]! * (fit.coefficients[k]! - less.coefficients[k]!), 0),
      );
      expect(d.cooksDistance[i]).toBeCloseTo(exactDot(moved, moved) / (3 * fit.residualSd ** 2), 9);
    });
  });
  test("clean sheets pass the Bonferroni limit in at most 5 of 100, one wild row is found", () => {
    const limit = bonferroniLimit(12, 9);
    let flagged = 0;
    for (let seed = 1; seed <= 2000; seed++) {
      const { columns, y } = bent(seed, 12, 0);
      const worst = rowDiagnostics(leastSquares(columns, y)).worst!;
      expect(Math.abs(worst.studentised) > limit).toBe(worst.bonferroniP < 0.05);
      if (Math.abs(worst.studentised) > limit) flagged++;
    }
    expect(flagged / 2000).toBeGreaterThan(0.03);
    expect(flagged / 2000).toBeLessThan(0.06);
    const { columns, y } = bent(1, 12, 5);
    expect(rowDiagnostics(leastSquares(columns, y)).worst).toMatchObject({ row: 6 });
  });
  test("a row that carries a coefficient alone cannot be judged", () => {
    const d = rowDiagnostics(
      leastSquares(
        [
          [1, 1, 1, 1, 1],
          [0, 0, 0, 0, 1],
        ],
        [1, 2, 1, 2, 9],
      ),
    );
    expect(d.studentised[4]).toBeNull();
    expect(d.cooksDistance[4]).toBeNull();
  });
});
