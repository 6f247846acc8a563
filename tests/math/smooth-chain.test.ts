/** The chain form against the dense form of the same model, and its scores against shifts that are really put in. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { chainCourse, likelihoodsBeside } from "../../src/math/chain-course";
import { chainFilter, innerProduct, whitenedShift } from "../../src/math/chain-shift";
import { createRandom } from "../../src/math/random";
import { type Chain, chainLikelihoods, chainScores, type Noise } from "../../src/math/smooth-chain";
import { type SmoothProblem, settingsOf } from "../../src/math/smoothing";
import { dot, forward, project } from "../../src/math/triangular";

function problemOf(seed: number, n: number) {
  const random = createRandom(seed);
  const x = Array.from({ length: n }, () => random.uniform()).sort((a, b) => a - b);
  const low = x[0]!;
  const range = x[n - 1]! - low;
  const placed = x.map((v) => (v - low) / range);
  const slope = placed.map(() => 0.5 + random.uniform());
  const y = placed.map((v) => v + 0.1 * Math.sin(5 * v) + 0.004 * random.normal());
  const u = 0.002;
  const pace = placed.map(() => 0.2 + 2 * random.uniform());
  const own = placed.map(() => 1e-6 + 4e-6 * random.uniform());
  const chain: Chain = {
    x: Float64Array.from(placed),
    seen: new Uint8Array(n).fill(1),
    y: Float64Array.from(y),
    own: Float64Array.from(own),
    readingVariance: new Float64Array(n).fill(1),
    slope: Float64Array.from(slope),
    pour: Float64Array.from(placed, (_, i) => (i > 0 ? u * u : 0)),
    bend: new Float64Array(n),
    pace: Float64Array.from(pace),
  };
  const problem: SmoothProblem = {
    x: placed,
    y,
    covariance: placed.map((_, i) =>
      placed.map((__, j) => slope[i]! * slope[j]! * Math.min(i, j) * u * u + (i === j ? own[i]! : 0)),
    ),
    readingVariance: new Array<number>(n).fill(1),
    range: 1,
    // A chain's node tells the pace on the way to it.
    pace: { to: placed.slice(1), value: pace.slice(1) },
    scatter: [{ relative: 0.001, logPrior: 0 }],
    factors: [
      { factor: 0.001, logPrior: 0 },
      { factor: 0.004, logPrior: -1 },
    ],
    roughnesses: [
      { relative: 0.2, logPrior: 0 },
      { relative: 2, logPrior: -0.5 },
    ],
  };
  return { chain, problem };
}

const settings: Noise[] = [
  { factor: 0.001, scatter: 0.001, roughness: 0.2, logPrior: 0 },
  { factor: 0.001, scatter: 0.001, roughness: 2, logPrior: -0.5 },
  { factor: 0.004, scatter: 0.001, roughness: 0.2, logPrior: -1 },
  { factor: 0.004, scatter: 0.001, roughness: 2, logPrior: -1.5 },
];

describe("smoothing as a chain", () => {
  test("the likelihoods differ from the dense ones by one constant", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 10000 }), fc.integer({ min: 6, max: 30 }), (seed, n) => {
        const { chain, problem } = problemOf(seed, n);
        const dense = settingsOf(problem).map((s) => s.logLikelihood);
        const mine = chainLikelihoods(chain, settings);
        const off = dense.map((d, k) => d - mine[k]!);
        // Level and slope are free in the dense form and nearly free in the chain.
        for (const o of off) expect(o).toBeCloseTo(off[0]!, 2);
      }),
      { numRuns: 60 },
    );
  });

  test("a score and its information foretell the likelihood with the shift put in", () => {
    const { chain } = problemOf(7, 14);
    const scores = chainScores(chain, settings);
    const n = 14;
    const before = chainLikelihoods(chain, settings);
    for (const at of [1, 5, 9, 12]) {
      const shift = 0.01;
      const reading = { ...chain, y: chain.y.map((v, i) => (i === at ? v - shift : v)) };
      const pour = { ...chain, y: chain.y.map((v, i) => (i >= at ? v - shift * chain.slope[i]! : v)) };
      const bend = { ...chain, y: chain.y.map((v, i) => (i > at ? v - shift * (chain.x[i]! - chain.x[at]!) : v)) };
      const told = (score: Float64Array, information: Float64Array, k: number) =>
        score[k * n + at]! * shift - 0.5 * information[k * n + at]! * shift * shift;
      settings.forEach((_, k) => {
        const gain = (c: Chain) => chainLikelihoods(c, settings)[k]! - before[k]!;
        expect(gain(reading)).toBeCloseTo(told(scores.readingScore, scores.readingInformation, k), 6);
        expect(gain(pour)).toBeCloseTo(told(scores.pourScore, scores.pourInformation, k), 6);
        expect(gain(bend)).toBeCloseTo(told(scores.bendScore, scores.bendInformation, k), 6);
      });
    }
  });

  test("likelihoods beside another chain's course are the same to the last bit, wherever the chains part", () => {
    for (const n of [14, 300]) {
      const { chain } = problemOf(11, n);
      const course = chainCourse(chain, settings);
      const moved = (of: keyof Chain, at: number): Chain => ({
        ...chain,
        [of]: chain[of].map((v, i) => (i === at ? v + 0.01 : v)),
      });
      for (const at of [0, 1, 6, n - 2, n - 1])
        for (const of of ["x", "y", "own", "readingVariance", "slope", "pour", "bend", "pace"] as const) {
          const other = moved(of, at);
          expect(likelihoodsBeside(course, other)).toEqual(chainLikelihoods(other, settings));
        }
    }
  });

  test("whitened shifts have the inner products of the dense form", () => {
    const n = 40;
    const { chain, problem } = problemOf(5, n);
    const shifts = [
      { from: 9, of: (k: number) => (k === 9 ? 1 : 0) },
      { from: 9, of: (k: number) => chain.slope[k]! },
      { from: 11, of: (k: number) => Math.max(0, chain.x[k]! - chain.x[11]!) },
      { from: 12, of: (k: number) => (k === 12 ? 1 : 0) },
    ];
    settingsOf(problem).forEach((dense, s) => {
      const { store } = chainFilter(chain, settings[s]!);
      const whitened = shifts.map((c) => whitenedShift(chain, store, c.from, c.of));
      const columns = shifts.map((c) =>
        project(
          dense.q,
          forward(
            dense.l,
            problem.x.map((_, k) => (k >= c.from ? c.of(k) : 0)),
          ),
        ),
      );
      shifts.forEach((_, i) => {
        shifts.forEach((__, j) => {
          const size = Math.sqrt(dot(columns[i]!, columns[i]!) * dot(columns[j]!, columns[j]!));
          const off = innerProduct(whitened[i]!, whitened[j]!) - dot(columns[i]!, columns[j]!);
          expect(Math.abs(off) / size).toBeLessThan(1e-4);
        });
      });
    });
  });

  test("a node without a reading changes nothing unless the curve may bend there", () => {
    const { chain } = problemOf(3, 10);
    const more = (bend: number): Chain => {
      const put = (a: Float64Array, value: number) => Float64Array.from([...a.slice(0, 5), value, ...a.slice(5)]);
      return {
        x: put(chain.x, (chain.x[4]! + chain.x[5]!) / 2),
        seen: Uint8Array.from([1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1]),
        y: put(chain.y, 0),
        own: put(chain.own, 0),
        readingVariance: put(chain.readingVariance, 0),
        slope: put(chain.slope, 0),
        pour: put(chain.pour, 0),
        bend: put(chain.bend, bend),
        pace: put(chain.pace, chain.pace[5]!),
      };
    };
    const plain = chainLikelihoods(chain, settings);
    const silent = chainLikelihoods(more(0), settings);
    settings.forEach((_, k) => {
      expect(silent[k]!).toBeCloseTo(plain[k]!, 8);
    });
    expect(chainLikelihoods(more(1), settings)[0]!).not.toBeCloseTo(plain[0]!, 1);
  });
});
