import { beforeAll, describe, expect, test } from "vitest";
import { type Answer, valueIn } from "../../../src/answer";
import { normalQuantile } from "../../../src/math/distributions";
import { firstPassage } from "../../../src/math/first-passage";
import { analysisOf } from "../../../src/pipeline/analysis";
import { type Choices, noChoices } from "../../../src/pipeline/choices";
import { type Answers, answersOf, createPipeline, type Pipeline, type Sources } from "../../../src/pipeline/index";
import { renderReport } from "../../../src/pipeline/report";
import { summaryLines } from "../../../src/pipeline/summary";
import { allFindings } from "../../../src/pipeline/words/all";
import type { Beside, Phrase } from "../../../src/pipeline/words/finding";
import { at } from "../../browser/analysis-of-example";
import { runExample } from "../example-run";

const value = <T>(a: Answer<T>): T => {
  const v = valueIn(a);
  if (v === null) throw new Error("the stage has no value");
  return v;
};

let sources: Sources;
let pipeline: Pipeline;
let plain: Answers;

beforeAll(() => {
  // Once is enough: under load the hook's ten seconds do not hold two whole runs.
  const run = runExample("moor-runner");
  sources = run.sources;
  plain = run.answers;
  pipeline = createPipeline(sources);
});

const choose = (part: Partial<Choices>): Answers => {
  pipeline.set({ ...sources, choices: { ...noChoices, ...part } });
  return answersOf(pipeline);
};
const besideOf = (answers: Answers, leaf: string): Beside | null =>
  allFindings(answers).find((l) => l.name === leaf)?.finding?.beside ?? null;
const figures = (phrases: Phrase[]) => phrases.filter((p) => typeof p !== "string");

/** Every row has a figure on either side, each at its path in the analysis. */
function published(answers: Answers, beside: Beside): void {
  const analysis = analysisOf(answers, sources.files.fills);
  for (const row of beside.rows)
    for (const q of [...figures(row.yours), ...figures(row.recommended)])
      if (q.path) expect(at(analysis, q.path), q.path).toBe(q.value);
}

