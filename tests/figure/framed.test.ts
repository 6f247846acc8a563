import { describe, expect, test } from "vitest";
import { drawFramed, wrapped } from "../../src/figure/framed";
import { widthOf } from "../../src/figure/labels";
import { figuresOf } from "../../src/pipeline/figures/all";
import { runExample } from "../pipeline/example-run";

const words = (svg: string) =>
  [...svg.matchAll(/<text class="([^"]*)" x="([^"]+)" y="([^"]+)" text-anchor="(\w+)">([^<]*)</g)].map((m) => ({
    cls: m[1]!,
    x: Number(m[2]),
    y: Number(m[3]),
    text: m[5]!,
  }));

describe("a drawing as a file of its own", () => {
  test.each([760, 420])(
    "carries title, axes, key and what it was drawn from, inside its edges, at %i pixels",
    (width) => {
      for (const figure of Object.values(figuresOf(runExample("fen-skiff").answers)).flat()) {
        const svg = drawFramed(figure, { width, stamp: "Fen Skiff, drawn 1/1/2026" });
        const said = words(svg);
        const title = said.filter((w) => w.cls === "framed-title");
        expect(title.map((w) => w.text).join(" ")).toBe(figure.finding.replaceAll("'", "&#39;"));
        for (const k of figure.key) {
          const word = said.find((w) => w.text === k.text.replaceAll("'", "&#39;") && w.cls === "axt");
          expect(word, `${figure.id}: ${k.text}`).toBeDefined();
          if (width === 760)
            expect(word!.x + widthOf(word!.text, 14), `${figure.id}: ${k.text}`).toBeLessThanOrEqual(width);
        }
        const height = Number(/viewBox="0 0 \S+ ([\d.]+)"/.exec(svg)![1]);
        const stamp = said.find((w) => w.text === "Fen Skiff, drawn 1/1/2026")!;
        expect(stamp.y).toBeLessThan(height);
        expect(svg.match(/<svg /g)).toHaveLength(1);
        expect(svg).not.toMatch(/NaN|undefined/);
      }
    },
  );

  test("escapes its stamp and title", () => {
    const [figure] = figuresOf(runExample("fen-skiff").answers).curve!;
    const svg = drawFramed({ ...figure!, finding: "<script>" }, { width: 760, stamp: "</text><script>" });
    expect(svg).not.toContain("<script");
  });

  test("wrapped keeps every word in order and each line within its room", () => {
    const text = "The curve bends away from the line through two points";
    const lines = wrapped(text, 160, 18);
    expect(lines.join(" ")).toBe(text);
    expect(lines.length).toBeGreaterThan(2);
    for (const line of lines) expect(widthOf(line, 18)).toBeLessThanOrEqual(160);
  });
});
