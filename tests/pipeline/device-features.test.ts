import { describe, expect, it } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { refuelDrive } from "../../datasets/world/refuel";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import {
  holdInCorner,
  noFeatures,
  rateLimited,
  refuelLowPass,
  runningMedian,
} from "../../src/pipeline/device-features";
import { type DeviceSettings, replay } from "../../src/pipeline/device-model";
import type { Feature } from "../../src/pipeline/job";
import { runPipeline } from "../promises/pipeline-run";
import { type Device, deviceFrom, runDevice } from "../promises/replay";

describe("each feature by itself", () => {
  it("a median of three takes out a spike of one reading and leaves a step two readings late at most", () => {
    expect([...runningMedian(Float64Array.of(1, 1, 9, 1, 1, 5, 5, 5), 3)]).toEqual([1, 1, 1, 1, 1, 1, 5, 5]);
    const values = Float64Array.of(3, 1, 2);
    expect(runningMedian(values, 1)).toBe(values);
  });

  it("a hold keeps the last reading while the acceleration is over its limit, either way", () => {
    const held = holdInCorner(Float64Array.of(1, 2, 3, 4, 5), Float64Array.of(0, 0.3, -0.4, 0.1, 0), 0.2);
    expect([...held]).toEqual([1, 1, 1, 4, 5]);
  });

  it("a rate limit lets a jump through at its rate, and freely while a refuel is followed", () => {
    expect([...rateLimited(Float64Array.of(0, 10, 10, 10), 2)]).toEqual([0, 2, 4, 6]);
    expect([...rateLimited(Float64Array.of(0, 10, 10, 10), 2, Uint8Array.of(0, 0, 1, 0))]).toEqual([0, 2, 10, 10]);
  });

  it("the refuelling rule follows a rise that stays and forgets one that does not last", () => {
    const rule = { rise_L: 3, seconds: 4 };
    const step = (from_s: number, to_s: number) =>
      Float64Array.from({ length: 1200 }, (_, i) => (i / 10 >= from_s && i / 10 < to_s ? 20 : 10));
    const brief = refuelLowPass(step(20, 23), 60, 0.1, rule, (r) => r);
    expect(Math.max(...brief.following)).toBe(0);
    const stays = refuelLowPass(step(20, 120), 60, 0.1, rule, (r) => r);
    // The quick filter needs 1.5·ln(10/7) s to be 3 L up; four seconds later the display is let through.
    expect(stays.filtered[200 + 10 * 5]!).toBeGreaterThan(19);
    expect(stays.filtered[200 + 10 * 4]!).toBeLessThan(11);
  });
});

describe.each(["reading-then-table", "table-then-filter"] as const)(
  "the replay and the device of the harness, which is written by itself: %s",
  (order) => {
    const random = createRandom(5);
    const n = 6000;
    const reading = Float64Array.from(
      { length: n },
      (_, i) => 3 + (i > 3000 ? 4 : 0) + 0.3 * Math.sin(i / 9) + 0.2 * random.normal(),
    );
    const across_g = Float64Array.from({ length: n }, (_, i) => 0.4 * Math.sin(i / 200));
    const table = [
      { reading: 0, volume_L: 0 },
      { reading: 4, volume_L: 30 },
      { reading: 10, volume_L: 60 },
    ];
    const all = { medianOf: 5, holdOver_g: 0.25, rateLimit_L_per_s: 0.3, refuel: { rise_L: 4, seconds: 4 } };
    it.each([
      ["none", noFeatures],
      ["median", { ...noFeatures, medianOf: 5 }],
      ["hold", { ...noFeatures, holdOver_g: 0.25 }],
      ["rate limit", { ...noFeatures, rateLimit_L_per_s: 0.3 }],
      ["refuelling rule", { ...noFeatures, refuel: all.refuel }],
      ["all of them", all],
    ])("show the same with %s", (_, features) => {
      const settings: DeviceSettings = {
        order,
        timeConstant_s: 30,
        deadband_L: 0.3,
        deadbandKind: "play",
        faultLimits: false,
        table,
        shown: { step_L: 1, offset_L: 0 },
        features,
      };
      const record = { interval_s: 0.1, reading, trend_L: reading, faulty: new Uint8Array(n), across_g };
      const device: Device = {
        table,
        factor: 1 - Math.exp(-0.1 / 30),
        deadband_L: 0.3,
        deadbandKind: "play",
        faultLow: Number.NEGATIVE_INFINITY,
        faultHigh: Number.POSITIVE_INFINITY,
        order,
        rate_Hz: 10,
        features,
        displayStep_L: 1,
      };
      const ours = replay(record, settings);
      const theirs = runDevice(device, reading, across_g);
      for (let i = 0; i < n; i += 7) expect(ours.smoothed_L[i]).toBeCloseTo(theirs.smoothed_L[i]!, 6);
      expect(ours.shown_L.filter((v, i) => v !== theirs.shown_L[i]).length).toBeLessThanOrEqual(2);
    });
  },
);

describe("what the device has becomes what is typed", () => {
  const world = makeJob(411);
  const has: Feature[] = ["fault-limits", "median", "rate-limit", "hold-in-corner", "refuel-rule"];
  const run = runPipeline({ ...world, job: { ...world.job, device: { ...world.job.device, has } } });
  const display = valueIn(run.answers.display)!;
  const settings = valueIn(run.answers.settings)!;
  it("each ticked one is tried on the log, with its reason; what is taken is typed and nothing else", () => {
    expect(display.featureTrials.map((t) => t.feature).sort()).toEqual([...has].sort());
    const typed = settings.lines.filter((l) => l.group === "features").map((l) => l.label);
    const taken = (feature: Feature) => display.featureTrials.find((t) => t.feature === feature)!.taken;
    expect(typed.includes("Median of")).toBe(taken("median"));
    expect(typed.includes("Hold in a corner over")).toBe(taken("hold-in-corner"));
    expect(typed.includes("Rate limit")).toBe(taken("rate-limit"));
    expect(typed.includes("Refuel: a rise of")).toBe(taken("refuel-rule"));
  });

  it("with the rule, nine tenths of a refuel are shown ten seconds after its end", () => {
    const stop = refuelDrive(world.truth, 7);
    const device = deviceFrom(settings, display.order, {
      capacity_L: world.job.tank!.capacity_L!,
      rate_Hz: 10,
      displayUnit: world.job.device!.displayUnit!,
      displayStep: world.job.device!.displayStep!,
    });
    const { shown_L } = runDevice(device, stop.reading, stop.across_g);
    const before = shown_L[stop.from - 1]!;
    const after = shown_L[shown_L.length - 1]!;
    expect(after - before).toBeGreaterThan(10);
    expect(shown_L[stop.to + 100]! - before).toBeGreaterThanOrEqual(0.9 * (after - before));
  });

  it("where long corners raise the reading as far as a refuel does, a longer rule leaves them out, and the drive is as steady", () => {
    const circuit = makeJob(21);
    const { device, ...rest } = circuit.job;
    const ticked = runPipeline({
      ...circuit,
      job: { ...rest, device: { ...device, has: [...device!.has!, "refuel-rule"] } },
    });
    const found = valueIn(ticked.answers.display)!;
    const trial = found.featureTrials.find((t) => t.feature === "refuel-rule")!;
    expect(trial.taken).toBe(true);
    expect(found.features.refuel!.seconds).toBeGreaterThan(6);
    expect(found.features.refuel!.rise_L).toBeLessThanOrEqual(0.1 * circuit.truth.tank.capacity_L);
    expect(trial.with.reversalsPerMinute).toBeCloseTo(trial.without.reversalsPerMinute, 6);
  });
});
