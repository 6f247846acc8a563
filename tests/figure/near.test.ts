import { describe, expect, test } from "vitest";
import type { Figure } from "../../src/figure/figure";
import { nearOf } from "../../src/figure/near";
import type { Plain } from "../../src/figure/near-parts";
import { figuresOf } from "../../src/pipeline/figures/all";
import { runExample } from "../pipeline/example-run";

const near = (figure: Figure) => {
  const { traces, layout, whole } = nearOf(figure, (role) => `colour of ${role}`, "a face");
  return { traces, layout, whole, words: layout.annotations as Plain[], shapes: layout.shapes as Plain[] };
};
const isRug = (f: Figure, k: number) => f.panels[k]!.series.every((s) => s.kind === "rug");

describe("a figure near to", () => {
  test("shows every mark, label and series that the static drawing has, inside its frame", () => {
    for (const name of ["moor-runner", "fen-skiff"] as const)
      for (const figure of Object.values(figuresOf(runExample(name).answers)).flat()) {
        const { traces, layout, words, shapes } = near(figure);
        const said = [
          ...words.map((w) => w.text as string),
          ...traces.flatMap((t) => (t.text as string[] | undefined) ?? []),
          ...Object.values(layout).flatMap((a) => ((a as Plain | null)?.ticktext as string[] | undefined) ?? []),
        ];
        let drawn = 0;
        for (const panel of figure.panels) {
          for (const m of panel.marks) if (m.text) expect(said, `${name} ${figure.id}`).toContain(m.text);
          drawn += panel.marks.filter((m) => ["vertical", "horizontal", "region"].includes(m.kind)).length;
          for (const s of panel.series) {
            if ((s.kind === "line" || s.kind === "rug") && s.label !== null) expect(said).toContain(s.label);
            if (s.kind === "points")
              for (const l of s.labels ?? []) if (l) expect(said, `${name} ${figure.id}`).toContain(l);
          }
        }
        expect(shapes.length, `${name} ${figure.id}`).toBe(drawn);
        for (const w of words)
          if (typeof w.y === "number" && /^y\d*$/.test(String(w.yref))) {
            const axis = layout[w.yref === "y" ? "yaxis" : `yaxis${String(w.yref).slice(1)}`] as Plain;
            const [low, high] = axis.range as [number, number];
            expect(w.y, `${name} ${figure.id}: ${w.text}`).toBeGreaterThanOrEqual(low - 1e-9);
            expect(w.y, `${name} ${figure.id}: ${w.text}`).toBeLessThanOrEqual(high + 1e-9);
          }
      }
  });

  test("tells a step on trial and a reading set aside from the rest by shape", () => {
    const { answers } = runExample("fen-skiff");
    const [figure] = figuresOf(answers)["suspect-steps"]!;
    const shapes = new Map(near(figure!).traces.map((t) => [t.name, (t.marker as Plain | undefined)?.symbol]));
    expect(shapes.get("on trial")).toBe("diamond-open");
    expect(shapes.get("through the reading that is set aside")).toBe("x-thin-open");
    expect(shapes.get("as the reading saw it")).toBe("circle");
  });

  test("strokes of digit changes stand on levels of their own, named", () => {
    const { answers } = runExample("moor-runner");
    const [figure] = figuresOf(answers).trial!;
    const k = figure!.panels.findIndex((_, i) => isRug(figure!, i));
    const { traces, layout } = near(figure!);
    const rugs = traces.filter((t) => t.yaxis === `y${k + 1}`);
    expect(rugs.map((t) => (t.y as number[])[0])).toEqual([-0, -1, -2]);
    expect((layout[`yaxis${k + 1}`] as Plain).ticktext).toHaveLength(3);
  });

  test("words of uprights stand one under the other", () => {
    const { answers } = runExample("moor-runner");
    const { words } = near(figuresOf(answers).noise![0]!);
    const uprights = words.filter((w) => /^(slosh|rectangular tank) /.test(w.text as string));
    expect(uprights.map((w) => w.yshift)).toEqual([-0, -17]);
  });

  test("words of a mark near the right edge stand on its left: there is no room for them beyond it", () => {
    const { answers } = runExample("moor-runner");
    const rows = near(figuresOf(answers).table![0]!).words;
    const at = (text: string) => rows.find((w) => w.text === text)!;
    expect([at("full is moved in").xanchor, at("empty is moved in").xanchor]).toEqual(["left", "right"]);
    expect(Number(at("full is moved in").xshift)).toBe(-Number(at("empty is moved in").xshift));
    const verdict = near(figuresOf(answers).verdict![0]!).words.find((w) => /^your tolerance/.test(w.text as string))!;
    expect(verdict.xanchor).toBe("right");
  });

  test("words at line ends that lie close are raised off one another, and a log axis says its numbers whole", () => {
    const line = (name: string, x: number[]): Figure["panels"][number]["series"][number] => ({
      kind: "line",
      role: "other",
      name,
      x,
      y: [30, 0.1],
      label: name,
    });
    const figure: Figure = {
      id: "close",
      finding: "",
      x: { label: "time constant", unit: "s", scale: "log", from: 0.5, to: 100 },
      panels: [
        {
          y: { label: "a minute", unit: "", scale: "log", from: 0.1, to: 100 },
          series: [line("± 0.3 L", [0.5, 13.5]), line("± 0.4 L", [0.5, 13]), line("± 2 L", [0.5, 1])],
          marks: [],
          share: 1,
        },
      ],
      key: [],
      table: { columns: [], rows: [] },
    };
    const { words, layout } = near(figure);
    const shift = new Map(words.map((w) => [w.text, w.yshift]));
    expect([shift.get("± 0.4 L"), shift.get("± 0.3 L"), shift.get("± 2 L")]).toEqual([0, 16, 0]);
    const { tickvals, ticktext } = layout.xaxis as { tickvals: number[]; ticktext: string[] };
    const at = (v: number) => ticktext[tickvals.findIndex((t) => Math.abs(t / v - 1) < 1e-9)];
    expect([0.5, 1, 2, 50, 100].map(at)).toEqual(["0.5", "1", "2", "50", "100"]);
  });

  test("words from outside are only words", () => {
    const figure: Figure = {
      id: "a",
      finding: "",
      x: { label: "<b>x</b>", unit: "", scale: "linear", from: null, to: null },
      panels: [
        {
          y: { label: "y", unit: "", scale: "log", from: null, to: null },
          series: [{ kind: "line", role: "curve", name: "<a href=x>", x: [1, 2], y: [1, 10], label: "<i>" }],
          marks: [{ kind: "text", x: 1, y: 10, text: "<b>" }],
          share: 1,
        },
      ],
      key: [],
      table: { columns: [], rows: [] },
    };
    expect(JSON.stringify(near(figure))).not.toMatch(/<[abi]/);
    // A word on a log axis stands by its exponent.
    expect(near(figure).words.find((w) => w.text === "&lt;b&gt;")).toMatchObject({ x: 1, y: 1 });
  });
});
