/** Errors of volumes in two numbers a point, against the matrix that they stand for. */
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { cholesky, forward } from "../../src/math/triangular";
import type { FillRun, FillRuns, Step } from "../../src/pipeline/fill-run";
import {
  covarianceOf,
  covarianceOfMeans,
  type FitPoint,
  volumeErrors,
  whitenedBy,
} from "../../src/pipeline/smooth-problem";

const steps = Array.from({ length: 7 }, (_, index) => ({ index, volume_L: 5 * index, reading: index }) as Step);
const run = (changes: Partial<FillRun>) => ({
  steps,
  pourStandard_L: 0.1,
  fillPours: 0,
  runningTotal: false,
  ...changes,
});
const runs = { runs: [run({}), run({ runningTotal: true, pourStandard_L: 0.2 })] } as FillRuns;
const points = [0, 1].flatMap((r) =>
  steps.slice(1).map((step): FitPoint => ({ run: r, step, volume_L: step.volume_L })),
);
const putIns = [{ run: 0, step: 4, amount_L: 5, standard_L: 0.3 }];

describe("errors of the volumes", () => {
  const errors = volumeErrors(runs, points, putIns);
  test("pours add up, a pour put in is shared from there on, readings of a running total and other runs stand alone", () => {
    // Points 0 to 5 are steps 1 to 6 of the summed run, 6 to 11 those of the running total.
    expect(covarianceOf(errors, 1, 4)).toBeCloseTo(2 * 0.01, 12);
    expect(covarianceOf(errors, 3, 5)).toBeCloseTo(4 * 0.01 + 0.09, 12);
    expect(covarianceOf(errors, 5, 5)).toBeCloseTo(6 * 0.01 + 0.09, 12);
    expect(covarianceOf(errors, 7, 7)).toBeCloseTo(0.04, 12);
    expect(covarianceOf(errors, 7, 9)).toBe(0);
    expect(covarianceOf(errors, 2, 8)).toBe(0);
  });

  test("means of groups have the covariance that all their pairs give", () => {
    const weights = points.map((_, i) => 0.5 + 0.1 * i);
    const alone = points.map((_, i) => 0.01 * i);
    for (const groups of [
      [[0, 1], [2, 3, 4], [5], [6, 7], [8, 9, 10, 11]],
      [
        [0, 3],
        [1, 5],
        [2, 4, 8],
        [6, 7, 9, 10, 11],
      ],
    ]) {
      const mine = covarianceOfMeans(errors, weights, alone, groups);
      groups.forEach((g, a) => {
        groups.forEach((h, b) => {
          const pairs = g.flatMap((i) =>
            h.map((j) => weights[i]! * weights[j]! * covarianceOf(errors, i, j) + (i === j ? alone[i]! : 0)),
          );
          expect(mine[a]![b]).toBeCloseTo(pairs.reduce((s, c) => s + c, 0) / pairs.length, 12);
        });
      });
    }
  });

  test("taking the correlation out in one pass is forward substitution in the Cholesky factor", () => {
    const random = createRandom(3);
    const read = { ...errors, own_L2: errors.own_L2.map((v) => v + 0.002 + 0.01 * random.uniform()) };
    const residuals = points.map(() => random.normal());
    const dense = forward(cholesky(points.map((_, i) => points.map((__, j) => covarianceOf(read, i, j))))!, residuals);
    whitenedBy(read, residuals).forEach((w, i) => {
      expect(w).toBeCloseTo(dense[i]!, 10);
    });
  });
});
