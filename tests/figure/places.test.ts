import { expect, test } from "vitest";
import { widthOf } from "../../src/figure/labels";
import { inLines } from "../../src/figure/places";
import { drawFigure } from "../../src/figure/svg";

test("inLines breaks what is too wide at its last comma or colon, else near the middle, and never loses a word", () => {
  const text = "half the spread of consumption: ± 6.6 km";
  expect(inLines(text, 1000)).toEqual([text]);
  expect(inLines(text, 250)).toEqual(["half the spread of consumption:", "± 6.6 km"]);
  expect(inLines("one two three four", 60)).toEqual(["one two", "three four"]);
  expect(inLines("unbroken", 10)).toEqual(["unbroken"]);
});

test("on a phone no word of a flat dimension runs out of the drawing", () => {
  const width = 282;
  const svg = drawFigure(
    {
      id: "dimensions",
      finding: "f",
      x: { label: "litres left", unit: "L", scale: "linear", from: 0, to: 6.9 },
      panels: [
        {
          y: { label: "", unit: "", scale: "linear", from: 0, to: 4 },
          series: [],
          marks: [
            { kind: "gap-x", y: 3, from: 0, to: 3.15, text: "reserve, 3.1 L" },
            { kind: "gap-x", y: 2, from: 4.2, to: 4.6, text: "falling level, on a service day after noon, 0.36 L" },
            { kind: "gap-x", y: 1, from: 4.6, to: 5, text: "what is not known of the level, 1.1 L" },
            { kind: "vertical", x: 5, text: "warns at 5.00 L", role: "limit" },
          ],
          share: 1,
        },
      ],
      key: [],
      table: { columns: [], rows: [] },
    },
    { width },
  );
  const words = [...svg.matchAll(/<text class="lab[^"]*" x="([\d.-]+)" y="[\d.-]+" text-anchor="(\w+)">([^<]*)</g)];
  expect(words.length).toBeGreaterThanOrEqual(5);
  for (const [, x, anchor, text] of words) {
    const w = widthOf(text!);
    const left = Number(x) - (anchor === "end" ? w : anchor === "middle" ? w / 2 : 0);
    expect([left >= 0, left + w <= width], text).toEqual([true, true]);
  }
});

test("the word of a narrow stretch at the frame's edge stays off the ticks beside it", () => {
  const svg = drawFigure(
    {
      id: "stretches",
      finding: "f",
      x: { label: "time", unit: "min", scale: "linear", from: 0, to: 30 },
      panels: [
        {
          y: { label: "volume", unit: "L", scale: "linear", from: 0, to: 140 },
          series: [],
          marks: [
            { kind: "region", from: 0, to: 0.4, text: "parked" },
            { kind: "region", from: 29.8, to: 30, text: "parked" },
          ],
          share: 1,
        },
      ],
      key: [],
      table: { columns: [], rows: [] },
    },
    { width: 300 },
  );
  const words = [...svg.matchAll(/<text class="lab[^"]*" x="([\d.-]+)" y="[\d.-]+" text-anchor="(\w+)">parked</g)];
  expect(words).toHaveLength(2);
  // The stretches begin and end with the frame itself.
  const stretches = [...svg.matchAll(/<rect class="region"[^>]*x="([\d.]+)"[^>]*width="([\d.]+)"/g)];
  const from = Number(stretches[0]![1]);
  const to = Number(stretches[1]![1]) + Number(stretches[1]![2]);
  for (const [, x] of words) {
    expect(Number(x) - widthOf("parked") / 2).toBeGreaterThanOrEqual(from);
    expect(Number(x) + widthOf("parked") / 2).toBeLessThanOrEqual(to);
  }
});
