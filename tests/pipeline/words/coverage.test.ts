import { describe, expect, test } from "vitest";
import { analysisOf } from "../../../src/pipeline/analysis";
import { curveFigure } from "../../../src/pipeline/figures/curve";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
import { curveFinding } from "../../../src/pipeline/words/curve";
import { headOf } from "../../../src/pipeline/words/head";
import { coverageText } from "../../../src/pipeline/words/quantity";
import { runExample, sheet } from "../example-run";

const rows: [number, number][] = Array.from({ length: 13 }, (_, k) => [k === 0 ? 0 : 4, 0.5 + 0.3 * k + 0.004 * k * k]);

const at = (coverage: number) =>
  runExample("moor-runner", (s) => ({
    ...s,
    job: {
      tank: { capacity_L: 52 },
      fill: { enteredAs: "added", startedFrom: "pick-up-dry" },
      targets: { coverage },
      consumption: { mean: 20, standardUncertainty: 2, unit: "L/100km" },
      reserve: { value: 15, unit: "km" },
    },
    files: { fills: [sheet("added L,reading V", rows)], drives: [] },
  })).answers;

describe("how sure an interval is", () => {
  test("is said as the job asks for it, wherever an interval of that kind stands", () => {
    const answers = at(0.995);
    const condition = (name: string) =>
      textOf(allFindings(answers).find((l) => l.name === name)?.finding?.condition ?? []);
    expect(condition("curve")).toMatch(/^99\.5\s%/);
    expect(condition("range-left")).toMatch(/^99\.5\s%/);
    const head = headOf(answers).rows.flatMap((r) => r.parts.map((p) => textOf(p.phrases)));
    expect(head.join(" ")).toMatch(/\(99\.5\s%, fill day\)/);
    if (answers.curve.state !== "ready" || answers.suspectSteps.state !== "ready") throw new Error("no curve");
    const figure = curveFigure(answers.curve.value, answers.suspectSteps.value);
    const names = [...figure.panels.flatMap((p) => p.series.map((s) => s.name)), ...figure.key.map((k) => k.text)].join(
      "; ",
    );
    expect(names).toMatch(/99\.5\s% band on the fill day/);
    expect(names).not.toMatch(/95\s%/);
  });

  test("wider for more, and the bars of the figure with it", () => {
    const bars = (coverage: number) => {
      const { curve, suspectSteps } = at(coverage);
      if (curve.state !== "ready" || suspectSteps.state !== "ready") throw new Error("no curve");
      const left = curveFigure(curve.value, suspectSteps.value).panels[1]!.series.find((s) => s.name === "left over");
      if (left?.kind !== "points" || !left.lower || !left.upper) throw new Error("no bars");
      return { half: (left.upper[3]! - left.lower[3]!) / 2, standard: curve.value.points[3]!.standard_L };
    };
    const [wide, narrow] = [bars(0.99), bars(0.9)];
    // Normal quantiles, tables: 2.5758 and 1.6449.
    expect(wide.half / wide.standard).toBeCloseTo(2.5758, 3);
    expect(narrow.half / narrow.standard).toBeCloseTo(1.6449, 3);
  });

  test("the service day stands beside the fill day: as far as its published band reaches from the curve", () => {
    const answers = at(0.95);
    const { band, serviceBand } = analysisOf(answers, []) as {
      band: { reading_V: number; volume_L: number }[];
      serviceBand: { reading_V: number; lower_L: number; upper_L: number }[];
    };
    const reach = Math.max(
      ...serviceBand.map((s, i) => {
        expect(s.reading_V).toBe(band[i]!.reading_V);
        return Math.max(s.upper_L - band[i]!.volume_L, band[i]!.volume_L - s.lower_L);
      }),
    );
    if (answers.curve.state !== "ready") throw new Error("no curve");
    const { overall } = answers.curve.value;
    expect(overall.serviceHalfWidth_L).toBeCloseTo(reach, 9);
    // A later day only adds.
    expect(reach).toBeGreaterThan(overall.bandHalfWidth_L);
    const condition = textOf(curveFinding(answers.curve.value, 0, 48).condition);
    expect(condition).toContain(`while the level falls: ±\u00a0${reach.toFixed(reach < 1 ? 2 : 1)}\u00a0L`);
  });

  test("never rounded up to certainty", () => {
    expect(coverageText(0.95)).toBe("95\u00a0%");
    expect(coverageText(0.999)).toBe("99.9\u00a0%");
  });
});
