/** The figure of the fill run marks each step as the other figures do: what is in doubt is never drawn as plainly used. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure, PointSeries } from "../../src/figure/figure";
import { nearOf } from "../../src/figure/near";
import { keyShape } from "../../src/figure/shapes";
import { drawFigure } from "../../src/figure/svg";
import { fillRunFigure } from "../../src/pipeline/figures/fill-run";
import type { SuspectSteps } from "../../src/pipeline/suspect-steps";
import { complaintNames, exampleNames, runExample, sheet } from "../pipeline/example-run";

const stepsOf = (figure: Figure, role: PointSeries["role"]): string[] =>
  figure.panels[0]!.series.filter((s): s is PointSeries => s.kind === "points" && s.role === role)
    .flatMap((s) => s.labels ?? [])
    .map(String);
const keyOf = (figure: Figure, role: string) => figure.key.find((k) => k.role === role)?.text;

/** A sheet of twelve pours of 3 L whose sender reads 0.2 V a litre of ten, with one pour that held more than is written. */
const typed = (atFive: number) =>
  sheet(
    "volume L,reading V",
    Array.from({ length: 13 }, (_, k): [number, number] => [
      3 * k,
      Number((0.5 + 0.1 * k + (k >= 5 ? atFive : 0) + 0.002 * ((k * 7) % 3)).toFixed(3)),
    ]),
  );

function typedFigure(atFive: number, choices: Record<string, { treat: "keep"; reason: string }> = {}) {
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    files: { fills: [typed(atFive)], drives: [] },
    choices: { ...s.choices, steps: choices },
  }));
  const suspects = valueIn(answers.suspectSteps)!;
  return { suspects, fill: valueIn(answers.fillRun)! };
}

describe("the figure of several typed runs", () => {
  const rows = (shift: number) =>
    Array.from({ length: 13 }, (_, k): [number, number] => [
      3 * k,
      Number((0.5 + 0.1 * k + shift + 0.002 * ((k * 7) % 3)).toFixed(3)),
    ]);
  const named = (name: string, shift: number) => ({ ...sheet("volume L,reading V", rows(shift)), name, sha256: name });
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    files: { fills: [named("monday.csv", 0), named("tuesday.csv", 0.01)], drives: [] },
  }));
  const figure = fillRunFigure(valueIn(answers.fillRun)!, valueIn(answers.suspectSteps)!);

  test("draws a line through the steps of each further run, named by its file, and tells them in the table", () => {
    const lines = figure.panels[0]!.series.filter((s) => s.kind === "line");
    expect(lines.map((l) => [l.name, l.x.length])).toEqual([["tuesday.csv", 13]]);
    expect(lines[0]!.y[5]! - rows(0)[5]![1]).toBeCloseTo(0.01, 9);
    expect(keyOf(figure, "other")).toBe("tuesday.csv");
    expect(figure.table.columns[0]).toBe("file");
    expect(figure.table.rows.map((r) => r[0])).toEqual([
      ...rows(0).map(() => "monday.csv"),
      ...rows(0).map(() => "tuesday.csv"),
    ]);
    expect(new Set(figure.table.rows.map((r) => r.length))).toEqual(new Set([figure.table.columns.length]));
  });

  test("each further run has a stroke of its own, drawn, in the key and in the near figure; where strokes come again the key joins their files", () => {
    const files = ["b", "c", "d", "e", "f"].map((f) => `${f}.csv`);
    const { answers: many } = runExample("moor-runner", (s) => ({
      ...s,
      files: { fills: ["a.csv", ...files].map((f, k) => named(f, 0.004 * k)), drives: [] },
    }));
    const several = fillRunFigure(valueIn(many.fillRun)!, valueIn(many.suspectSteps)!);
    const key = several.key.filter((k) => k.role === "other");
    expect(key.map((k) => k.text)).toEqual(["b.csv; f.csv", "c.csv", "d.csv", "e.csv"]);
    const strokeIn = (svg: string) => /class="(other o\d)"/.exec(svg)![1];
    const drawn = [...drawFigure(several, { width: 640 }).matchAll(/class="(other o\d)"/g)].map((m) => m[1]);
    expect(drawn).toEqual(["other o0", "other o1", "other o2", "other o3", "other o0"]);
    expect(key.map((k) => strokeIn(keyShape(k.role, k.nth)))).toEqual(drawn.slice(0, 4));
    const near = nearOf(several, (role) => role, "serif").traces.filter((t) => files.includes(t.name as string));
    const dashes = near.map((t) => (t.line as { dash: string }).dash);
    expect(new Set(dashes.slice(0, 4)).size).toBe(4);
    expect(dashes[4]).toBe(dashes[0]);
  });
});

describe("the figure of a typed fill run", () => {
  const { suspects, fill } = typedFigure(0.1);
  const event = suspects.runs[0]!.events[0]!;

  test("a pour that was put right by rule is a diamond on trial, not a disc", () => {
    expect(event).toMatchObject({ step: 5, treatment: "put-in" });
    const figure = fillRunFigure(fill, suspects);
    expect(stepsOf(figure, "suspect")).toEqual(["5"]);
    expect(keyOf(figure, "suspect")).toBe("on trial");
    const used = figure.panels[0]!.series.find((s) => s.kind === "points" && s.role === "accepted") as PointSeries;
    expect(used.x).not.toContain(15);
    expect(figure.table.rows[5]!.at(-1)).toBe("on trial");
    expect(drawFigure(figure, { width: 640 })).toContain('class="suspect"');
  });

  test("a step that is in doubt and left as written is a diamond too, under its own name", () => {
    const left: SuspectSteps = {
      ...suspects,
      runs: suspects.runs.map((r) => ({
        ...r,
        events: r.events.map((e) => ({ ...e, treatment: "left" as const })),
        steps: r.steps.map((s) => (s.index === event.step ? { ...s, decidedBy: null } : s)),
      })),
    };
    const figure = fillRunFigure(fill, left);
    expect(stepsOf(figure, "suspect")).toEqual(["5"]);
    expect(keyOf(figure, "suspect")).toBe("in doubt, left as written");
  });

  test("once the technician has decided that it stays, it is a disc", () => {
    const decided = typedFigure(0.1, { "0:5": { treat: "keep", reason: "looked at the receipt" } });
    const figure = fillRunFigure(decided.fill, decided.suspects);
    expect(stepsOf(figure, "suspect")).not.toContain("5");
    expect(figure.table.rows[5]!.at(-1)).toBe("used");
  });
});

test.each([...exampleNames, ...complaintNames])("every step in doubt or set aside bears its mark, %s", (name) => {
  const { answers } = runExample(name);
  const fill = valueIn(answers.fillRun);
  if (!fill) return expect(name).toMatch(/reed-punt|heath-dasher/);
  const suspects = valueIn(answers.suspectSteps)!;
  const figure = fillRunFigure(fill, suspects);
  const marked = (role: PointSeries["role"]) =>
    figure.panels[0]!.series.reduce((n, s) => n + (s.kind === "points" && s.role === role ? s.x.length : 0), 0);
  const open = suspects.runs[0]!.events.filter((e) => e.treatment !== "set-aside");
  expect(marked("suspect")).toBe(open.length);
  expect(marked("set-aside")).toBe(
    suspects.runs[0]!.steps.filter((s) => !s.accepted && (!fill.runs[0]!.trace || s.from_s !== null)).length,
  );
});
