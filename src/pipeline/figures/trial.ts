/** Trial: the roughest few minutes, raw, smoothed and shown, with a stroke for each change of the digit. */
import type { Figure } from "../../figure/figure";
import type { Trial } from "../trial";
import { clockOf } from "./clock";

const times = (n: number): string => (n === 0 ? "never" : n === 1 ? "once" : `${n}\u00a0times`);
const changing = (n: number): string => (n === 0 ? "never changes" : `changes ${times(n)}`);

/** Null for a window without samples. */
export function trialFigure(trial: Trial): Figure | null {
  const { time_s, raw_L, smoothed_L, shown_L, trend_L, changes } = trial.window;
  if (time_s.length === 0) return null;
  const { unit, of } = clockOf(time_s);
  const time = time_s.map(of);
  const line = (role: "raw" | "smoothed" | "shown" | "truth", name: string, y: number[], stepped = false) => ({
    kind: "line" as const,
    role,
    name,
    x: time,
    y,
    stepped,
    label: name,
  });
  const empty = { label: "", unit: "", scale: "linear" as const, from: 0, to: 3 };
  return {
    id: "trial",
    finding: `In the roughest stretch the digit ${changing(changes.shown_s.length)}; the raw reading changes it ${times(changes.bare_s.length)}`,
    x: { label: "time", unit, scale: "linear", from: time[0]!, to: time.at(-1)! },
    panels: [
      {
        y: { label: "volume", unit: "L", scale: "linear", ...seen(raw_L, [...shown_L, ...trend_L]) },
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
            name: "changes, raw",
            x: changes.bare_s.map(of),
            label: `raw ${changes.bare_s.length}`,
          },
          {
            kind: "rug",
            role: "smoothed",
            name: "changes, smoothed",
            x: changes.smoothed_s.map(of),
            label: `smoothed ${changes.smoothed_s.length}`,
          },
          {
            kind: "rug",
            role: "shown",
            name: "changes, shown",
            x: changes.shown_s.map(of),
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

/** The middle 98 % of the raw reading, and all of what is shown: a single spike must not flatten the rest. */
function seen(raw: number[], whole: number[]): { from: number; to: number } {
  const sorted = raw.filter(Number.isFinite).sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0;
  const low = Math.min(at(0.01), ...whole);
  const high = Math.max(at(0.99), ...whole);
  const room = (high - low || 1) * 0.06;
  return { from: low - room, to: high + room };
}
