/** Drive log: lowest and highest volume of each stretch with the burn trend through it. */
import type { Figure } from "../../figure/figure";
import { fixed } from "../../format";
import type { DriveLog } from "../drive-log";

/** Null for a log without a single good reading. */
export function driveLogFigure(log: DriveLog): Figure | null {
  const { time_s, low_L, high_L, trend_L } = log.trace;
  if (time_s.length === 0) return null;
  const minutes = time_s.map((t) => t / 60);
  return {
    id: "drive-log",
    finding: `The volume swings about a trend that falls from ${fixed(log.from_L, 1)} to ${fixed(log.to_L, 1)} L.`,
    x: { label: "time", unit: "min", scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "volume by the curve", unit: "L", scale: "linear", from: null, to: null },
        series: [
          { kind: "band", name: "lowest to highest", x: minutes, lower: low_L, upper: high_L, label: null },
          { kind: "line", role: "curve", name: "burn trend", x: minutes, y: trend_L, label: "burn trend" },
        ],
        marks: log.parts
          .filter((part) => part.kind !== "driving")
          .map((part) => ({ kind: "region", from: part.from_s / 60, to: part.to_s / 60, text: part.kind })),
        share: 1,
      },
    ],
    key: [
      { role: "band", text: "lowest to highest reading of each stretch" },
      { role: "curve", text: "burn trend" },
    ],
    table: {
      columns: ["time, min", "lowest, L", "highest, L", "trend, L"],
      rows: minutes.map((t, i) => [t, low_L[i]!, high_L[i]!, trend_L[i]!]),
    },
  };
}
