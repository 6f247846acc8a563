import { describe, expect, test } from "vitest";
import { fillRunFigure } from "../../../src/pipeline/figures/fill-run";
import { findSteps } from "../../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../../src/pipeline/job";
import { readRecording } from "../../../src/pipeline/recording";
import { fillRunFinding, fillRunWorking } from "../../../src/pipeline/words/fill-run";
import { allSaid, type Phrase } from "../../../src/pipeline/words/finding";
import { published } from "../../../src/said";

const said = (phrases: Phrase[]) => phrases.map((p) => (typeof p === "string" ? p : p.text)).join("");
function filled(readings: number[], input: JobInput) {
  const text = `added_L,sender_V\n${readings.map((r, k) => `${k === 0 ? 0 : 5},${r.toFixed(2)}`).join("\n")}\n`;
  const read = readRecording({ name: "a.csv", kind: "fill", bytes: new TextEncoder().encode(text), sha256: "a" }, null);
  const job = resolveJob(input);
  if (read.state !== "ready" || job.state !== "ready") throw new Error("the sheet should be readable");
  const steps = findSteps([read.value], job.value);
  if (steps.state !== "ready") throw new Error("the sheet should hold steps");
  return steps.value;
}

describe("the fill run's words and figure", () => {
  const fill = filled([0.5, 0.9, 1.35, 1.7, 2.2, 2.6, 2.6, 2.6], { tank: { capacity_L: 40 } });

  test("say how many steps, how many litres of the stated tank, how steady, and what the sender cannot see", () => {
    const finding = fillRunFinding(fill, null);
    expect(said(allSaid(finding)).replaceAll("\u00a0", " ")).toBe(
      "8 steps, 35.0 L in all: the curve rests on all of them. At the full end the reading stands still over 10 L: the sender cannot see those. The pours are 88 % of the 40 L stated for the tank. By its last digit a reading is good to ± 2.9 mV.",
    );
    // What the sender cannot see is a finding; what the sum and the digits are stands under it.
    expect(said(finding.sentence)).toMatch(/cannot see those\.$/);
  });

  test("the converter's step is named where it is coarser than the digits", () => {
    const stepOf = (adcBits: number) =>
      said(
        fillRunFinding(filled([0.5, 0.9, 1.35, 1.7, 2.2, 2.6], { circuit: { supplyVolts: 5, adcBits } }), null)
          .further!,
      );
    expect(stepOf(8)).toMatch(/By the converter’s step a reading is good to ±.5\.6.mV/);
    expect(stepOf(12)).toMatch(/By its last digit a reading is good to ±.2\.9.mV/);
  });

  test("a ladder poured too coarsely to read any level twice is not said to have levels that far apart", () => {
    const ladder = { tank: { capacity_L: 60 }, sender: { kind: "reed-ladder" as const } };
    const coarse = filled([0.5, 1.0, 1.4, 1.7, 2.1, 2.6, 2.9, 3.3, 3.7], ladder);
    expect(coarse.fixedSteps).toMatchObject({ resolved: false });
    expect(said(fillRunFinding(coarse, null).sentence)).toContain("at most about");
    const fine = filled([0.5, 0.5, 1.0, 1.0, 1.4, 1.4, 1.7, 2.1, 2.1, 2.6, 2.6], ladder);
    expect(fine.fixedSteps).toMatchObject({ resolved: true });
    expect(said(fillRunFinding(fine, null).sentence)).toContain("no table can read finer");
  });

  test("the working names the dead zone's steps and the assumed start, with their figures' places", () => {
    const lines = fillRunWorking(fill);
    expect(lines.find((l) => published(l.what).startsWith("Dead zone"))!.what).toContain("5, 6, 7");
    const start = lines.find((l) => published(l.what).startsWith("What was in the tank"))!;
    expect(start.figures[0]).toMatchObject({ path: "sender.startStandard_L", value: fill.startStandard_L });
  });

  test("the figure's points are the steps, each with its bar, and its table repeats them", () => {
    const figure = fillRunFigure(fill, null);
    const points = figure.panels[0]!.series[0]!;
    if (points.kind !== "points") throw new Error("the first series should be points");
    expect(points.y).toEqual([0.5, 0.9, 1.35, 1.7, 2.2, 2.6, 2.6, 2.6]);
    expect(points.upper![0]! - points.y[0]!).toBeCloseTo((1.96 * 0.01) / Math.sqrt(12), 9);
    expect(figure.table.rows).toHaveLength(8);
  });
});