describe("a choice beside its recommendation", () => {
  test("stands nowhere while nothing is chosen", () => {
    for (const leaf of allFindings(plain)) expect(leaf.finding?.beside ?? null, leaf.name).toBeNull();
  });

  test("end margins: what each hides and how often the digit flickers, the recommended side as it was without the choice", () => {
    const before = value(plain.ends);
    const answers = choose({ ends: { emptyMargin: 4 * before.empty.margin, fullMargin: null } });
    const ends = value(answers.ends);
    expect(ends.empty.overridden).toBe(true);
    expect(ends.empty.recommended).toEqual(before.empty.recommended);
    expect(ends.empty.recommended.hidden_L).toBe(before.empty.hidden_L);
    expect(ends.empty.recommended.flickersPerHour).toBe(before.empty.flickersPerHour);
    expect(ends.empty.hidden_L).toBeGreaterThan(2 * ends.empty.recommended.hidden_L);
    const beside = besideOf(answers, "ends")!;
    expect(beside.rows.map((r) => r.what)).toEqual(["Margin at empty", "Hidden at empty", "Flickers an hour at empty"]);
    published(answers, beside);
  });

  test("a margin of nothing hides nothing, and the other side stays what it is without the choice", () => {
    const before = value(plain.ends);
    const ends = value(choose({ ends: { emptyMargin: null, fullMargin: 0 } }).ends);
    expect(ends.full.hidden_L).toBe(0);
    expect(ends.full.recommended.hidden_L).toBeGreaterThan(0);
    expect(ends.full.recommended.flickersPerHour).toBe(before.full.flickersPerHour);
  });

  test("table: fewer rows are further off the curve, in litres", () => {
    const before = value(plain.table);
    const answers = choose({ table: { points: 3 } });
    const table = value(answers.table);
    expect(table.recommended).toEqual({
      points: before.rows.length,
      error_L: before.error_L,
      rms_L: before.rms_L,
    });
    expect(table.error_L).toBeGreaterThan(2 * table.recommended.error_L);
    published(answers, besideOf(answers, "table")!);
  });

  test("low fuel: where nothing is kept back but what the shaking gives of itself it is even money, the recommended point holds the stated risk", () => {
    const before = value(plain.lowFuel);
    const taken = before.parts
      .filter((p) => p.part !== "what is not known of the level")
      .reduce((s, p) => s + p.value_L, 0);
    const lag_L = before.parts.find((p) => p.part === "lag of the smoothing")!.value_L;
    const { early } = firstPassage(value(plain.trial).smoothedSd_L, lag_L);
    expect(early).toBeGreaterThan(0);
    // Without anything kept back for what is not known of the level, half of all tanks hold less (a symmetric error). The device takes whole litres:
    // between the one under that point and the one over it the deviate runs through nothing there.
    const point = taken - early;
    const deviate = (at_L: number) =>
      normalQuantile(value(choose({ lowFuel: { warnAtUsable_L: at_L } }).lowFuel).underReserveChance);
    const [under, over] = [deviate(Math.floor(point)), deviate(Math.ceil(point))];
    expect(under).toBeGreaterThan(0);
    expect(over).toBeLessThan(0);
    expect(Math.floor(point) + under / (under - over)).toBeCloseTo(point, 1);
    // What is told is of what is typed: a point between two steps is the upper one.
    const answers = choose({ lowFuel: { warnAtUsable_L: point } });
    const low = value(answers.lowFuel);
    expect(low.warnAtUsable_L).toBeCloseTo(Math.ceil(point), 9);
    expect(value(answers.settings).warning!.at).toBeCloseTo(Math.ceil(point), 9);
    expect(normalQuantile(low.underReserveChance)).toBeCloseTo(over, 9);
    expect(low.recommended.warnAtUsable_L).toBe(before.warnAtUsable_L);
    expect(low.recommended.underReserveChance).toBe(before.underReserveChance);
    expect(before.underReserveChance).toBeLessThanOrEqual(before.risk);
    expect(before.underReserveChance).toBeGreaterThan(0);
    published(answers, besideOf(answers, "low-fuel")!);
  });

  test("curve: a straight line is further off its steps than the recommended shape, and the distance is in its band", () => {
    const before = value(plain.curve);
    const answers = choose({ curve: { shape: "line", knots: null } });
    const curve = value(answers.curve);
    const r = curve.recommended!;
    expect(r.worst_L).toBeCloseTo(before.overall.worst_L, 9);
    expect(r.bandHalfWidth_L).toBeCloseTo(before.overall.bandHalfWidth_L, 9);
    const apart = curve.grid.map((g, i) => Math.abs(g.volume_L - before.grid[i]!.volume_L));
    expect(r.apart_L).toBeCloseTo(Math.max(...apart), 9);
    expect(curve.overall.worst_L).toBeGreaterThan(r.worst_L);
    expect(curve.overall.bandHalfWidth_L).toBeGreaterThan(r.apart_L);
    published(answers, besideOf(answers, "curve")!);
  });

  test("display: both settings with the steadiness, lag and error of each; page, report and command line say the same", () => {
    const answers = choose({ display: { timeConstant_s: 1, deadband_L: 0 } });
    const beside = besideOf(answers, "display")!;
    published(answers, beside);
    const d = value(answers.display);
    expect(d.reversalsPerMinute).toBeGreaterThan(d.recommended.reversalsPerMinute);
    const report = renderReport(answers, {
      files: sources.files.fills,
      choices: noChoices,
      notebook: null,
      issuedAt: null,
    });
    const lines = summaryLines(answers).join("\n").replaceAll("\u00a0", " ");
    for (const row of beside.rows)
      for (const q of [...figures(row.yours), ...figures(row.recommended)]) {
        expect(report).toContain(q.text);
        expect(lines).toContain(q.text.replaceAll("\u00a0", " "));
      }
    expect(report).toContain("chosen by hand");
  });
});
