import { describe, expect, it } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { createEndFlickers, firstCalm } from "../../src/pipeline/display-ends";
import { movingOf } from "../../src/pipeline/end-motion";
import { carry, layAt } from "../../src/pipeline/end-replay";
import { runPipeline } from "../promises/pipeline-run";
import { runExample } from "./example-run";

const pair = (timeConstant_s: number, deadband_L: number) => ({ timeConstant_s, deadband_L });

describe("firstCalm", () => {
  it("takes the first that is calm, and does not try one with less smoothing and less deadband than one that failed", () => {
    const pairs = [pair(10, 0.2), pair(8, 0.1), pair(20, 0.2), pair(30, 0.2)];
    const tried: number[] = [];
    const flickers = new Map([
      [10, 4],
      [8, 0],
      [20, 1],
      [30, 0],
    ]);
    const taken = firstCalm(
      pairs,
      (p) => {
        tried.push(p.timeConstant_s);
        return flickers.get(p.timeConstant_s)!;
      },
      1,
    );
    expect(taken).toBe(pairs[2]);
    expect(tried).toEqual([10, 20]);
  });

  it("where none is calm takes the stillest", () => {
    const pairs = [pair(10, 0.2), pair(5, 0.4), pair(20, 0.1)];
    expect(firstCalm(pairs, (p) => (p.timeConstant_s === 5 ? 3 : 7), 1)).toBe(pairs[1]);
  });
});

describe("a setting on moor-runner", () => {
  const { answers } = runExample("moor-runner");
  const ends = valueIn(answers.ends)!;
  const wanted = valueIn(answers.job)!.targets.endFlickersPerHour;

  it("holds both ends: by the log's motion carried there, neither flickers more often than wanted", () => {
    expect(ends.empty.carried!).toBeLessThanOrEqual(wanted);
    expect(ends.full.carried!).toBeLessThanOrEqual(wanted);
  });

  it("would not be held with the quickest steady pair without a deadband: the check can fail", () => {
    const [job, circuit, curve] = [valueIn(answers.job)!, valueIn(answers.circuit)!, valueIn(answers.curve)!];
    const flickers = createEndFlickers(
      { curve, fillRuns: valueIn(answers.fillRun)! },
      valueIn(answers.noise)!,
      valueIn(answers.driveLog)!,
      circuit,
      job,
      valueIn(answers.display)!.uses,
    );
    expect(flickers(pair(10, 0))).toBeGreaterThan(wanted);
    const { timeConstant_s, deadband_L } = valueIn(answers.display)!;
    expect(flickers({ timeConstant_s, deadband_L })).toBeLessThanOrEqual(wanted);
  });
});

describe("layAt", () => {
  const { answers } = runPipeline(makeJob(443));
  const curve = valueIn(answers.curve)!;
  const job = valueIn(answers.job)!;
  const log = valueIn(answers.driveLog)![0]!;
  const { emptyReading, fullReading } = curve.overall;
  const inward = Math.sign(fullReading - emptyReading);
  const farthest = (reach_L: number) => {
    const [laid] = layAt("empty", movingOf([log], curve, { low: null, high: null }, job), curve, job, 0, reach_L);
    const still = carry(laid!, curve, {
      order: "reading-then-table",
      timeConstant_s: 60,
      uses: [],
      features: { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null },
    });
    return Math.max(...still.before.map(({ reading }) => Math.max(...reading.map((r) => (r - emptyReading) * inward))));
  };

  it("reaches as far inside as it is asked to, however little the log burns", () => {
    const burn_L = (log.burn_L_per_h * log.duration_s) / 3600;
    expect(farthest(4 * burn_L)).toBeGreaterThan(1.5 * farthest(0));
  });

  it("what reads beyond the travel is a wire, and reads the same at every level", () => {
    const beyond = emptyReading - 0.2 * (fullReading - emptyReading);
    const reading = Float64Array.from(log.columns.reading);
    reading[500] = beyond;
    const wired = [{ ...log, columns: { ...log.columns, reading } }];
    const [laid] = layAt("full", movingOf(wired, curve, { low: null, high: null }, job), curve, job, 0, 1);
    for (const record of laid!.records) expect(Array.from(record.reading)).toContain(beyond);
  });
});
