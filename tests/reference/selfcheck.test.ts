import { PolynomialRegression, SimpleLinearRegression } from "ml-regression";
import { linearRegression, mean, sampleStandardDeviation } from "simple-statistics";
import { describe, expect, it } from "vitest";
import { leastSquares } from "../../src/math/least-squares";
import { momentsOf } from "../../src/math/moments";
import { fitLine } from "../../src/math/straight-line";
import { checks, holds, runSelfcheck } from "../../src/selfcheck";
import { norris, spectrometer, twoBreaks } from "../../src/selfcheck/data";
import { cadmium, massart, wampler5 } from "../../src/selfcheck/data-regression";
import { lew, mavro, nile } from "../../src/selfcheck/data-series";

describe("published cases", () => {
  it.each(checks.map((c) => [c.title, c] as const))("%s", (_, check) => {
    const pairs = check.run();
    expect(pairs.length).toBeGreaterThan(0);
    for (const pair of pairs)
      expect(holds(pair), `${pair.name}: ${pair.value}, published ${pair.expected} (${check.source})`).toBe(true);
  });

  it("a wrong figure would be caught", () => {
    expect(holds({ name: "x", value: 1.001, expected: 1, within: 1e-4 })).toBe(false);
    expect(holds({ name: "x", value: Number.NaN, expected: 1, within: 1e-4 })).toBe(false);
  });

  it("the self-check says so, a line a case with its source", () => {
    const results = runSelfcheck();
    expect(results.length).toBe(checks.length);
    for (const r of results) expect(r.source.length).toBeGreaterThan(5);
    expect(results.filter((r) => !r.passed)).toEqual([]);
  });
});

describe("independent witnesses", () => {
  const x = norris.map((r) => r[1]!);
  const y = norris.map((r) => r[0]!);

  it("simple-statistics and ml-regression fit the line of Norris as leastSquares does, to the digits that they carry", () => {
    const ours = leastSquares([x.map(() => 1), x], y);
    const first = linearRegression(norris.map((r) => [r[1]!, r[0]!]));
    const second = new SimpleLinearRegression(x, y);
    expect(Math.abs(first.b - ours.coefficients[0]!)).toBeLessThan(1e-8);
    expect(Math.abs(first.m - ours.coefficients[1]!)).toBeLessThan(1e-11);
    expect(Math.abs(second.intercept - ours.coefficients[0]!)).toBeLessThan(1e-8);
    expect(Math.abs(second.slope - ours.coefficients[1]!)).toBeLessThan(1e-11);
  });

  it("ml-regression's parabola through a fill run agrees with leastSquares", () => {
    const u = twoBreaks.map((r) => r[0]!);
    const v = twoBreaks.map((r) => r[1]!);
    const ours = leastSquares([u.map(() => 1), u, u.map((t) => t * t)], v);
    const theirs = new PolynomialRegression(u, v, 2);
    theirs.coefficients.forEach((c, i) => {
      expect(Math.abs(c - ours.coefficients[i]!)).toBeLessThan(1e-7 * Math.max(1, Math.abs(c)));
    });
  });

  it("simple-statistics finds the line of every published straight line that has equal weights", () => {
    for (const rows of [cadmium, massart]) {
      const ours = fitLine(
        rows.map((r) => r[0]!),
        rows.map((r) => r[1]!),
      );
      const theirs = linearRegression(rows);
      const other = new SimpleLinearRegression(
        rows.map((r) => r[0]!),
        rows.map((r) => r[1]!),
      );
      for (const [slope, intercept] of [
        [theirs.m, theirs.b],
        [other.slope, other.intercept],
      ]) {
        expect(Math.abs(slope! - ours.slope)).toBeLessThan(1e-12 * Math.abs(ours.slope));
        expect(Math.abs(intercept! - ours.intercept)).toBeLessThan(1e-11 * Math.abs(ours.intercept));
      }
    }
  });

  it("mean and standard deviation of simple-statistics are momentsOf's, where the sample lies near zero", () => {
    for (const values of [lew, nile, mavro]) {
      const ours = momentsOf(values);
      expect(Math.abs(mean(values) / ours.mean - 1)).toBeLessThan(1e-14);
      expect(Math.abs(sampleStandardDeviation(values) / ours.sd - 1)).toBeLessThan(1e-12);
    }
  });

  it("the polynomial of ml-regression drifts off on Wampler5, ours does not", () => {
    const u = wampler5.map((_, i) => i);
    const theirs = new PolynomialRegression(u, wampler5, 5).coefficients;
    const ours = leastSquares(
      [0, 1, 2, 3, 4, 5].map((k) => u.map((v) => v ** k)),
      wampler5,
    );
    const off = (c: number[]) => Math.max(...c.map((v) => Math.abs(v - 1)));
    expect(off(ours.coefficients)).toBeLessThan(1e-12);
    // Normal equations lose half of the digits: the reason why they are nowhere used here.
    expect(off(theirs)).toBeGreaterThan(1e-9);
  });

  it("mean and standard deviation of simple-statistics stand behind the Grubbs statistic", () => {
    expect((245.57 - mean(spectrometer)) / sampleStandardDeviation(spectrometer)).toBeCloseTo(2.46876461121245, 10);
  });
});
