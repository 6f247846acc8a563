import { readFileSync } from "node:fs";
import Ajv2020 from "ajv/dist/2020.js";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { groupOf, oneWay } from "../../src/math/anova";
import { createRandom } from "../../src/math/random";
import { analysisOf } from "../../src/pipeline/analysis";
import { noChoices } from "../../src/pipeline/choices";
import { findSteps } from "../../src/pipeline/fill-run";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { compareRuns, measuredHysteresis, type RunsTogether } from "../../src/pipeline/several-runs";
import { textOf } from "../../src/pipeline/words/all";
import { severalRunsPhrases, severalRunsWorking } from "../../src/pipeline/words/several-runs";
import { sourceFile } from "./example-run";
import { bent, drain, fileOf, fill, fillAndDrain, fills, job, type Row, runsOf, together, world } from "./runs-world";

describe("fill runs at equal volumes", () => {
  test("with exact pours and a straight sender it is the analysis of variance, runs as groups", () => {
    const w = { ...world, pourError_L: 0, between_L: 0.4, volts: (l: number) => 0.5 + 0.05 * l };
    const random = createRandom(3);
    const sheets = [0, 1, 2].map(() => fill(w, random).rows);
    const { value } = together(
      sheets.map((rows, r) => fileOf(rows, "fill", `f${r}.csv`)),
      { ...job(w), pour: { errorPerPour_L: 1e-9 } },
    );
    // By hand, in litres of the slope of the mean run: deviations from each level's mean, runs as groups.
    const read = sheets.map((rows) => rows.map(([, v]) => Number(v.toFixed(5))));
    const n = w.pours + 1;
    const mean = Array.from({ length: n }, (_, j) => (read[0]![j]! + read[1]![j]! + read[2]![j]!) / 3);
    const litres = (r: number, j: number) => {
      const [a, b] = [Math.max(0, j - 2), Math.min(n - 1, j + 2)];
      return (read[r]![j]! - mean[j]!) / ((mean[b]! - mean[a]!) / (5 * (b - a)));
    };
    const a = oneWay([0, 1, 2].map((r) => groupOf(mean.map((_, j) => litres(r, j)))));
    // A level's mean was taken off: 20 degrees of freedom are left within the runs and not 30.
    const repeat2 = a.within.squares / 20;
    expect(value!.repeatability_L).toBeCloseTo(Math.sqrt(repeat2), 4);
    expect(value!.betweenRuns_L).toBeCloseTo(Math.sqrt((a.between.meanSquare - repeat2) / n), 4);
    expect(value!.levels).toBe(n);
  });

  test.each([
    [2, 0.3],
    [4, 0.5],
    [3, 0],
  ])("%i runs, own offsets of %d L: both intervals hold in 95 of 100 jobs, pours and all", (count, between_L) => {
    const w = { ...world, between_L };
    const trials = 250;
    let repeat = 0;
    let between = 0;
    for (let seed = 1; seed <= trials; seed++) {
      const { value } = together(fills(w, createRandom(1000 * count + seed), count), job(w));
      if (value!.repeatabilityLower_L! <= w.reading_L && w.reading_L <= value!.repeatabilityUpper_L!) repeat++;
      if (value!.betweenRunsLower_L! <= between_L && between_L <= value!.betweenRunsUpper_L!) between++;
    }
    expect(repeat / trials).toBeGreaterThan(0.92);
    expect(between / trials).toBeGreaterThan(0.92);
    expect(repeat / trials).toBeLessThan(0.98);
    if (between_L > 0) expect(between / trials).toBeLessThan(0.98);
  });

  test("pours that are not told apart would pass for a spread of the sender", () => {
    const w = { ...world, pourError_L: 0.2, reading_L: 0.02 };
    let told = 0;
    let untold = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const files = fills(w, createRandom(seed), 3);
      told += together(files, job(w)).value!.repeatability_L! / 60;
      untold += together(files, { ...job(w), pour: { errorPerPour_L: 1e-6 } }).value!.repeatability_L! / 60;
    }
    expect(told).toBeLessThan(0.06);
    expect(untold).toBeGreaterThan(0.15);
  });

  test("runs poured in other steps are compared between their steps", () => {
    const coarse = { ...world, pour_L: 10, pours: 5, reading_L: 0.05 };
    let sum = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const random = createRandom(seed);
      const files = [
        fileOf(fill({ ...world, reading_L: 0.05 }, random).rows, "fill", "a.csv"),
        fileOf(fill(coarse, random).rows, "fill", "b.csv"),
      ];
      sum += together(files, job(world)).value!.repeatability_L! ** 2 / 40;
    }
    expect(Math.sqrt(sum)).toBeGreaterThan(0.035);
    expect(Math.sqrt(sum)).toBeLessThan(0.07);
  });
});

