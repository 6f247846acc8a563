/** The words of a gap cross neither the curve nor a mark, whatever the job draws. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Figure } from "../../src/figure/figure";
import { type Box, boxOf, crosses, lineHeight, overlap, type Segment } from "../../src/figure/labels";
import { escapeText } from "../../src/figure/shapes";
import { drawFigure } from "../../src/figure/svg";
import { figuresOf } from "../../src/pipeline/figures/all";
import { tableFigure } from "../../src/pipeline/figures/table";
import { runExample } from "../pipeline/example-run";

const number = "(-?[\\d.]+)";

/** Curve, dimensions and marks of a drawing as strokes, and its words in bold as boxes. */
function read(svg: string) {
  const strokes: Segment[] = [];
  for (const [, d] of svg.matchAll(/<path class="curve" d="M([^"]*)"/g)) {
    const at = d!.split("L").map((p) => p.split(",").map(Number) as [number, number]);
    for (let i = 1; i < at.length; i++)
      strokes.push({ x1: at[i - 1]![0], y1: at[i - 1]![1], x2: at[i]![0], y2: at[i]![1] });
  }
  const dim = new RegExp(`<line class="dim" x1="${number}" y1="${number}" x2="${number}" y2="${number}"`, "g");
  for (const m of svg.matchAll(dim)) strokes.push({ x1: +m[1]!, y1: +m[2]!, x2: +m[3]!, y2: +m[4]! });
  for (const m of svg.matchAll(new RegExp(`<circle class="plain" cx="${number}" cy="${number}"`, "g")))
    strokes.push({ x1: +m[1]! - 3, y1: +m[2]!, x2: +m[1]! + 3, y2: +m[2]! });
  const words = [...svg.matchAll(/<text class="lab strong" x="([\d.-]+)" y="([\d.-]+)" text-anchor="(\w+)">([^<]*)</g)];
  // Two lines of one mark stand right under each other, flush: they are one block.
  const boxes: Box[] = [];
  let over: { x: string; y: number; anchor: string } | null = null;
  for (const [, x, y, anchor, text] of words) {
    const box = boxOf({ x: Number(x), y: Number(y), anchor: anchor as "start" }, text!);
    const isSecond: boolean =
      over !== null && over.x === x && over.anchor === anchor && Math.abs(Number(y) - over.y - lineHeight) < 0.2;
    const first = isSecond ? boxes.pop()! : box;
    boxes.push({
      left: Math.min(first.left, box.left),
      right: Math.max(first.right, box.right),
      top: first.top,
      bottom: box.bottom,
    });
    over = { x: x!, y: Number(y), anchor: anchor! };
  }
  return { strokes, boxes, width: Number(/viewBox="0 0 ([\d.]+)/.exec(svg)![1]) };
}

function expectClear(svg: string, words: number): void {
  const { strokes, boxes, width } = read(svg);
  expect(boxes.length).toBe(words);
  for (const box of boxes) {
    expect(strokes.filter((s) => crosses(s, box, 0))).toEqual([]);
    expect([box.left >= 0, box.right <= width]).toEqual([true, true]);
  }
  if (boxes.length === 2) expect(overlap(boxes[0]!, boxes[1]!)).toBe(false);
}

test("crosses knows a stroke through a box, beside it, and one that ends inside", () => {
  const box = { left: 10, top: 10, right: 30, bottom: 20 };
  expect(crosses({ x1: 0, y1: 0, x2: 40, y2: 30 }, box, 0)).toBe(true);
  expect(crosses({ x1: 0, y1: 15, x2: 20, y2: 15 }, box, 0)).toBe(true);
  expect(crosses({ x1: 12, y1: 0, x2: 12, y2: 40 }, box, 0)).toBe(true);
  expect(crosses({ x1: 0, y1: 0, x2: 0, y2: 40 }, box, 0)).toBe(false);
  expect(crosses({ x1: 0, y1: 25, x2: 40, y2: 25 }, box, 0)).toBe(false);
  expect(crosses({ x1: 0, y1: 22, x2: 40, y2: 22 }, box, 2)).toBe(true);
});

describe.each(["moor-runner", "peat-hauler", "fen-skiff", "fell-carrier"] as const)("the table of %s", (name) => {
  const { answers } = runExample(name);
  const figure = tableFigure(valueIn(answers.table)!, valueIn(answers.curve)!);
  test.each([282, 342, 500, 640, 820])("at %i pixels, on the page and on paper", (width) => {
    for (const low of [false, true]) expectClear(drawFigure(figure, { width, low }), figure.panels[0]!.marks.length);
  });
});

describe.each(["moor-runner", "peat-hauler", "fell-carrier"] as const)("the uprights of %s", (name) => {
  const figures = figuresOf(runExample(name).answers);
  test.each([282, 312, 342, 500, 640, 820])("at %i pixels each keeps its own name, across no other", (width) => {
    // The spectrum is the first of the two of noise; motion by level has no uprights.
    for (const figure of [...figures["low-fuel"]!, figures.noise![0]!]) {
      const svg = drawFigure(figure, { width });
      const marks = figure.panels[0]!.marks.flatMap((m) => (m.kind === "vertical" && m.text ? [m.text] : []));
      expect(marks.length).toBeGreaterThan(0);
      const uprights = [...svg.matchAll(/<line class="\w+" x1="([\d.]+)" y1="([\d.]+)" x2="\1" y2="([\d.]+)"/g)]
        .map((m) => ({ x1: +m[1]!, y1: +m[2]!, x2: +m[1]!, y2: +m[3]! }))
        .filter((u) => Math.abs(u.y2 - u.y1) > 60);
      const words = [
        ...svg.matchAll(/<text class="lab[^"]*" x="([\d.-]+)" y="([\d.-]+)" text-anchor="(\w+)">([^<]*)</g),
      ];
      const boxes = words.map(([, x, y, anchor, text]) => ({
        text: text!,
        box: boxOf({ x: Number(x), y: Number(y), anchor: anchor as "start" }, text!),
      }));
      for (const name of marks) {
        // Whole, or in two lines.
        const mine = boxes.filter((b) => escapeText(name) === b.text || escapeText(name).split(b.text).includes(""));
        expect(mine.map((b) => b.text).join(" ")).toBe(escapeText(name));
        for (const { box, text } of mine) {
          expect(
            uprights.filter((u) => crosses(u, box, 0)),
            `${figure.id}: ${text}`,
          ).toEqual([]);
          const off = Math.min(...uprights.map((u) => Math.max(box.left - u.x1, u.x1 - box.right, 0)));
          expect(off, `${figure.id}: ${text} beside its upright`).toBeLessThanOrEqual(60);
        }
      }
    }
  });
});

test("any error of a table, wavy or wild, with one end moved in or both", () => {
  const any = fc.record({
    amplitudes: fc.array(fc.double({ min: 0.02, max: 1, noNaN: true }), { minLength: 2, maxLength: 19 }),
    ends: fc.constantFrom<number[]>([0], [1], [0, 1]),
    up: fc.tuple(fc.boolean(), fc.boolean()),
    size: fc.double({ min: 0.05, max: 4, noNaN: true }),
    width: fc.integer({ min: 282, max: 700 }),
    low: fc.boolean(),
  });
  fc.assert(
    fc.property(any, ({ amplitudes, ends, up, size, width, low }) => {
      const n = 160;
      const x = Array.from({ length: n + 1 }, (_, i) => i / n);
      const k = amplitudes.length;
      const tall = (end: number) => (up[end] ? size : -size);
      const y = x.map((v) => {
        const wave = Math.sin(Math.PI * v * k) * amplitudes[Math.min(k - 1, Math.floor(v * k))]!;
        const atEnds = ends.reduce((s, e) => s + tall(e) * Math.max(0, 1 - k * Math.abs(v - e)), 0);
        return wave + atEnds;
      });
      const rows = Array.from({ length: k + 1 }, (_, i) => Math.round((i * n) / k));
      const figure: Figure = {
        id: "any",
        finding: "f",
        x: { label: "reading", unit: "V", scale: "linear", from: null, to: null },
        panels: [
          {
            y: { label: "table less curve", unit: "L", scale: "linear", from: null, to: null },
            series: [
              { kind: "line", role: "curve", name: "c", x, y, label: null },
              { kind: "points", role: "plain", name: "r", x: rows.map((i) => x[i]!), y: rows.map((i) => y[i]!) },
            ],
            marks: ends.map((e) => ({
              kind: "gap" as const,
              x: e,
              from: 0,
              to: y[e * n]!,
              text: e === 1 ? "full is moved in" : "empty is moved in",
            })),
            share: 1,
          },
        ],
        key: [],
        table: { columns: [], rows: [] },
      };
      expectClear(drawFigure(figure, { width, low }), ends.length);
    }),
    { numRuns: 150 },
  );
});
