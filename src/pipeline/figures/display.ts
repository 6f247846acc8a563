/** Display: the trade of lag against steadiness, one line for each deadband, the chosen point and the wanted limit on it. */
import type { Figure, LineSeries } from "../../figure/figure";
import { withUnit } from "../../format";
import type { Display } from "../display";
import type { Job } from "../job";

/** Lines drawn: more would hide each other. */
const mostLines = 7;

/** Null where the device leaves nothing to choose. */
export function displayFigure(display: Display, job: Job): Figure | null {
  const trade = display.trade.filter((line) => line.points.length > 1);
  if (trade.length === 0) return null;
  const nearest = trade.reduce((a, b) =>
    Math.abs(b.deadband_L - display.deadband_L) < Math.abs(a.deadband_L - display.deadband_L) ? b : a,
  );
  const every = Math.ceil(trade.length / mostLines);
  const drawn = trade.filter((line, i) => i % every === 0 || line === nearest);
  const series: LineSeries[] = drawn.map((line) => ({
    kind: "line",
    role: line === nearest ? "curve" : "other",
    name: `deadband ${withUnit(line.deadband_L, "L", 2)}`,
    x: line.points.map((p) => p.timeConstant_s),
    y: line.points.map((p) => p.reversalsPerMinute),
    label: `±\u00a0${withUnit(line.deadband_L, "L", 2)}`,
  }));
  const wanted = job.targets.displayReversalsPerMinute;
  return {
    id: "display",
    finding: `With ${withUnit(display.timeConstant_s, "s")} and a deadband of ${withUnit(display.deadband_L, "L", 2)} the display turns round ${withUnit(display.reversalsPerMinute, "", 2)} times a minute.`,
    x: { label: "time constant", unit: "s", scale: "linear", from: 0, to: null },
    panels: [
      {
        y: { label: "reversals", unit: "per minute", scale: "linear", from: 0, to: null },
        series: [
          ...series,
          {
            kind: "points",
            role: "chosen",
            name: display.overridden ? "your choice" : "recommended",
            x: [display.timeConstant_s],
            y: [display.reversalsPerMinute],
            lower: [Math.max(0, display.reversalsPerMinute - display.reversalsHalfWidth)],
            upper: [display.reversalsPerMinute + display.reversalsHalfWidth],
          },
          ...(display.overridden
            ? [
                {
                  kind: "points" as const,
                  role: "plain" as const,
                  name: "recommended",
                  x: [display.recommended.timeConstant_s],
                  y: [display.recommended.reversalsPerMinute],
                },
              ]
            : []),
        ],
        marks: [{ kind: "horizontal", y: wanted, text: `wanted: ${wanted} a minute`, role: "limit" }],
        share: 1,
      },
    ],
    key: [
      { role: "curve", text: "with the deadband chosen" },
      { role: "other", text: "with other deadbands" },
      { role: "chosen", text: display.overridden ? "your choice" : "recommended" },
      { role: "limit", text: "wanted steadiness" },
    ],
    table: {
      columns: ["deadband, L", "time constant, s", "reversals a minute", "digit changes a minute", "lag, L"],
      rows: trade.flatMap((line) =>
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
