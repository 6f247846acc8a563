import { describe, expect, it } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import { leavesAndReturns } from "../../src/pipeline/device-counts";
import { noFeatures } from "../../src/pipeline/device-features";
import { type Carried, carriedFlickers } from "../../src/pipeline/end-replay";
import { unusableOffset_L } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { endsFinding } from "../../src/pipeline/words/ends";
import { published } from "../../src/said";
import { runPipeline } from "../promises/pipeline-run";
import { countFlickers } from "../promises/score";
import { runExample, sheet } from "./example-run";

const world = makeJob(443);
const run = runPipeline(world);
const ends = valueIn(run.answers.ends)!;
const curve = valueIn(run.answers.curve)!;
const table = valueIn(run.answers.table)!;

describe("setEnds", () => {
  it("both ends lie inside the sender's travel, on the device's reading step", () => {
    const step = world.job.device!.tableReadingStep!;
    const { emptyReading, fullReading } = curve.overall;
    for (const end of [ends.empty, ends.full]) {
      expect(Math.min(emptyReading, fullReading)).toBeLessThanOrEqual(end.reading);
      expect(end.reading).toBeLessThanOrEqual(Math.max(emptyReading, fullReading));
      expect(Math.abs(end.reading / step - Math.round(end.reading / step))).toBeLessThan(1e-6);
    }
  });

  it("the typed table starts and ends on what the ends show, and meets the curve where it is said to", () => {
    const rows = [...table.rows].sort((a, b) => a.volume_L - b.volume_L);
    expect(rows[0]!.volume_L).toBeCloseTo(ends.empty.shows_L, 1);
    expect(rows[rows.length - 1]!.volume_L).toBeCloseTo(ends.full.shows_L, 0);
    const steepness = Math.abs(
      (volumeAt(curve, ends.empty.meets) - ends.empty.shows_L) /
        (volumeAt(curve, ends.empty.meets) - volumeAt(curve, ends.empty.reading)),
    );
    // A jump at the end would let noise flicker through half a displayed step and the deadband.
    expect(steepness).toBeLessThan(1.5);
  });

  it("full shows what its own reading means, within half a displayed step: the table is not steeper there than it must be", () => {
    const { displayStep } = world.job.device!;
    expect(Math.abs(ends.full.shows_L - volumeAt(curve, ends.full.reading))).toBeLessThanOrEqual(
      0.5 * displayStep! + 1e-9,
    );
  });

  it("hidden litres are usable ones: never more than lie between the pick-up and the reading that shows 0", () => {
    const over_L = volumeAt(curve, ends.empty.reading) - unusableOffset_L(valueIn(run.answers.job)!).offset_L;
    expect(ends.empty.hidden_L).toBeLessThanOrEqual(Math.max(0, over_L) + 1e-9);
  });

  it("days on which 0 may come late are a choice: fewer of them hide more", () => {
    // A job whose empty end is decided by the dry pick-up, not by noise.
    const drained = makeJob(59);
    const at = (lateZeroRisk: number) =>
      valueIn(
        runPipeline({ ...drained, job: { ...drained.job, targets: { ...drained.job.targets, lateZeroRisk } } }).answers
          .ends,
      )!.empty;
    const [rare, often] = [at(0.02), at(0.35)];
    expect(rare.hidden_L).toBeGreaterThan(often.hidden_L);
    expect(rare.zeroInTime!).toBeGreaterThan(often.zeroInTime!);
    expect(ends.full.zeroInTime).toBeNull();
  });

  it("much hidden is said with its reason, and only where it is much", () => {
    const said = (seed: number) => {
      const { answers } = runPipeline(makeJob(seed));
      const answer = answers.ends;
      const value = valueIn(answer)!;
      const much = [value.empty, value.full].some(
        (e) => e.hidden_L > 0.025 * Math.max(...valueIn(answers.curve)!.grid.map((g) => g.volume_L)),
      );
      const caution = answer.state === "ready" && answer.cautions.find((c) => c.code === "ends/much-hidden");
      return { much, caution: caution ? published(caution.says) : "" };
    };
    expect(said(21)).toMatchObject({
      much: true,
      caution: expect.stringMatching(/of the run’s volume, is hidden: most of it for/),
    });
    expect(said(443)).toEqual({ much: false, caution: "" });
  });

  it("on a ladder noise takes no level for itself that its carried motion does not need", () => {
    const ladder = runPipeline(makeJob(49)).answers;
    const { empty } = valueIn(ladder.ends)!;
    const { sense } = valueIn(ladder.curve)!;
    const levels = valueIn(ladder.fillRun)!.fixedSteps!.levels;
    const second = sense > 0 ? levels[1]! : levels[levels.length - 2]!;
    expect((second - empty.reading) * sense).toBeGreaterThan(0);
    expect(empty.hidden_L).toBe(0);
    expect(empty.carried!).toBeLessThanOrEqual(0.3);
  });

  it("a sender whose end reads like a short says so, and only then", () => {
    const alike = valueIn(runPipeline(makeJob(403)).answers.ends)!;
    expect([alike.empty.looksLike, alike.full.looksLike]).toContain("short");
    expect([ends.empty.looksLike, ends.full.looksLike]).toEqual([null, null]);
  });
});

