/** The covariance of drain volumes, each form against a simulation of the pours and draws themselves. */
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import type { FillRun, Step } from "../../src/pipeline/fill-run";
import { drainCovariance, fillWithDrain, loopCovariance, type PourErrors } from "../../src/pipeline/pour-errors";

const pours = 6;
const pour_L = 5;
const full_L = pours * pour_L;
const errors: PourErrors = { pour_L: 0.1, draw_L: 0.15, scale: 0.01, start_L: 0.2 };
const draws = [0, 1, 2, 3, 4, 5, 6];
const trials = 60_000;

/** What one simulated job holds: true less written, for the fill at k pours and the drain at j draws. */
interface Off {
  fill: number[];
  drain: number[];
}
function simulate(other: number | null, one: (off: Off) => number[]): number[][] {
  const random = createRandom(other === null ? 1 : 2);
  let sums: number[] = [];
  let products: number[][] = [];
  for (let t = 0; t < trials; t++) {
    const scale = errors.scale * random.normal();
    const otherScale = other === null ? scale : other * random.normal();
    const start = errors.start_L * random.normal();
    let level = start;
    const fill = [level];
    for (let k = 1; k <= pours; k++) {
      level += scale * pour_L + errors.pour_L * random.normal();
      fill.push(level);
    }
    const drain = draws.map((j) => {
      if (j > 0) level -= otherScale * pour_L + errors.draw_L * random.normal();
      return level;
    });
    const values = one({ fill, drain });
    if (t === 0) {
      sums = values.map(() => 0);
      products = values.map(() => values.map(() => 0));
    }
    values.forEach((a, i) => {
      sums[i]! += a;
      values.forEach((b, j) => {
        products[i]![j]! += a * b;
      });
    });
  }
  return products.map((row, i) => row.map((p, j) => p / trials - (sums[i]! / trials) * (sums[j]! / trials)));
}
/** Within five standard errors of a simulated covariance. */
function agrees(formula: number[][], simulated: number[][]) {
  formula.forEach((row, i) => {
    row.forEach((c, j) => {
      const scatter = Math.sqrt((formula[i]![i]! * formula[j]![j]! + c * c) / trials);
      expect(Math.abs(c - simulated[i]![j]!), `${i}, ${j}`).toBeLessThan(5 * scatter + 1e-12);
    });
  });
}
const step = (j: number) => ({ draws: j, drawn_L: j * pour_L, volume_L: full_L - j * pour_L });

describe("drain volumes", () => {
  test("counted from the full mark, same container", () => {
    agrees(
      drainCovariance(draws.map(step), errors, { anchor: "full", pours, container: "same" }),
      simulate(null, (o) => o.drain),
    );
  });

  test("counted from the full mark, another container", () => {
    agrees(
      drainCovariance(draws.map(step), errors, { anchor: "full", pours, container: "other", otherScale: 0.02 }),
      simulate(0.02, (o) => o.drain),
    );
  });

  test("counted back from where the pump drew air: known best near empty", () => {
    const simulated = simulate(null, (o) => o.drain.map((v) => v - o.drain[pours]!));
    const formula = drainCovariance(draws.map(step), errors, { anchor: "pump-draws-air" });
    agrees(formula, simulated);
    expect(formula[pours]![pours]).toBe(0);
    expect(formula[0]![0]).toBeGreaterThan(formula[3]![3]!);
  });

  test.each([
    ["same", null],
    ["other", 0.02],
  ] as const)("what a drain step shares with a fill step, %s container", (container, otherScale) => {
    const from =
      container === "same"
        ? ({ anchor: "full", pours, container } as const)
        : ({ anchor: "full", pours, container, otherScale: otherScale! } as const);
    const joint = simulate(otherScale, (o) => [...o.fill, ...o.drain]);
    const variance = drainCovariance(draws.map(step), errors, from);
    draws.forEach((k) => {
      draws.forEach((j) => {
        const c = fillWithDrain({ pours: k, volume_L: k * pour_L }, step(j), errors, from);
        const scatter = Math.sqrt((joint[k]![k]! * variance[j]![j]! + c * c) / trials);
        expect(Math.abs(c - joint[k]![pours + 1 + j]!)).toBeLessThan(5 * scatter);
      });
    });
  });
});

describe("fill less drain at equal volume", () => {
  const stepOf = (index: number, volume_L: number): Step => ({
    index,
    volume_L,
    added_L: pour_L,
    reading: 0,
    standardError: 0,
    effectiveSamples: null,
    samples: null,
    dropped_s: null,
    from_s: null,
    to_s: null,
    line: index + 2,
    atStop: null,
  });
  const run = (direction: "fill" | "drain", runningTotal = false): FillRun => ({
    file: "",
    kind: "typed",
    direction,
    steps: [],
    pourStandard_L: direction === "fill" ? errors.pour_L : errors.draw_L,
    fillPours: direction === "drain" ? pours : 0,
    runningTotal,
    trace: null,
  });
  const fillSteps = draws.map((k) => stepOf(k, k * pour_L));
  const drainSteps = [5, 4, 3, 2, 1].map((j) => stepOf(j, full_L - j * pour_L));

  test("the pours above a level and the draws down to it remain, scale and start cancel", () => {
    const level = drainSteps.map((s) => fillSteps.findIndex((f) => f.volume_L === s.volume_L));
    const weights = level.map((k) => fillSteps.map((_, i) => (i === k ? 1 : 0)));
    const formula = loopCovariance(run("fill"), fillSteps, run("drain"), drainSteps, weights);
    agrees(
      formula,
      simulate(null, (o) => drainSteps.map((s, i) => o.fill[level[i]!]! - o.drain[s.index]!)),
    );
    // In closed form, as stated: (n − max(k, l))·u_p² + min of the draws·u_d².
    expect(formula[0]![4]).toBeCloseTo((pours - Math.max(level[0]!, level[4]!)) * 0.01 + 1 * 0.0225, 12);
  });

  test("between the fill steps too", () => {
    const weights = drainSteps.map((_, i) => fillSteps.map((__, k) => (k === i ? 0.3 : k === i + 1 ? 0.7 : 0)));
    const formula = loopCovariance(run("fill"), fillSteps, run("drain"), drainSteps, weights);
    // The container's scale is left out here: interpolated volumes of this made-up case do not lie at the drain's own.
    const still = simulateWithoutScale((o) =>
      drainSteps.map((s, i) => 0.3 * o.fill[i]! + 0.7 * o.fill[i + 1]! - o.drain[s.index]!),
    );
    agrees(formula, still);
  });

  test("totals read off one counter: each has its own error, the full mark's is in every drain step", () => {
    const weights = drainSteps.map((s) => fillSteps.map((f) => (f.volume_L === s.volume_L ? 1 : 0)));
    const c = loopCovariance(run("fill", true), fillSteps, run("drain", true), drainSteps, weights);
    expect(c[0]![1]).toBeCloseTo(0.01, 12);
    expect(c[0]![0]).toBeCloseTo(0.01 + 0.01 + 0.0225, 12);
  });

  function simulateWithoutScale(one: (off: Off) => number[]) {
    const kept = errors.scale;
    errors.scale = 0;
    try {
      return simulate(null, one);
    } finally {
      errors.scale = kept;
    }
  }
});
