/** Trial: the roughest few minutes, raw, smoothed and shown, with a stroke for each change of the digit. */
import type { Figure } from "../../figure/figure";
import type { Trial } from "../trial";

/** Null for a window without samples. */
export function trialFigure(trial: Trial): Figure | null {
  const { time_s, raw_L, smoothed_L, shown_L, trend_L, changes } = trial.window;
  if (time_s.length === 0) return null;
  const line = (role: "raw" | "smoothed" | "shown" | "truth", name: string, y: number[], stepped = false) => ({
    kind: "line" as const,
    role,
    name,
    x: time_s,
    y,
    stepped,
    label: name,
  });
  const empty = { label: "", unit: "", scale: "linear" as const, from: 0, to: 3 };
  return {
    id: "trial",
    finding: `In the roughest stretch the digit changes ${changes.shown_s.length} times; the bare reading changes it ${changes.bare_s.length} times.`,
    x: { label: "time", unit: "s", scale: "linear", from: trial.window.from_s, to: trial.window.to_s },
    panels: [
      {
        y: { label: "volume", unit: "L", scale: "linear", from: null, to: null },
        series: [
          line("raw", "raw", raw_L),
          line("smoothed", "smoothed", smoothed_L),
          line("truth", "trend", trend_L),
          line("shown", "shown", shown_L, true),
        ],
        marks: [],
        share: 0.78,
      },
      {
        y: empty,
        series: [
          {
            kind: "rug",
            role: "raw",
            name: "changes, bare",
            x: changes.bare_s,
            label: `bare ${changes.bare_s.length}`,
          },
          {
            kind: "rug",
            role: "smoothed",
            name: "changes, smoothed",
            x: changes.smoothed_s,
            label: `smoothed ${changes.smoothed_s.length}`,
          },
          {
            kind: "rug",
            role: "shown",
            name: "changes, shown",
            x: changes.shown_s,
            label: `shown ${changes.shown_s.length}`,
          },
        ],
        marks: [],
        share: 0.22,
      },
    ],
    key: [
      { role: "raw", text: "raw reading through the table" },
      { role: "smoothed", text: "after smoothing" },
      { role: "shown", text: "what the display shows" },
      { role: "truth", text: "burn trend" },
    ],
    table: {
      columns: ["time, s", "raw, L", "smoothed, L", "shown, L", "trend, L"],
      rows: time_s.map((t, i) => [Math.round(100 * t) / 100, raw_L[i]!, smoothed_L[i]!, shown_L[i]!, trend_L[i]!]),
    },
  };
}