describe("loop between rising and falling level", () => {
  test.each([
    ["two millivolts of noise and pours of 0.05 L", {}, 1],
    ["pours that outweigh the readings", { pourError_L: 0.2, reading_L: 0.03 }, 1],
    ["readings that outweigh the pours", { pourError_L: 0.01, reading_L: 0.25 }, 1],
    ["two drain runs from one full mark", {}, 2],
    ["a loop that grows with the level", { loop: (l: number) => 0.3 + 0.02 * l }, 1],
    ["a reading that falls with the level", { volts: (l: number) => 4.5 - bent(l) }, 1],
  ])("%s: the interval of the mean holds in 95 of 100 jobs", (_, change, drains) => {
    const w = { ...world, loop: () => 0.8, ...change };
    const levels = Array.from({ length: w.pours - 1 }, (__, k) => (k + 1) * w.pour_L);
    const truth = -levels.reduce((s, v) => s + w.loop(v), 0) / levels.length;
    const trials = 250;
    let held = 0;
    let sum = 0;
    for (let seed = 1; seed <= trials; seed++) {
      const { value } = together(fillAndDrain(w, createRandom(seed), drains), job(w));
      if (value!.hysteresisLower_L! <= truth && truth <= value!.hysteresisUpper_L!) held++;
      sum += value!.hysteresis_L! / trials;
    }
    expect(held / trials).toBeGreaterThan(0.92);
    expect(held / trials).toBeLessThan(0.985);
    expect(Math.abs(sum - truth)).toBeLessThan(0.06);
  });

  test("without the shared pours in it the interval would be far too narrow", () => {
    const w = { ...world, pourError_L: 0.2, reading_L: 0.03, loop: () => 0.8 };
    let held = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const { value } = together(fillAndDrain(w, createRandom(seed)), { ...job(w), pour: { errorPerPour_L: 1e-6 } });
      if (value!.hysteresisLower_L! <= -0.8 && -0.8 <= value!.hysteresisUpper_L!) held++;
    }
    expect(held / 200).toBeLessThan(0.8);
  });

  test("what the service day takes over: a bias that follows the level, held beyond the levels, and 95 of 100 at each volume", () => {
    const w = { ...world, reading_L: 0.08, loop: (l: number) => 0.2 + 0.03 * l };
    const volumes = [2, 10, 25, 40, 49];
    const held = volumes.map(() => 0);
    const trials = 300;
    for (let seed = 1; seed <= trials; seed++) {
      const m = measuredHysteresis(runsOf(fillAndDrain(w, createRandom(seed)), job(w)), volumes)!;
      volumes.forEach((v, i) => {
        const inside = Math.min(45, Math.max(5, v));
        if (Math.abs(m.bias[i]! + w.loop(inside)) <= 1.96 * m.standard[i]!) held[i]!++;
      });
      expect(m.bias[0]).toBeCloseTo(
        measuredHysteresis(runsOf(fillAndDrain(w, createRandom(seed)), job(w)), [5])!.bias[0]!,
        1,
      );
    }
    for (const h of held) {
      expect(h / trials).toBeGreaterThan(0.91);
      expect(h / trials).toBeLessThan(0.99);
    }
    expect(measuredHysteresis(runsOf(fills(w, createRandom(1), 2), job(w)), volumes)).toBeNull();
  });

  test("the fill run's own field is the same loop at equal reading: its sign is turned", () => {
    const w = { ...world, loop: () => 0.8 };
    const files = fillAndDrain(w, createRandom(4));
    expect(runsOf(files, job(w)).hysteresis_L!.mean_L).toBeCloseTo(-together(files, job(w)).value!.hysteresis_L!, 12);
  });

  test("a loop of the wrong sign is said", () => {
    const w = { ...world, loop: () => -1.5 };
    expect(together(fillAndDrain(w, createRandom(2)), job(w)).codes).toContain("several-runs/loop-turned");
    expect(together(fillAndDrain({ ...w, loop: () => 1.5 }, createRandom(2)), job(w)).codes).toEqual([]);
  });
});

