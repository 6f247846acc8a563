/** Words of marks stand by what they name and off the strokes of their figure, on a phone, on the page and on paper. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure } from "../../src/figure/figure";
import { type Box, boxOf, crosses, overlap, type Segment } from "../../src/figure/labels";
import { drawFigure } from "../../src/figure/svg";
import { displayFigure } from "../../src/pipeline/figures/display";
import { rangeLeftFigure } from "../../src/pipeline/figures/range-left";
import { suspectStepsFigure } from "../../src/pipeline/figures/suspect-steps";
import type { RangeLeft } from "../../src/pipeline/range-left";
import { runExample } from "../pipeline/example-run";

const sizes = [
  { width: 318 },
  { width: 350 },
  { width: 640 },
  { width: 510, low: true },
  { width: 560, low: true },
] as const;

const wordsOf = (svg: string): { text: string; box: Box }[] =>
  [...svg.matchAll(/<text class="lab[^"]*" x="([\d.-]+)" y="([\d.-]+)" text-anchor="(\w+)">([^<]*)</g)].map(
    ([, x, y, anchor, text]) => ({
      text: text!,
      box: boxOf({ x: Number(x), y: Number(y), anchor: anchor as "start" }, text!),
    }),
  );
const straight = (svg: string, cls: string): Segment[] =>
  [
    ...svg.matchAll(
      new RegExp(`<line class="${cls}" x1="([\\d.-]+)" y1="([\\d.-]+)" x2="([\\d.-]+)" y2="([\\d.-]+)"`, "g"),
    ),
  ].map((m) => ({ x1: +m[1]!, y1: +m[2]!, x2: +m[3]!, y2: +m[4]! }));
const drawnLines = (svg: string): Segment[] =>
  [...svg.matchAll(/<path class="(?:curve|other[^"]*)" d="M([^"]*)"/g)].flatMap(([, d]) => {
    const at = d!.split("L").map((p) => p.split(",").map(Number) as [number, number]);
    return at.slice(1).map(([x2, y2], i) => ({ x1: at[i]![0], y1: at[i]![1], x2, y2 }));
  });
const apart = (box: Box, s: Segment) =>
  Math.hypot(
    Math.max(box.left - Math.max(s.x1, s.x2), Math.min(s.x1, s.x2) - box.right, 0),
    Math.max(box.top - Math.max(s.y1, s.y2), Math.min(s.y1, s.y2) - box.bottom, 0),
  );

describe.each(["moor-runner", "peat-hauler", "fen-skiff"] as const)("%s", (name) => {
  const { answers } = runExample(name);
  test.each(sizes)("the wanted steadiness is written across no line of the display's figure, %o", (size) => {
    const figure = displayFigure(valueIn(answers.display)!, valueIn(answers.job)!)!;
    const svg = drawFigure(figure, size);
    const wanted = wordsOf(svg).filter((w) => "wanted: 2 a minute".includes(w.text));
    expect(wanted.map((w) => w.text).join(" ")).toBe("wanted: 2 a minute");
    const [line] = straight(svg, "limit");
    const lines = [...drawnLines(svg), line!];
    expect(lines.length).toBeGreaterThan(20);
    for (const { box } of wanted) {
      expect(lines.filter((s) => crosses(s, box, 0))).toEqual([]);
      // No other word stands between it and its own line.
      const between = { ...box, top: Math.min(box.top, line!.y1), bottom: Math.max(box.bottom, line!.y1) };
      const others = wordsOf(svg).filter((w) => !wanted.some((own) => own.text === w.text));
      expect(others.filter((w) => overlap(w.box, between, 0)).map((w) => w.text)).toEqual([]);
    }
  });
});

describe("the figure of odd steps", () => {
  const { answers } = runExample("fen-skiff");
  const figure = suspectStepsFigure(valueIn(answers.suspectSteps)!, valueIn(answers.curve)!)!;
  test.each(sizes)("the words of a gap stand by it and not across another, %o", (size) => {
    const svg = drawFigure(figure, size);
    const gaps = straight(svg, "dim").filter((s) => Math.abs(s.x1 - s.x2) < 1);
    expect(gaps.length).toBe(2);
    const named = figure.panels[0]!.marks.flatMap((m) => (m.kind === "gap" ? [m] : [])).sort((a, b) => a.x - b.x);
    gaps.sort((a, b) => a.x1 - b.x1);
    named.forEach((m, k) => {
      const mine = wordsOf(svg).filter((w) => m.text.includes(w.text) && w.text.length > 2);
      expect(mine.map((w) => w.text).join(" ")).toBe(m.text);
      for (const { box } of mine) {
        expect(apart(box, gaps[k]!)).toBeLessThan(30);
        expect(gaps.filter((g) => crosses(g, box, 0))).toEqual([]);
      }
    });
  });
});

test("a dimension's words keep off the median wherever it stands, and off the dimension over them", () => {
  const median = 25;
  const published = valueIn(runExample("moor-runner").answers.range)!;
  const drawnTo = (upper: number): Figure =>
    rangeLeftFigure({
      ...published,
      range: median,
      rangeLower: median - 4,
      rangeUpper: upper,
      rangeUnit: "km",
      improvements: [
        { what: "a repeated fill run", rangeHalfWidth: 3.9 },
        { what: "a display without slosh", rangeHalfWidth: 3.6 },
        { what: "half the spread of consumption", rangeHalfWidth: 2.2 },
      ],
    } as unknown as RangeLeft);
  for (const upper of [27, 30, 36, 45, 60, 90]) {
    const figure = drawnTo(upper);
    // Narrower than this the longest words have room on neither side of a median in the middle.
    for (const size of sizes.filter((s) => s.width >= 350)) {
      const svg = drawFigure(figure, size);
      const words = wordsOf(svg);
      expect(words.map((w) => w.text).join(" ")).toContain("consumption");
      const strokes = [...straight(svg, "curve"), ...straight(svg, "dim").filter((s) => Math.abs(s.y1 - s.y2) < 1)];
      expect(strokes.length).toBe(5);
      for (const { text, box } of words)
        expect(
          strokes.filter((s) => crosses(s, box, 0)),
          `${text}, up to ${upper} km at ${size.width}`,
        ).toEqual([]);
    }
  }
});
