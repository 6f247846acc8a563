/** What the curve's and the circuit's figures measure off is what their sentences say: on the page, in the report, on the command line. */
import { describe, expect, test } from "vitest";
import { figuresOf } from "../../src/pipeline/figures/all";
import { renderReport } from "../../src/pipeline/report";
import { summaryLines } from "../../src/pipeline/summary";
import { allFindings } from "../../src/pipeline/words/all";
import { complaintNames, exampleNames, runExample } from "../pipeline/example-run";

const saidIn = (leaf: string, path: string, run: ReturnType<typeof runExample>) =>
  allFindings(run.answers)
    .find((l) => l.name === leaf)
    ?.finding?.sentence.find((p) => typeof p !== "string" && p.path === path);

describe.each([...exampleNames, ...complaintNames])("%s", (name) => {
  const run = runExample(name);
  const figures = figuresOf(run.answers);
  const report = renderReport(run.answers, { files: [], choices: run.sources.choices, notebook: null, issuedAt: null });

  test("the gap drawn to the two-point line is as long as the sentence says, and says the same", () => {
    const curve = run.answers.curve;
    const figure = figures.curve?.[0];
    // Without a fill run there is neither a sentence nor a figure.
    expect(figure === undefined).toBe(curve.state !== "ready");
    if (!figure || curve.state !== "ready") return;
    const gap = figure.panels[0]!.marks.find((m) => m.kind === "gap")!;
    if (gap.kind !== "gap") throw new Error("no gap");
    const said = saidIn("curve", "chosenCurve.overall.twoPointError_L", run);
    if (!said || typeof said === "string") throw new Error("the sentence has no such number");
    // Litres in the unit that both are written in.
    const litres = said.times ?? 1;
    expect(litres * Math.abs(gap.to - gap.from)).toBeCloseTo(said.value, 9);
    expect(gap.text.startsWith(`${said.text} off`)).toBe(true);
    // It ends on the line that is drawn.
    const { ends } = curve.value.twoPoint;
    const [a, b] = [ends[0]!, ends[1]!];
    const along = (gap.x - a.reading) / (b.reading - a.reading);
    expect(litres * gap.to).toBeCloseTo(a.volume_L + along * (b.volume_L - a.volume_L), 6);
    expect(report.split(`${said.text} off`).length, "in the report's drawing").toBeGreaterThan(1);
    expect(report).toContain(`>${said.text}</b>`);
    expect(summaryLines(run.answers).join("\n").replaceAll("\u00a0", " ")).toContain(
      `${said.text.replaceAll("\u00a0", " ")} off`,
    );
  });

  test("what the divider bends is worth as much in the figure as in the sentence", () => {
    const said = saidIn("circuit", "circuit.twoPointBend_L", run);
    const texts = (figures.circuit ?? []).flatMap((f) => f.panels.flatMap((p) => p.marks.map((m) => m.text)));
    const worth = texts.filter((t) => t.includes("worth"));
    expect(worth.length > 0).toBe(said !== undefined);
    if (said && typeof said !== "string") expect(worth[0]!.endsWith(`worth ${said.text}`)).toBe(true);
  });
});
