/** Odd steps: litres in each pour as the sheet says and as the reading saw it. */
import type { Figure, Mark } from "../../figure/figure";
import { withUnit } from "../../format";
import { type Curve, interpolate } from "../curve";
import type { SuspectSteps } from "../suspect-steps";

/** Null without a run of at least three steps. */
export function suspectStepsFigure(suspects: SuspectSteps, curve: Curve): Figure | null {
  const run = suspects.runs[0];
  if (!run || run.steps.length < 3) return null;
  const seen = run.steps.slice(1).map((s, i) => {
    const before = run.steps[i]!;
    const a = interpolate(curve.grid, before.reading, (g) => g.volume_L);
    const b = interpolate(curve.grid, s.reading, (g) => g.volume_L);
    const spread =
      1.96 * Math.hypot(...[before, s].map((t) => curve.points.find((p) => p.step === t.index)?.standard_L ?? 0)) * 0.5;
    return { step: s.index, sheet: s.added_L, saw: b - a, spread, trial: s.flag !== null && s.flag !== "dead-zone" };
  });
  const part = (list: typeof seen) => ({
    x: list.map((p) => p.step),
    y: list.map((p) => p.saw),
    lower: list.map((p) => p.saw - p.spread),
    upper: list.map((p) => p.saw + p.spread),
  });
  const doubt = seen.filter((p) => p.trial);
  const marks: Mark[] = run.events
    .filter((e) => e.kind === "missed-pour" || e.kind === "wrong-pour")
    .flatMap((e) => {
      const p = seen.find((s) => s.step === e.step);
      return p
        ? [
            {
              kind: "gap" as const,
              x: p.step + 0.45,
              from: p.sheet,
              to: p.saw,
              text: `${withUnit(Math.abs(e.amount_L), "L", 2)} from here on`,
            },
          ]
        : [];
    });
  return {
    id: "suspect-steps",
    finding: run.events.length
      ? "What the reading saw of each pour, beside what the sheet says"
      : "Each pour moved the reading as the sheet says",
    x: { label: "pour", unit: "", scale: "linear", from: 0.4, to: seen.length + 0.9 },
    panels: [
      {
        y: { label: "litres in each pour", unit: "L", scale: "linear", from: 0, to: null },
        series: [
          {
            kind: "points",
            role: "written",
            name: "the sheet",
            x: seen.map((p) => p.step),
            y: seen.map((p) => p.sheet),
          },
          { kind: "points", role: "accepted", name: "as the reading saw it", ...part(seen.filter((p) => !p.trial)) },
          {
            kind: "points",
            role: "suspect",
            name: "on trial",
            ...part(doubt),
            labels: doubt.map((p) => String(p.step)),
          },
        ],
        marks,
        share: 1,
      },
    ],
    key: [
      { role: "written", text: "the sheet" },
      { role: "accepted", text: "as the reading saw it, 95 %" },
      ...(doubt.length ? [{ role: "suspect" as const, text: "on trial" }] : []),
    ],
    table: {
      columns: ["pour", "sheet, L", "reading saw, L", "± L"],
      rows: seen.map((p) => [p.step, p.sheet, p.saw, p.spread]),
    },
  };
}
