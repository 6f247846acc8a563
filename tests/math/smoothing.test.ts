import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { predictSmooth } from "../../src/math/smooth-predict";
import {
  drawnTogether,
  risingValues,
  type SmoothProblem,
  type SmoothSource,
  settingsOf,
  walkCovariance,
} from "../../src/math/smoothing";

const problem = (x: number[], y: number[], sd = 0.01, kinks: SmoothProblem["kinks"] = []): SmoothProblem => ({
  x,
  y,
  covariance: x.map((_, i) => x.map((__, j) => (i === j ? sd * sd : 0))),
  readingVariance: x.map(() => sd * sd),
  range: 1,
  scatter: [{ relative: 0.0005, logPrior: 0 }],
  kinks,
});

describe("walkCovariance", () => {
  test("is t³/3 on the diagonal: the integral of (t − u)² from 0 to t", () => {
    expect(walkCovariance(0.6, 0.6)).toBeCloseTo(0.072, 12);
  });
  test("agrees with the integral of (s − u)(t − u) by the midpoint rule", () => {
    const [s, t, n] = [0.4, 0.9, 20000];
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const u = ((i + 0.5) / n) * s;
      sum += ((s - u) * (t - u) * s) / n;
    }
    expect(walkCovariance(s, t)).toBeCloseTo(sum, 8);
  });
});

describe("predictSmooth", () => {
  test("the few settings that it hands on hold the one that the plain factorisation finds likeliest", () => {
    for (let seed = 1; seed <= 12; seed++) {
      const random = createRandom(seed);
      const x = Array.from({ length: 8 + 3 * seed }, () => random.uniform()).sort((a, b) => a - b);
      const p = problem(
        x,
        x.map((v) => v + 0.2 * v * v + 0.02 * random.normal()),
      );
      const all = settingsOf(p);
      const best = all.reduce((a, b) => (b.logPrior + b.logLikelihood > a.logPrior + a.logLikelihood ? b : a));
      const { likeliest } = predictSmooth(p, [0.5]);
      expect(likeliest.length).toBeLessThan(all.length / 2);
      expect(likeliest).toContainEqual({
        factor: best.factor,
        scatter: best.scatter,
        roughness: best.roughness,
        logPrior: best.logPrior,
      });
    }
  });
  const x = Array.from({ length: 12 }, (_, i) => i / 11);
  test("a straight line comes back, between the points and beyond them", () => {
    const fit = predictSmooth(
      problem(
        x,
        x.map((v) => 3 + 2 * v),
      ),
      [-0.1, 0.25, 1.1],
    );
    for (const [i, v] of [2.8, 3.5, 5.2].entries()) expect(fit.mean[i]).toBeCloseTo(v, 6);
  });
  test("the band is widest beyond the ends and wider between points than on them", () => {
    const fit = predictSmooth(
      problem(
        x,
        x.map((v) => v + 0.3 * v * v),
        0.001,
      ),
      [-0.2, x[5]!, (x[5]! + x[6]!) / 2],
    );
    const sd = [0, 1, 2].map((i) => Math.sqrt(fit.covariance[4 * i]!));
    expect(sd[0]).toBeGreaterThan(sd[2]!);
    expect(sd[2]).toBeGreaterThan(sd[1]!);
  });
  test("a named kink is followed more closely than the roughness alone would", () => {
    const y = x.map((v) => v + 2 * Math.max(0, v - 0.5));
    const at = [0.5];
    const plain = predictSmooth(problem(x, y), at);
    const bent = predictSmooth(problem(x, y, 0.01, [{ at: 0.5, spread: 2 }]), at);
    expect(Math.abs(bent.mean[0]! - 0.5)).toBeLessThan(Math.abs(plain.mean[0]! - 0.5));
  });
  test("shifting and tilting y shifts and tilts the fit and leaves the band alone", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -0.05, max: 0.05, noNaN: true }), { minLength: 12, maxLength: 12 }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.double({ min: -3, max: 3, noNaN: true }),
        (noise, a, b) => {
          const y = x.map((v, i) => v * v + noise[i]!);
          const at = [0.1, 0.77];
          const fit = predictSmooth(problem(x, y), at);
          const moved = predictSmooth(
            problem(
              x,
              y.map((v, i) => v + a + b * x[i]!),
            ),
            at,
          );
          at.forEach((t, i) => {
            expect(moved.mean[i]).toBeCloseTo(fit.mean[i]! + a + b * t, 6);
            expect(moved.covariance[i * at.length + i]).toBeCloseTo(fit.covariance[i * at.length + i]!, 8);
          });
        },
      ),
      { numRuns: 20, seed: 3 },
    );
  });
});

describe("risingValues", () => {
  test("pools neighbours that fall: 1 3 2 4 → 1 2.5 2.5 4", () =>
    expect(risingValues([1, 3, 2, 4])).toEqual([1, 2.5, 2.5, 4]));
  test("never falls, keeps the sum, and leaves rising values alone", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 1, maxLength: 30 }), (v) => {
        const r = risingValues(v);
        for (let i = 1; i < r.length; i++) expect(r[i]!).toBeGreaterThanOrEqual(r[i - 1]! - 1e-9);
        expect(r.reduce((s, t) => s + t, 0)).toBeCloseTo(
          v.reduce((s, t) => s + t, 0),
          6,
        );
        const sorted = [...v].sort((a, b) => a - b);
        expect(risingValues(sorted)).toEqual(sorted);
      }),
    );
  });
});

/** The same problem, its covariance worked out when asked for. */
const asked = ({ covariance, ...rest }: SmoothProblem): SmoothSource => ({
  ...rest,
  covarianceOfMeans: (groups) =>
    groups.map((g) =>
      groups.map((h) => {
        let sum = 0;
        for (const i of g) for (const j of h) sum += covariance[i]![j]!;
        return sum / (g.length * h.length);
      }),
    ),
});

describe("drawnTogether", () => {
  test("300 points drawn together into 100 give the same curve and nearly the same band", () => {
    const random = createRandom(5);
    const x = Array.from({ length: 300 }, (_, i) => i / 299);
    const y = x.map((v) => v + 0.1 * Math.sin(5 * v) + 0.01 * random.normal());
    const whole: SmoothProblem = {
      ...problem(x, y),
      covariance: x.map((_, i) => x.map((__, j) => 1e-8 * Math.min(i, j) + (i === j ? 1e-4 : 0))),
      readingVariance: x.map(() => 0),
      scatter: [{ relative: 0, logPrior: 0 }],
      pace: { to: x.slice(1), value: x.slice(1).map((v) => 0.5 + v) },
    };
    const few = drawnTogether(asked(whole), 100);
    expect(few.x).toHaveLength(100);
    const at = [0.05, 0.3, 0.5, 0.81];
    const [a, b] = [predictSmooth(whole, at), predictSmooth(few, at)];
    at.forEach((_, i) => {
      const sd = Math.sqrt(a.covariance[i * 5]!);
      expect(Math.abs(a.mean[i]! - b.mean[i]!)).toBeLessThan(0.2 * sd);
      expect(Math.sqrt(b.covariance[i * 5]!) / sd).toBeCloseTo(1, 1);
    });
  });
  test("few points stay as they are", () => {
    const p = problem([0, 0.5, 1], [0, 0.5, 1]);
    expect(drawnTogether(asked(p), 3)).toEqual(p);
  });
});
