import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure } from "../../src/figure/figure";
import { boxOf, crosses } from "../../src/figure/labels";
import { drawFigure } from "../../src/figure/svg";
import { figuresOf } from "../../src/pipeline/figures/all";
import { displayFigure } from "../../src/pipeline/figures/display";
import { complaintNames, exampleNames, runExample } from "../pipeline/example-run";

/** Words and strokes of a drawing, in pixels. */
function partsOf(figure: Figure, width: number) {
  const svg = drawFigure(figure, { width });
  const words = [
    ...svg.matchAll(/<text class="(lab[^"]*)" x="([^"]+)" y="([^"]+)" text-anchor="([^"]+)">([^<]*)</g),
  ].map((m) => ({ text: m[5]!, box: boxOf({ x: Number(m[2]), y: Number(m[3]), anchor: m[4] as "start" }, m[5]!) }));
  const tick = /<path class="chosen" d="M([\d.-]+) ([\d.-]+)l6 7l12 -17"/.exec(svg);
  return { words, tick: tick && { x: Number(tick[1]) + 6, y: Number(tick[2]) + 7 } };
}

describe.each([...exampleNames, ...complaintNames])("the figure of the display, %s", (name) => {
  const { answers } = runExample(name);
  const figure = displayFigure(valueIn(answers.display)!, valueIn(answers.job)!)!;

  test.each([640, 350])("at %i pixels no word stands out of the drawing or on the pencil's tick", (width) => {
    const { words, tick } = partsOf(figure, width);
    expect(words.length).toBeGreaterThanOrEqual(3);
    for (const { text, box } of words) {
      expect([box.left >= 0, box.right <= width], text).toEqual([true, true]);
      const strokes = [
        [0, 0],
        [4, -5],
        [8, -11],
      ].map(([dx, dy]) => [tick!.x + dx!, tick!.y + dy!]);
      for (const [x, y] of strokes)
        expect(x! > box.left && x! < box.right && y! > box.top && y! < box.bottom, `the tick under ${text}`).toBe(
          false,
        );
    }
  });

  test.each([640, 480])("at %i pixels the word of a deadband lies on no other line", (width) => {
    const svg = drawFigure(figure, { width });
    const drawn = [...svg.matchAll(/<path class="(?:other|curve)[^"]*" d="([^"]+)"/g)].map((m) =>
      [...m[1]!.matchAll(/[ML]([\d.-]+)[, ]([\d.-]+)/g)].map((p) => ({ x: Number(p[1]), y: Number(p[2]) })),
    );
    const lines = figure.panels[0]!.series.filter((s) => s.kind === "line");
    expect(drawn.length).toBe(lines.length);
    for (const { text, box } of partsOf(figure, width).words)
      for (const [k, line] of lines.entries())
        if (lines.some((l) => l.label === text) && line.label !== text)
          for (const [i, b] of drawn[k]!.slice(1).entries()) {
            const a = drawn[k]![i]!;
            const on = crosses({ x1: a.x, y1: a.y, x2: b.x, y2: b.y }, box, 0);
            expect(on, `${text} on the line of ${line.label}`).toBe(false);
          }
  });

  test("beside a choice of one's own the recommended stands inside the frame, and the key names its mark", () => {
    const display = valueIn(answers.display)!;
    const own = displayFigure({ ...display, overridden: true }, valueIn(answers.job)!)!;
    expect(own.key.map((k) => `${k.role}: ${k.text}`)).toEqual(
      expect.arrayContaining(["chosen: your choice", "plain: recommended"]),
    );
    const [mark] = own.panels[0]!.series.flatMap((s) => (s.kind === "points" && s.role === "plain" ? [s] : []));
    expect([mark!.x[0]! > 0, mark!.y[0]! > 0]).toEqual([true, true]);
    expect(figure.key.map((k) => k.role)).not.toContain("plain");
  });

  test("a deadband is drawn, or the key says that it hardly turns round", () => {
    const key = figure.key.find((k) => k.role === "other")!.text.replaceAll("\u00a0", " ");
    const from = /from ± ([\d.]+) L on/.exec(key);
    const quiet = from ? Number(from[1]) : Number.POSITIVE_INFINITY;
    const lines = figure.panels[0]!.series.filter((s) => s.kind === "line");
    for (const line of lines) if (line.role === "other") expect(Math.max(...line.y), line.name).toBeGreaterThan(0.1);
    const shown = lines.map((l) => Number(/[\d.]+/.exec(l.name)?.[0] ?? 0));
    const trade = valueIn(answers.display)!.trade.filter((t) => t.points.length > 1);
    if (trade.length <= 7)
      for (const t of trade)
        expect(
          shown.some((s) => Math.abs(s - t.deadband_L) <= 0.05 * t.deadband_L) || t.deadband_L >= 0.95 * quiet,
          `${t.deadband_L}`,
        ).toBe(true);
  });

  test("no figure's title ends in a full stop", () => {
    const all = Object.values(figuresOf(answers)).flat();
    expect(all.length).toBeGreaterThanOrEqual(5);
    expect(all.map((f) => f.finding).filter((f) => /\.$/.test(f))).toEqual([]);
  });
});
