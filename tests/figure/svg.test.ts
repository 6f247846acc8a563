import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { createScale } from "../../src/figure/axes";
import type { Figure } from "../../src/figure/figure";
import { boxOf, overlap, spread, widthOf } from "../../src/figure/labels";
import { drawFigure } from "../../src/figure/svg";

const figure = (over: Partial<Figure> = {}): Figure => ({
  id: "trial",
  finding: "The curve bends",
  x: { label: "reading", unit: "V", scale: "linear", from: null, to: null },
  panels: [
    {
      y: { label: "litres in the tank", unit: "L", scale: "linear", from: null, to: null },
      series: [
        { kind: "line", role: "curve", name: "curve", x: [0, 1, 2], y: [0, 20, 90], label: "curve" },
        { kind: "line", role: "compare", name: "two points", x: [0, 2], y: [0, 90], label: "two points" },
        {
          kind: "points",
          role: "accepted",
          name: "steps",
          x: [0, 0.02, 0.04, 1, 2],
          y: [0, 1, 2, 20, 90],
          labels: ["step 0", "step 1", "step 2", "step 3", "step 4"],
        },
      ],
      marks: [{ kind: "gap", x: 1, from: 20, to: 45, text: "25 L off" }],
      share: 1,
    },
  ],
  key: [],
  table: { columns: [], rows: [] },
  ...over,
});

/** Words of a drawing with the boxes that they take. */
function wordsOf(svg: string) {
  return [...svg.matchAll(/<text class="(lab[^"]*)" x="([^"]+)" y="([^"]+)" text-anchor="([^"]+)">([^<]*)</g)].map(
    (m) => ({
      text: m[5]!,
      box: boxOf({ x: Number(m[2]), y: Number(m[3]), anchor: m[4] as "start" }, m[5]!),
    }),
  );
}

describe("drawFigure", () => {
  it("keeps long numbers of an upright axis inside the drawing", () => {
    for (const top of [9_000, 900_000, 90_000_000]) {
      const f = figure();
      f.panels[0]!.y.scale = "log";
      f.panels[0]!.series = [{ kind: "line", role: "curve", name: "a", x: [0, 1], y: [top / 1000, top], label: "a" }];
      f.panels[0]!.marks = [];
      const ticks = [
        ...drawFigure(f, { width: 400 }).matchAll(/class="tick" x="([^"]+)" y="[^"]+" text-anchor="end">([^<]*)</g),
      ];
      expect(ticks.length).toBeGreaterThan(1);
      // A digit of the figure face is 0.616 of its size wide.
      for (const [, x, text] of ticks) expect(Number(x) - 13.5 * 0.616 * text!.length, text).toBeGreaterThanOrEqual(0);
    }
  });

  it("writes every number of a path as a finite number", () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ x: fc.double(), y: fc.double() }), { minLength: 1, maxLength: 40 }),
        fc.constantFrom("linear" as const, "log" as const),
        (rows, scale) => {
          const f = figure();
          f.x.scale = scale;
          f.panels[0]!.y.scale = scale;
          f.panels[0]!.series = [
            { kind: "line", role: "curve", name: "a", x: rows.map((r) => r.x), y: rows.map((r) => r.y), label: "a" },
            { kind: "points", role: "suspect", name: "b", x: rows.map((r) => r.x), y: rows.map((r) => r.y) },
          ];
          f.panels[0]!.marks = [];
          const svg = drawFigure(f, { width: 640 });
          expect(svg).not.toMatch(/NaN|Infinity|undefined/);
        },
      ),
      { numRuns: 60, seed: 3 },
    );
  });

  it.each([640, 350])("lets no label cover another at %i pixels", (width) => {
    const words = wordsOf(drawFigure(figure(), { width }));
    expect(words.length).toBeGreaterThanOrEqual(5);
    for (const [i, a] of words.entries())
      for (const b of words.slice(i + 1)) expect(overlap(a.box, b.box, 0), `${a.text} on ${b.text}`).toBe(false);
  });

  it("escapes what comes from outside", () => {
    const hostile = `</text><script>alert("1")</script>`;
    const f = figure({ finding: hostile, id: `"><b>` });
    const [line] = f.panels[0]!.series;
    if (line?.kind === "line") line.label = hostile;
    const svg = drawFigure(f, { width: 640 });
    expect(svg).not.toContain("<script");
    expect(svg).not.toContain("<b>");
    expect(svg).toContain("&lt;script&gt;");
  });

  it("tells accepted, suspect and set-aside steps by shape, not by colour alone", () => {
    const shapes = (["accepted", "suspect", "set-aside"] as const).map((role) => {
      const f = figure();
      f.panels[0]!.series = [{ kind: "points", role, name: role, x: [0, 1], y: [0, 1] }];
      f.panels[0]!.marks = [];
      const svg = drawFigure(f, { width: 640 });
      return /<(circle|path) class="(?:accepted|suspect|set-aside)"(?: d="M[^"]*?([ZM])[^"]*?")?/
        .exec(svg)
        ?.slice(1, 3)
        .join();
    });
    expect(new Set(shapes).size).toBe(3);
  });

  it("says its finding to a screen reader", () => {
    expect(drawFigure(figure(), { width: 640 })).toContain('role="img" aria-label="The curve bends"');
  });
});