describe("leavesAndReturns", () => {
  const shown = Float64Array.of(0, 0, 1, 0, 1, 1, 2, 0, 0, 1);
  it("counts as the harness does, by its own code", () => {
    expect(leavesAndReturns(shown, 0).flickers).toBe(2);
    expect(leavesAndReturns(shown, 0).flickers).toBe(countFlickers(shown, 0));
    expect(leavesAndReturns(shown, 0).samples).toBe(5);
  });
});

describe("carriedFlickers", () => {
  const table = [
    { reading: 0, volume_L: 0 },
    { reading: 10, volume_L: 10 },
  ];
  // One volt is one litre; the readings go over half a displayed step four times and come back each time.
  const filtered = Float64Array.from({ length: 80 }, (_, i) => (i % 20 < 10 ? 0.1 : 0.7));
  const carried: Carried = {
    before: [{ interval_s: 0.1, reading: filtered, following: null }],
    setting: { order: "reading-then-table", timeConstant_s: 5, features: noFeatures },
    hours: 1,
  };
  const shown = { step_L: 1, offset_L: 0 };
  it("three returns in the hour without a deadband, none with one that is wider than the motion", () => {
    expect(carriedFlickers(carried, table, 0, 0, shown)).toBe(3);
    expect(carriedFlickers(carried, table, 0, 0.35, shown)).toBe(0);
  });
});

it("a reading step as coarse as the sender's travel is told as that, not as margins that are too wide", () => {
  const { ends } = runExample("moor-runner", (s) => ({
    ...s,
    files: { ...s.files, drives: [] },
    job: { ...s.job, device: { ...s.job.device, tableReadingStep: 5 } },
  })).answers;
  expect(ends.state === "stuck" && ends.issue.code).toBe("ends/coarse-readings");
  expect(ends.state === "stuck" && published(ends.issue.says)).toContain("in steps of 5 V");
});

describe("a sender that stands on its stop over the pick-up", () => {
  // 60 L in a straight tank, 0.04 V a litre; the float lies on its stop up to 5 L.
  const rows = Array.from({ length: 21 }, (_, k): [number, number] => [
    k === 0 ? 0 : 3,
    Number((0.3 + 0.04 * Math.max(5, 3 * k)).toFixed(3)),
  ]);
  const sentenceWith = (unusable_L: number) => {
    const { answers } = runExample("moor-runner", (s) => ({
      ...s,
      job: {
        tank: { capacity_L: 60, unusable_L, unusableLimit_L: 0.3 },
        fill: { enteredAs: "added", startedFrom: "drained" },
        readingUnit: "V",
        volumeUnit: "L",
      },
      files: { fills: [sheet("added_L,sender_V", rows)], drives: [] },
    }));
    const ends = valueIn(answers.ends)!;
    return { ends, says: textOf(endsFinding(ends, "V", valueIn(answers.job)!).sentence) };
  };
  it("tells the usable litres under the stop beside what the margin hides", () => {
    const { ends, says } = sentenceWith(1);
    expect(ends.underStop_L).toBeGreaterThan(3.5);
    expect(ends.underStop_L).toBeLessThan(4.5);
    expect(says).toMatch(
      /of usable fuel at the bottom, over another [34]\.\d\sL that lie under the sender’s own stop, and/,
    );
  });
  it("has nothing to tell where the pick-up runs dry above the stop", () => {
    const { ends, says } = sentenceWith(8);
    expect(ends.underStop_L).toBeUndefined();
    expect(says).not.toContain("own stop");
  });
});