describe("closure", () => {
  test.each([
    ["readings that hardly err", 0.005],
    ["readings that err twice as much as a pour", 0.1],
  ])("%s: poured less drained closes within its limit in 95 of 100 jobs", (_, reading_L) => {
    const w = { ...world, reading_L, loop: () => 0.5 };
    let within = 0;
    const trials = 300;
    for (let seed = 1; seed <= trials; seed++) {
      const { value, codes } = together(fillAndDrain(w, createRandom(seed)), job(w));
      const inside = Math.abs(value!.closure_L!) <= value!.closureLimit_L!;
      expect(codes.includes("several-runs/does-not-close")).toBe(!inside);
      // Equal sheets close by themselves: only the reading tells what was really poured and drawn.
      expect(value!.closureWritten_L).toBeCloseTo(0, 9);
      expect(value!.closureLimit_L).toBeCloseTo(1.959964 * value!.closureStandard_L!, 6);
      expect(value!.closureStandard_L).toBeGreaterThanOrEqual(0.05 * Math.sqrt(20));
      if (reading_L < 0.01) expect(value!.closureStandard_L).toBeLessThan(0.05 * Math.sqrt(20) * 1.2);
      if (inside) within++;
    }
    expect(within / trials).toBeGreaterThan(0.925);
    expect(within / trials).toBeLessThan(0.98);
  });

  test("litres that the pours cannot explain do not close, and the caution says by how much", () => {
    const w = { ...world, pourError_L: 0.03, reading_L: 0.02 };
    const random = createRandom(8);
    const first = fill(w, random);
    // Written as 5 L, poured as 5.3 L: each pour of the fill run.
    const rows = first.rows.map(([v, r], k): Row => [k === 0 ? 0 : v - 0.3, r]);
    const files = [fileOf(rows, "fill", "fill.csv"), fileOf(drain(w, random, first.contents_L), "drain", "drain.csv")];
    const { value, codes } = together(files, job(w));
    expect(value!.closureWritten_L).toBeCloseTo(-3, 9);
    expect(Math.abs(value!.closure_L! + 3)).toBeLessThan(0.4);
    expect(codes).toContain("several-runs/does-not-close");
  });

  test("a stop at the empty end hides where both ended: nothing is said", () => {
    const w = { ...world, volts: (l: number) => bent(Math.max(11, l)) };
    expect(together(fillAndDrain(w, createRandom(3)), job(w)).value!.closure_L).toBeNull();
  });

  test("a drain run that stops on the way says nothing about closure", () => {
    const random = createRandom(9);
    const first = fill(world, random);
    const files = [
      fileOf(first.rows, "fill", "fill.csv"),
      fileOf(drain(world, random, first.contents_L, 7), "drain", "drain.csv"),
    ];
    const { value } = together(files, job(world));
    expect(value!.closure_L).toBeNull();
    expect(value!.hysteresis_L).not.toBeNull();
  });
});

test("any runs that the fill-run leaf takes: figures are finite, and each lies inside its interval", () => {
  const reading = fc.oneof(fc.constantFrom(0.5, 0.5, 1, 2, 3), fc.double({ min: 0, max: 5, noNaN: true }));
  const rows = fc.array(fc.tuple(fc.constantFrom(1, 5, 5, 7.5), reading), { minLength: 1, maxLength: 9 });
  let compared = 0;
  fc.assert(
    fc.property(
      fc.array(rows, { minLength: 1, maxLength: 3 }),
      fc.array(rows, { maxLength: 2 }),
      fc.boolean(),
      fc.boolean(),
      (up, down, sorted, total) => {
        const order = (list: Row[], sense: number) =>
          list.map(
            ([v], k): Row => [
              k === 0 ? 0 : v,
              (sorted ? list.map(([, r]) => r).sort((a, b) => sense * (a - b)) : list.map(([, r]) => r))[k]!,
            ],
          );
        const files = [
          ...up.map((r, k) => fileOf(order(r, 1), "fill", `f${k}.csv`)),
          ...down.map((r, k) => fileOf(order(r, -1), "drain", `d${k}.csv`)),
        ];
        const resolved = resolveJob({
          fill: { enteredAs: "added" },
          pour: { errorPerPour_L: 0.05, runningTotal: total },
        });
        if (resolved.state !== "ready") throw new Error("the job should resolve");
        const read = files.map((f) => readRecording(f, null));
        const found = findSteps(
          read.flatMap((r) => (r.state === "ready" ? [r.value] : [])),
          resolved.value,
        );
        if (found.state !== "ready" || read.some((r) => r.state !== "ready")) return;
        const answer = compareRuns(found.value, null);
        if (answer.state !== "ready") throw new Error("never stuck");
        const t = answer.value;
        if (!t) return;
        compared++;
        for (const v of Object.values(t).flat())
          if (typeof v === "number") expect(Number.isFinite(v)).toBe(true);
          else if (v !== null) for (const w of Object.values(v)) expect(Number.isFinite(w)).toBe(true);
        const inside = (low: number | null, value: number | null, high: number | null) => {
          if (value !== null) expect(low! <= value + 1e-9 && value <= high! + 1e-9).toBe(true);
        };
        inside(t.repeatabilityLower_L, t.repeatability_L, t.repeatabilityUpper_L);
        inside(t.betweenRunsLower_L, t.betweenRuns_L, t.betweenRunsUpper_L);
        inside(t.hysteresisLower_L, t.hysteresis_L, t.hysteresisUpper_L);
      },
    ),
    // Most of such runs cannot be of one tank, and are told so instead of compared.
    { seed: 61, numRuns: 2000 },
  );
  expect(compared).toBeGreaterThan(60);
});

