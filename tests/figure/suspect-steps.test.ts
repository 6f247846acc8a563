import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure, PointSeries } from "../../src/figure/figure";
import { curveFigure } from "../../src/pipeline/figures/curve";
import { suspectStepsFigure } from "../../src/pipeline/figures/suspect-steps";
import type { SuspectSteps } from "../../src/pipeline/suspect-steps";
import { textOf } from "../../src/pipeline/words/all";
import { suspectStepsFinding } from "../../src/pipeline/words/suspect-steps";
import { type exampleNames, runExample } from "../pipeline/example-run";

function figureOf(name: (typeof exampleNames)[number]) {
  const { answers } = runExample(name);
  const figure = suspectStepsFigure(valueIn(answers.suspectSteps)!, valueIn(answers.curve)!)!;
  const points = (role: string) =>
    figure.panels[0]!.series.filter((s): s is PointSeries => s.kind === "points" && s.role === role);
  const at = (role: string, step: number) =>
    points(role).flatMap((s) => s.x.flatMap((x, i) => (x === step ? [s.y[i]!] : [])))[0];
  return { figure, at };
}

describe("the figure of odd steps", () => {
  test("both pours at a wrong reading are told apart from those that count, and across it they are as written", () => {
    const { figure, at } = figureOf("fen-skiff");
    // The reading of step 10 is the slip in this example: it stretches pour 10 and leaves nothing for pour 11.
    for (const step of [10, 11]) {
      expect(at("set-aside", step), `pour ${step} through the wrong reading`).toBeDefined();
      expect(at("accepted", step), `pour ${step} without it`).toBeCloseTo(3, 0);
    }
    expect(at("set-aside", 11)).toBeCloseTo(0, 1);
    expect(figure.finding).toMatch(
      /Pours 10 and 11 are split wrongly by the reading of step 10; together they are as written/,
    );
    expect(figure.finding).toMatch(/^Pour 6 moved the reading by [56]\.\d\sL where the sheet says 3\.0\sL\./);
    expect(at("suspect", 6)).toBeGreaterThan(5);
  });

  test("a pour that runs into the stop is no pour as written, and widens no bar", () => {
    const { figure, at } = figureOf("moor-runner");
    expect(at("accepted", 16)).toBeUndefined();
    expect(at("plain", 16)).toBeLessThan(3);
    const half = figure.table.rows[0]![3] as number;
    expect(half).toBeGreaterThan(0.01);
    expect(half).toBeLessThan(0.3);
  });

  test("about 95 of 100 pours of the examples, faults apart, lie as near to the sheet as the bars say", () => {
    const rows = (["moor-runner", "peat-hauler", "fen-skiff"] as const).flatMap((name) => {
      const { figure } = figureOf(name);
      const accepted = figure.panels[0]!.series.find(
        (s): s is PointSeries => s.kind === "points" && s.role === "accepted",
      )!;
      const sheet = figure.panels[0]!.series.find(
        (s): s is PointSeries => s.kind === "points" && s.role === "written",
      )!;
      return accepted.x.map(
        (x, i) => Math.abs(accepted.y[i]! - sheet.y[sheet.x.indexOf(x)]!) <= accepted.upper![i]! - accepted.y[i]!,
      );
    });
    const share = rows.filter(Boolean).length / rows.length;
    expect(share).toBeGreaterThan(0.85);
  });

  test("a faint doubt is called left as written in figure, key and words, and never on trial", () => {
    const { answers } = runExample("fen-skiff");
    const curve = valueIn(answers.curve)!;
    const found = valueIn(answers.suspectSteps)!;
    // The same doubts, too faint to be acted on: nothing is set aside or put in.
    const faint: SuspectSteps = {
      ...found,
      notConfirmed: 0,
      runs: found.runs.map((r) => ({
        ...r,
        events: r.events.map((e) => ({ ...e, treatment: "left" as const })),
        steps: r.steps.map((s) => ({ ...s, accepted: s.atStop === null, decidedBy: null })),
      })),
    };
    const words = (figure: Figure) => [
      figure.finding,
      ...figure.key.map((k) => k.text),
      ...figure.panels.flatMap((p) => [
        ...p.series.filter((s) => s.kind !== "points" || s.x.length > 0).map((s) => s.name),
        ...p.marks.map((m) => m.text),
      ]),
    ];
    for (const draw of [suspectStepsFigure(faint, curve)!, curveFigure(curve, faint)]) {
      const said = words(draw).join("\n");
      expect(said).toContain("in doubt, left as written");
      expect(said).not.toMatch(/on trial|set aside/);
    }
    const finding = suspectStepsFinding(faint);
    expect(textOf(finding.sentence)).toContain("left as written until you have looked");
    expect(finding.caution).toMatch(/^Nothing was changed/);
    // As it was found, one pour is put in and one reading set aside: the first is on trial, the second crossed out everywhere.
    const before = words(curveFigure(curve, found)).join("\n");
    expect(before).toContain("on trial");
    expect(before).toContain("set aside");
    expect(before).not.toContain("left as written");
  });
});
