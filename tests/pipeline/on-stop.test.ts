/** An end step on the sender's stop: every figure and sentence says the same of it, with its chance. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure } from "../../src/figure/figure";
import { curveFigure } from "../../src/pipeline/figures/curve";
import { suspectStepsFigure } from "../../src/pipeline/figures/suspect-steps";
import { stepsOnStop } from "../../src/pipeline/on-stop";
import { textOf } from "../../src/pipeline/words/all";
import { fillRunFinding } from "../../src/pipeline/words/fill-run";
import { allSaid } from "../../src/pipeline/words/finding";
import { suspectStepsFinding } from "../../src/pipeline/words/suspect-steps";
import { exampleNames, runExample } from "./example-run";

const ofRole = (figure: Figure, panel: number, role: string) =>
  figure.panels[panel]!.series.flatMap((s) => (s.kind === "points" && s.role === role ? s.x : []));

describe.each([...exampleNames, "fell-carrier" as const])("%s", (name) => {
  const { answers } = runExample(name);
  const suspects = valueIn(answers.suspectSteps)!;
  const run = suspects.runs[0]!;
  const on = stepsOnStop(run);

  test("the chance is that of the states that leave the step out", () => {
    for (const { step, chance } of on) {
      const counts = run.states
        .filter((s) => s.points.some((p) => p.step.index === step.index))
        .reduce((sum, s) => sum + s.chance, 0);
      expect(chance + counts).toBeCloseTo(1, 9);
      expect(chance).toBeGreaterThan(0.5);
    }
  });

  test("figures and sentences name the same steps", () => {
    const curve = curveFigure(valueIn(answers.curve)!, suspects);
    const readings = on.map((o) => o.step.reading);
    for (const panel of [0, 1]) {
      expect(ofRole(curve, panel, "plain")).toEqual(readings);
      for (const reading of readings) expect(ofRole(curve, panel, "accepted")).not.toContain(reading);
    }
    expect(curve.key.some((k) => k.role === "plain")).toBe(on.length > 0);
    const said = textOf(allSaid(suspectStepsFinding(suspects)));
    const filled = textOf(fillRunFinding(valueIn(answers.fillRun)!, suspects).sentence);
    for (const { step, end, chance } of on) {
      const percent = Math.round(100 * chance);
      expect(said.replaceAll("\u00a0", " ")).toContain(
        `Step ${step.index} probably stands on the sender’s ${end} stop (chance ${percent} %)`,
      );
      expect(filled).toContain(`all but step ${step.index}, which probably stands on the ${end} stop`);
    }
    expect(/stands on the sender’s/.test(said)).toBe(on.length > 0);
    // A pour that the odd steps draw as hidden in part ends or begins on such a step, or on one in a dead zone.
    const hidden = new Set([...on.map((o) => o.step.index), ...run.steps.flatMap((s) => (s.atStop ? [s.index] : []))]);
    for (const pour of ofRole(suspectStepsFigure(suspects, valueIn(answers.curve)!)!, 0, "plain"))
      expect(hidden.has(pour) || hidden.has(pour - 1), `pour ${pour}`).toBe(true);
  });
});

test("the moor runner's last step is one of them, and a step that was decided by hand is none", () => {
  const { answers } = runExample("moor-runner");
  const run = valueIn(answers.suspectSteps)!.runs[0]!;
  expect(stepsOnStop(run).map((o) => [o.step.index, o.end])).toEqual([[16, "full"]]);
  const steps = run.steps.map((s) => (s.index === 16 ? { ...s, decidedBy: "technician" as const } : s));
  expect(stepsOnStop({ ...run, steps })).toEqual([]);
});