describe("in the pipeline", () => {
  const analysed = (files: SourceFile[], input: JobInput) => {
    const answers = answersOf(
      createPipeline({ job: input, files: { fills: files, drives: [] }, readings: {}, choices: noChoices }),
    );
    return { answers, analysis: analysisOf(answers, files) };
  };
  const w = { ...world, between_L: 0.2, loop: () => 0.8 };
  const random = createRandom(21);
  const several = [...fillAndDrain(w, random), ...fills(w, random, 1)];

  test("a single run: no block, and nothing said about it", () => {
    const { analysis } = analysed(several.slice(0, 1), job(w));
    expect("fillRunsTogether" in analysis).toBe(false);
    expect((analysis.notComputed as { what: string }[]).map((n) => n.what)).not.toContain("fillRunsTogether");
    expect(severalRunsPhrases(null)).toEqual([]);
    expect(severalRunsWorking(null)).toEqual([]);
  });

  test("fill, drain and fill again: the block is published, valid, and the words name its figures", () => {
    const { analysis, answers } = analysed(several, job(w));
    const schema = JSON.parse(
      readFileSync(new URL("../../src/pipeline/analysis.schema.json", import.meta.url), "utf8"),
    ) as object;
    const validate = new Ajv2020({ allErrors: true }).compile(schema);
    expect(validate(JSON.parse(JSON.stringify(analysis))), JSON.stringify(validate.errors?.slice(0, 3))).toBe(true);
    const block = analysis.fillRunsTogether as Record<string, number>;
    expect(block.fillRuns).toBe(2);
    expect(block.drainRuns).toBe(1);
    expect(block.hysteresis_L).toBeLessThan(-0.5);
    const told = answers.severalRuns.state === "ready" ? answers.severalRuns.value : null;
    const phrases = [...severalRunsPhrases(told), ...severalRunsWorking(told).flatMap((l) => l.figures)];
    const figures = phrases.flatMap((p) => (typeof p === "string" || p.path === null ? [] : [p]));
    expect(figures.length).toBeGreaterThan(10);
    for (const figure of figures) {
      const at = figure
        .path!.split(".")
        .reduce<unknown>((node, key) => (node as Record<string, unknown>)[key], analysis);
      expect(at, figure.path!).toBe(figure.value);
    }
    expect(textOf(severalRunsPhrases(told))).toMatch(/2 fill runs differ as a whole by .* shows more on the way down/);
  });

  test("a step that was set aside is left out of the loop", () => {
    const files = fillAndDrain(w, createRandom(30));
    const text = new TextDecoder().decode(files[0]!.bytes).split("\n");
    text[6] = "5,3.9";
    const wrong = sourceFile("fill.csv", "fill", new TextEncoder().encode(text.join("\n")));
    const with_ = analysed([wrong, files[1]!], job(w)).analysis.fillRunsTogether as Record<string, number>;
    const clean = analysed(files, job(w)).analysis.fillRunsTogether as Record<string, number>;
    expect(Math.abs(with_.hysteresis_L! - clean.hysteresis_L!)).toBeLessThan(0.15);
  });
});

test("runs that agree are told with the most that they may differ by, and never with a limit of nothing", () => {
  const of = (betweenRuns_L: number, betweenRunsUpper_L: number) =>
    severalRunsPhrases({
      fillRuns: 2,
      drainRuns: 0,
      repeatability_L: 0.04,
      repeatabilityLower_L: 0.02,
      repeatabilityUpper_L: 0.08,
      betweenRuns_L,
      betweenRunsLower_L: 0,
      betweenRunsUpper_L,
      hysteresis_L: null,
      closure_L: null,
      unusable_L: null,
    } as unknown as RunsTogether)
      .map((p) => textOf([p]))
      .join("");
  expect(of(0, 0.41)).toMatch(/by no more than their pours explain; a spread of their own is at most 0.41.L/);
  expect(of(0, 0)).toMatch(/agree as a whole more closely than their pours let expect.*cannot be told from them/);
  expect(of(0, 0)).not.toContain("0 L to");
  expect(of(0.3, 9)).toMatch(/differ as a whole by 0.30.L \(standard deviation, 95 %: 0.L to 9.0.L/);
});
