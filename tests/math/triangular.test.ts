import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { backward, cholesky, dot, forward, logDeterminant, orthonormal, project } from "../../src/math/triangular";

const spd = fc
  .array(fc.array(fc.double({ min: -2, max: 2, noNaN: true }), { minLength: 4, maxLength: 4 }), {
    minLength: 4,
    maxLength: 4,
  })
  .map((m) => m.map((a, i) => m.map((b, j) => dot(a, b) + (i === j ? 1 : 0))));

describe("cholesky, forward, backward", () => {
  test("known factor: [[4, 2], [2, 5]] = [[2, 0], [1, 2]] times its transpose", () => {
    expect(
      cholesky([
        [4, 2],
        [2, 5],
      ])!.map((r) => Array.from(r)),
    ).toEqual([
      [2, 0],
      [1, 2],
    ]);
  });
  test("a matrix that is not positive definite gives null", () =>
    expect(
      cholesky([
        [1, 2],
        [2, 1],
      ]),
    ).toBeNull());
  test("log determinant of diag(2, 3) is log 6", () =>
    expect(
      logDeterminant(
        cholesky([
          [2, 0],
          [0, 3],
        ])!,
      ),
    ).toBeCloseTo(Math.log(6), 12));
  test("solves A x = b", () => {
    fc.assert(
      fc.property(
        spd,
        fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 4, maxLength: 4 }),
        (a, b) => {
          const l = cholesky(a)!;
          const x = backward(l, forward(l, b));
          for (const [i, row] of a.entries()) expect(dot(row, x)).toBeCloseTo(b[i]!, 6);
        },
      ),
    );
  });
});

describe("orthonormal and project", () => {
  test("a dependent column is left out", () => {
    expect(orthonormal([Float64Array.of(1, 0), Float64Array.of(2, 0), Float64Array.of(1, 1)]).q).toHaveLength(2);
  });
  test("what is left is perpendicular to every column", () => {
    const { q } = orthonormal([Float64Array.of(1, 1, 1), Float64Array.of(1, 2, 4)]);
    const rest = project(q, Float64Array.of(3, -1, 2));
    expect(dot(rest, [1, 1, 1])).toBeCloseTo(0, 12);
    expect(dot(rest, [1, 2, 4])).toBeCloseTo(0, 12);
  });
});
