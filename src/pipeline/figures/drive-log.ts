/** Drive log: the volume from the lowest to the highest of each stretch, with the burn trend through it where the log is long enough to tell a burn. */
import type { Figure } from "../../figure/figure";
import { inLitres, quantityInUnit, type VolumeWords } from "../../quantity";
import type { DriveLog } from "../drive-log";
import { tooShortForBurn } from "../measured-burn";
import { litresPair, withoutUnit } from "../words/quantity";

/** Null for a log without a single good reading. @param isFound the litres are those of the table found in the device. */
export function driveLogFigure(log: DriveLog, volume: VolumeWords = inLitres, isFound = false): Figure | null {
  const { time_s, low_L, high_L, trend_L } = log.trace;
  if (time_s.length === 0) return null;
  // Up to two minutes in seconds, as the sentence says it.
  const [unit, seconds] = log.duration_s > 120 ? (["min", 60] as const) : (["s", 1] as const);
  const times = time_s.map((t) => t / seconds);
  const hasTrend = !tooShortForBurn(log);
  return {
    id: "drive-log",
    finding: hasTrend
      ? `The volume swings about a trend that ${course(log, volume)}`
      : "The volume swings; the log is too short to tell a trend",
    x: { label: "time", unit, scale: "linear", from: null, to: null },
    panels: [
      {
        y: {
          label: isFound ? "volume by the table found" : "volume by the curve",
          unit: "L",
          scale: "linear",
          from: null,
          to: null,
        },
        series: [
          // A line up and down: a band would have no width where a stretch holds one reading or the same one again.
          {
            kind: "line",
            role: "raw",
            name: "lowest to highest",
            x: times.flatMap((t) => [t, t]),
            y: times.flatMap((_, i) => (i % 2 === 0 ? [low_L[i]!, high_L[i]!] : [high_L[i]!, low_L[i]!])),
            label: null,
          },
          ...(hasTrend
            ? [
                {
                  kind: "line" as const,
                  role: "curve" as const,
                  name: "burn trend",
                  x: times,
                  y: trend_L,
                  label: "burn trend",
                },
              ]
            : []),
        ],
        marks: log.parts
          .filter((part) => part.kind !== "driving")
          .map((part) => ({ kind: "region", from: part.from_s / seconds, to: part.to_s / seconds, text: part.kind })),
        share: 1,
      },
    ],
    key: [
      { role: "raw", text: "lowest to highest reading of each stretch" },
      ...(hasTrend ? [{ role: "curve" as const, text: "burn trend" }] : []),
    ],
    table: {
      columns: [`time, ${unit}`, "lowest, L", "highest, L", ...(hasTrend ? ["trend, L"] : [])],
      rows: times.map((t, i) => [t, low_L[i]!, high_L[i]!, ...(hasTrend ? [trend_L[i]!] : [])]),
    },
  };
}

/** In words, what the trend does; a refuel is a rise between two falls. */
function course({ from_L, to_L, parts }: DriveLog, volume: VolumeWords): string {
  const pair = litresPair(1, [null, from_L], [null, to_L]);
  const [from, to] = pair.map((q) => quantityInUnit(q, volume).text);
  if (parts.some((p) => p.kind === "refuelling")) return `goes from ${from} over a refuel to ${to}`;
  return from === to ? `stays at ${from}` : `falls from ${quantityInUnit(withoutUnit(pair[0]), volume).text} to ${to}`;
}
