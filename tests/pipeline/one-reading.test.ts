/** A volume from one reading, against readings drawn with their error on a curve that is known, and by hand. */
import { describe, expect, test } from "vitest";
import { makeJob, restReading } from "../../datasets/world/job";
import { unitsPerVolt } from "../../datasets/world/sender";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import type { CurvePoint } from "../../src/pipeline/curve-types";
import type { FillRuns } from "../../src/pipeline/fill-run";
import { oneReading } from "../../src/pipeline/one-reading";
import { runPipeline } from "../promises/pipeline-run";
import { analyse, sheet } from "./fill-world";

const grid = Array.from({ length: 41 }, (_, i) => {
  const volume_L = 1.5 * i;
  return { reading: 0.1 * i, volume_L, lower_L: volume_L - 0.8, upper_L: volume_L + 0.6 } as CurvePoint;
});
const runs = (standardError: number, effectiveSamples: number | null) =>
  ({ runs: [{ steps: [0, 1, 2].map(() => ({ standardError, effectiveSamples })) }] }) as unknown as FillRuns;

describe("one reading", () => {
  test("by hand: 0.8 L of band, 15 L a volt, 0.02 V, 95 %", () => {
    // 1.95996 · 15 · 0.02 = 0.58799; √(0.64 + 0.34573) = 0.99284.
    expect(oneReading(grid, runs(0.02, null), 0.95)).toEqual({
      reading: 0.02,
      halfWidth_L: expect.closeTo(0.99284, 4),
    });
    // A recording's mean of 25 samples worth is five times as sure as one of them.
    expect(oneReading(grid, runs(0.004, 25), 0.95).reading).toBeCloseTo(0.02, 12);
    expect(oneReading(grid, runs(0, null), 0.95).halfWidth_L).toBeCloseTo(0.8, 12);
  });

  test("holds 95 of 100 volumes read once on a known curve", () => {
    const known = grid.map((g) => ({ ...g, lower_L: g.volume_L, upper_L: g.volume_L }));
    const { halfWidth_L } = oneReading(known, runs(0.03, null), 0.95);
    const random = createRandom(2);
    let inside = 0;
    for (let i = 0; i < 4000; i++) if (Math.abs(15 * 0.03 * random.normal()) <= halfWidth_L) inside++;
    expect(Math.abs(inside / 4000 - 0.95)).toBeLessThan(0.012);
  });

  test("is never narrower than the band, and is in the curve", () => {
    const { curve } = analyse(sheet(4));
    expect(curve.oneReading.halfWidth_L).toBeGreaterThanOrEqual(curve.overall.bandHalfWidth_L);
    expect(curve.oneReading.halfWidth_L).toBeLessThan(2 * curve.overall.bandHalfWidth_L);
  });

  test("of simulated tanks, taken by hand with more than its last digit wrong, holds 95 of 100 volumes and more", () => {
    const shares: number[] = [];
    for (let seed = 1; seed <= 16; seed++) {
      const world = makeJob(seed);
      const { truth } = world;
      const curve = valueIn(runPipeline(world, false).answers.curve);
      if (truth.fill.recorded || !curve) continue;
      const random = createRandom(seed);
      const rest = restReading(truth, "fill");
      const top_L = truth.record.steps[truth.record.steps.length - 1]!.trueVolume_L;
      const noise = truth.fill.readingError * unitsPerVolt(truth.circuit);
      const span = Math.abs(rest(top_L) - rest(0));
      let tried = 0;
      let held = 0;
      while (tried < 200) {
        const volume_L = top_L * random.uniform();
        const clean = rest(volume_L);
        // Beside a stop a reading bounds the volume on one side only.
        if (Math.min(Math.abs(clean - rest(0)), Math.abs(clean - rest(top_L))) < 0.01 * span) continue;
        const read = Math.round((clean + noise * random.normal()) / truth.fill.readingStep) * truth.fill.readingStep;
        tried++;
        if (Math.abs(volumeAt(curve, read) - volume_L) <= curve.oneReading.halfWidth_L) held++;
      }
      shares.push(held / tried);
    }
    expect(shares.length).toBeGreaterThan(8);
    expect(shares.reduce((a, b) => a + b, 0) / shares.length).toBeGreaterThan(0.95);
  });
});
