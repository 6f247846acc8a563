/** Display: the trade of lag against steadiness, one line for each deadband, the chosen point and the wanted limit on it. */

import type { Figure, LineSeries } from "../../figure/figure";
import { setText } from "../../format";
import { inLitres, quantityInUnit, quantityOf, type VolumeWords } from "../../quantity";
import type { Display } from "../display";
import type { Job } from "../job";
import { rateText } from "../words/quantity";
import { volumeSetText } from "../words/volume";

/** Lines drawn: more would hide each other. */
const mostLines = 7;

type Line = Display["trade"][number];

/** The lines that can be seen, the one nearest to what is set, and the deadband from which on the others hardly turn round. */
function linesOf(display: Display): { moving: Line[]; nearest: Line; quiet: Line | null; lowest: number } | null {
  const trade = display.trade.filter((line) => line.points.length > 1);
  if (trade.length === 0) return null;
  // On a log axis no smoothing at all stands at the shortest one tried, and no reversals at one in ten minutes.
  const tried = trade.flatMap((line) => line.points.map((p) => p.timeConstant_s)).filter((t) => t > 0);
  const nearest = trade.reduce((a, b) =>
    Math.abs(b.deadband_L - display.deadband_L) < Math.abs(a.deadband_L - display.deadband_L) ? b : a,
  );
  const every = Math.ceil(trade.length / mostLines);
  const drawn = trade.filter((line, i) => i % every === 0 || line === nearest);
  // A deadband whose display hardly ever turns round has no line to see: the key says from which one on.
  const still = (line: Line) => line !== nearest && drawnPart(line.points).y.every((v) => v <= least);
  return {
    moving: drawn.filter((line) => !still(line)),
    nearest,
    quiet: trade.find((line, i) => still(line) && trade.slice(i).every((l) => l === nearest || still(l))) ?? null,
    lowest: tried.length > 0 ? Math.min(...tried) : 0.1,
  };
}

/** Null where the device leaves nothing to choose, and on a log that is too short to tell one setting from another. */
export function displayFigure(display: Display, job: Job, volume: VolumeWords = inLitres): Figure | null {
  const lines = display.tooShort ? null : linesOf(display);
  if (!lines) return null;
  const { moving, nearest, quiet, lowest } = lines;
  const series: LineSeries[] = moving.map((line) => ({
    kind: "line",
    role: line === nearest ? "curve" : "other",
    name: nameOf(line.deadband_L, volume),
    ...drawnPart(line.points),
    // The unit stands in the key: with it words are wider than the lines are apart.
    label: line.deadband_L === 0 ? "no deadband" : `±\u00a0${bareText(line.deadband_L, volume)}`,
  }));
  const wanted = job.targets.displayReversalsPerMinute;
  return {
    id: "display",
    finding: `With ${setText(display.timeConstant_s, "s")} and a deadband of ${volumeSetText(display.deadband_L, volume, 2)} the display ${display.reversalsPerMinute === 0 ? "never turns round" : `turns round ${rateText(display.reversalsPerMinute)} times a minute`}`,
    x: { label: "time constant", unit: "s", scale: "log", from: lowest, to: null },
    panels: [
      {
        y: { label: "reversals a minute", unit: "", scale: "log", from: least, to: null },
        series: [
          ...series,
          {
            kind: "points",
            role: "chosen",
            name: display.overridden ? "your choice" : "recommended",
            x: [Math.max(display.timeConstant_s, lowest)],
            y: [Math.max(display.reversalsPerMinute, least)],
            lower: [Math.max(0.1, display.reversalsPerMinute - display.reversalsHalfWidth)],
            upper: [display.reversalsPerMinute + display.reversalsHalfWidth],
          },
          ...(display.overridden
            ? [
                {
                  kind: "points" as const,
                  role: "plain" as const,
                  name: "recommended",
                  // On log axes: at the edge where it lies beyond.
                  x: [Math.max(display.recommended.timeConstant_s, lowest)],
                  y: [Math.max(display.recommended.reversalsPerMinute, least)],
                },
              ]
            : []),
        ],
        picks: displayPicks(display).map((p) => ({
          x: p.timeConstant_s,
          y: p.reversalsPerMinute,
          says: `${setText(p.timeConstant_s, "s")}, ${nameOf(p.deadband_L, volume)}: ${rateText(p.reversalsPerMinute)} a minute`,
        })),
        marks: [{ kind: "horizontal", y: wanted, text: `wanted: ${wanted} a minute`, role: "limit" }],
        share: 1,
      },
    ],
    key: [
      { role: "curve", text: "with the deadband chosen" },
      {
        role: "other",
        text: quiet
          ? `with other deadbands, ${volume.sign}; from ±\u00a0${volumeSetText(quiet.deadband_L, volume, 2)} on at most one turn in ten minutes`
          : `with other deadbands, ${volume.sign}`,
      },
      { role: "chosen", text: display.overridden ? "your choice" : "recommended" },
      ...(display.overridden ? [{ role: "plain" as const, text: "recommended" }] : []),
      { role: "limit", text: "wanted steadiness" },
    ],
    table: {
      columns: ["deadband, L", "time constant, s", "reversals a minute", "digit changes a minute", "lag, L"],
      rows: display.trade.flatMap((line) =>
        line.points.map((p) => [
          line.deadband_L,
          p.timeConstant_s,
          p.reversalsPerMinute,
          p.digitChangesPerMinute,
          p.lag_L,
        ]),
      ),
    },
  };
}

/** The settings of every point of the figure's lines that can be seen, in the order of its picks. */
export function displayPicks(
  display: Display,
): { timeConstant_s: number; deadband_L: number; reversalsPerMinute: number }[] {
  return (linesOf(display)?.moving ?? []).flatMap((line) => {
    const { x, y } = drawnPart(line.points);
    return x.flatMap((timeConstant_s, i) =>
      y[i]! > least ? [{ timeConstant_s, deadband_L: line.deadband_L, reversalsPerMinute: y[i]! }] : [],
    );
  });
}

const nameOf = (deadband_L: number, volume: VolumeWords) =>
  deadband_L === 0 ? "no deadband" : `deadband ${volumeSetText(deadband_L, volume, 2)}`;

const bareText = (deadband_L: number, volume: VolumeWords) =>
  quantityInUnit(
    quantityOf({ path: null, value: deadband_L, unit: "L", rounding: { by: "set", figures: 2 }, bare: true }),
    volume,
  ).text;

/** Reversals a minute under which the figure stops: one in ten minutes. */
const least = 0.1;

/** A log axis has no place for no smoothing; a line that has reached the floor for good ends there. */
function drawnPart(points: Display["trade"][number]["points"]): { x: number[]; y: number[] } {
  const some = points.filter((p) => p.timeConstant_s > 0);
  let last = some.length - 1;
  while (last > 0 && some[last - 1]!.reversalsPerMinute <= least) last--;
  const kept = some.slice(0, last + 1);
  return { x: kept.map((p) => p.timeConstant_s), y: kept.map((p) => Math.max(p.reversalsPerMinute, least)) };
}
