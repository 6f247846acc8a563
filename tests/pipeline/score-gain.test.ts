/** What an explanation can gain at most, against what it gains; and what the stated capacity can say at most, against what it says. */
import { describe, expect, test } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { chainScores } from "../../src/math/smooth-chain";
import { readingModel } from "../../src/pipeline/reading-model";
import { roomIn } from "../../src/pipeline/room";
import { placed, runChain } from "../../src/pipeline/run-chain";
import { gainOf, mostGains, settingWeights } from "../../src/pipeline/score-gain";
import { explanationsFor } from "../../src/pipeline/suspect-explanations";
import { pipelineOf } from "../promises/pipeline-run";

/** Run, job and all that may be wrong on the sheet of a tuning seed. */
function sheetOf(seed: number) {
  const { stages } = pipelineOf(makeJob(seed), false);
  const [fillRuns, job] = [stages.fillRun.read(), stages.job.read()];
  if (fillRuns.state !== "ready" || job.state !== "ready") throw new Error(`seed ${seed} has no fill run`);
  const fillRun = fillRuns.value.runs[0]!;
  const points = fillRun.steps
    .filter((s) => s.atStop === null)
    .map((step) => ({ run: 0, step, volume_L: step.volume_L }));
  const model = readingModel(fillRuns.value, points, [], job.value);
  const run = runChain(model, points);
  const possible = explanationsFor(fillRuns.value, fillRun, run, model.slopes, job.value, () => false);
  return { fillRuns: fillRuns.value, fillRun, job: job.value, run, possible };
}

describe("gains by the scores", () => {
  test("no explanation gains more than its ceiling, and most ceilings are near", () => {
    let seen = 0;
    let near = 0;
    for (const seed of [3, 8, 10, 27]) {
      const { run, possible } = sheetOf(seed);
      for (const first of [[], possible.filter((p) => p.what === "kink").slice(2, 3)]) {
        const put = placed(run, first, true)!;
        const scores = chainScores(put.chain, run.settings);
        const weights = settingWeights(run, scores);
        const ceiling = mostGains(run, put, scores, weights);
        for (const p of possible) {
          const gain = gainOf(
            run,
            put,
            scores,
            weights,
            p,
            Number.NEGATIVE_INFINITY,
            new Float64Array(weights.log.length),
          );
          if (!gain) continue;
          seen++;
          expect(gain.log).toBeLessThan(ceiling(p) + 1e-9);
          if (p.amountName === "any" && gain.log > ceiling(p) - 6) near++;
          // What is asked to come over its own log evidence does, and just over it need not.
          const least = (v: number) => gainOf(run, put, scores, weights, p, v, new Float64Array(weights.log.length));
          expect(least(gain.log - 1e-9)).toEqual(gain);
        }
      }
    }
    expect(seen).toBeGreaterThan(400);
    expect(near / seen).toBeGreaterThan(0.3);
  });

  test("no amount is likelier by the stated capacity than the most that it can be", () => {
    for (const seed of [3, 8, 10, 27, 57]) {
      const { fillRuns, fillRun, job, run } = sheetOf(seed);
      const room = roomIn(fillRuns, fillRun, job, 5, run.range_L);
      const odds = Array.from({ length: 400 }, (_, i) => room.odds(((i - 200) / 100) * run.range_L));
      expect(Math.max(...odds)).toBeLessThanOrEqual(room.most);
    }
  });
});