describe("createScale", () => {
  it("has few ticks, all at 1, 2 or 5 times a power of ten of each other", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
        (low, span) => {
          const axis = { label: "", unit: "", scale: "linear" as const, from: null, to: null };
          const scale = createScale(axis, [low, low + span], [0, 600], 8);
          expect(scale.ticks.length).toBeGreaterThanOrEqual(1);
          expect(scale.ticks.length).toBeLessThanOrEqual(9);
          if (scale.ticks.length < 2) return;
          const step = scale.ticks[1]! - scale.ticks[0]!;
          const lead = step / 10 ** Math.floor(Math.log10(step) + 1e-6);
          expect([1, 2, 5, 10].some((k) => Math.abs(lead - k) < 1e-3)).toBe(true);
        },
      ),
      { numRuns: 200, seed: 5 },
    );
  });

  it("has two ticks at least however low its panel is: one number alone tells no scale", () => {
    const axis = { label: "", unit: "", scale: "linear" as const, from: null, to: null };
    for (const [low, high] of [
      [-4.3, 4.3],
      [-1.9, 4.1],
      [0.4, 9.6],
      [-0.9, 0.9],
    ] as const)
      for (const most of [2, 3, 4]) {
        const { ticks } = createScale(axis, [low, high], [100, 0], most);
        expect(ticks.length, `${low} to ${high}, ${most}`).toBeGreaterThanOrEqual(2);
        expect(ticks.length).toBeLessThanOrEqual(6);
      }
  });

  it("writes no number of the horizontal axis into the next, with a long unit behind the last", () => {
    for (const width of [330, 390, 480, 560, 640])
      for (const to of [1.62, 16.1, 5.02, 99]) {
        const x = { label: "largest error", unit: "US\u00a0gal", scale: "linear" as const, from: 0, to };
        const svg = drawFigure(figure({ x }), { width });
        const boxes = [
          ...svg.matchAll(/<text class="tick" x="([^"]+)" y="([^"]+)" text-anchor="(middle|end)">([^<]*)</g),
        ]
          .map((m) => ({ x: Number(m[1]), y: Number(m[2]), half: widthOf(m[4]!, 13.5) / 2, anchor: m[3], text: m[4]! }))
          .map((b) => ({
            ...b,
            from: b.anchor === "end" ? b.x - 2 * b.half : b.x - b.half,
            to: b.anchor === "end" ? b.x : b.x + b.half,
          }));
        const lowest = Math.max(...boxes.map((b) => b.y));
        const across = boxes.filter((b) => b.y === lowest).sort((a, b) => a.from - b.from);
        expect(across.at(-1)!.text).toContain("US");
        for (let i = 1; i < across.length; i++)
          expect(across[i]!.from, `${across[i - 1]!.text} and ${across[i]!.text} on ${width} px`).toBeGreaterThan(
            across[i - 1]!.to,
          );
      }
  });

  it("writes a log tick as a plain number", () => {
    const scale = createScale({ label: "", unit: "", scale: "log", from: null, to: null }, [0.1, 100], [0, 600], 8);
    expect(scale.ticks.map(scale.write)).toEqual(
      ["0.1", "0.3", "1.0", "3.0", "10", "30", "100"].map((t) => t.replace(/\.0$/, "")),
    );
  });
});

describe("spread", () => {
  it("keeps labels in one column apart and in order", () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 200, noNaN: true }), { minLength: 1, maxLength: 6 }), (heights) => {
        const out = spread(heights, 17, 0, 200);
        const sorted = [...out].sort((a, b) => a - b);
        for (let i = 1; i < sorted.length; i++) expect(sorted[i]! - sorted[i - 1]!).toBeGreaterThanOrEqual(17 - 1e-9);
      }),
      { numRuns: 100, seed: 7 },
    );
  });
});
