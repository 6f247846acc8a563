/** Fill run: the recording with its plateaus, or reading against what was poured. */
import type { Figure } from "../../figure/figure";
import type { FillRuns } from "../fill-run";
import { stepsOnStop } from "../on-stop";
import type { SuspectSteps } from "../suspect-steps";
import { unitSign } from "../words/quantity";
import { clockOf } from "./clock";
import { probablyOnStop } from "./suspect-steps";

export function fillRunFigure(fill: FillRuns, suspects: SuspectSteps | null): Figure {
  const run = fill.runs[0]!;
  const u = unitSign(fill.readingUnit);
  const table = {
    columns: ["step", "volume, L", `reading, ${u}`, `± ${u}`],
    rows: run.steps.map((s) => [s.index, s.volume_L, s.reading, s.standardError]),
  };
  const asideOf = (index: number) => suspects?.runs[0]?.steps.find((s) => s.index === index)?.accepted === false;
  if (run.trace) {
    const plateaus = run.steps.filter((s) => s.from_s !== null && s.to_s !== null);
    const { unit, of } = clockOf(run.trace.time_s);
    return {
      id: "fill-run",
      finding: "Each level stretch is a step; what came before it settled is left out",
      x: { label: "time", unit, scale: "linear", from: null, to: null },
      panels: [
        {
          y: { label: "reading", unit: u, scale: "linear", from: null, to: null },
          series: [
            {
              kind: "line",
              role: "raw",
              name: "recording",
              x: run.trace.time_s.map(of),
              y: run.trace.reading,
              label: null,
            },
            ...plateaus.map((s) => ({
              kind: "line" as const,
              role: "curve" as const,
              name: `step ${s.index}`,
              x: [of(s.from_s!), of(s.to_s!)],
              y: [s.reading, s.reading],
              label: String(s.index),
            })),
          ],
          marks: [],
          share: 1,
        },
      ],
      key: [
        { role: "raw", text: "recording" },
        { role: "curve", text: "steps" },
      ],
      table,
    };
  }
  const onStop = new Set((suspects?.runs[0] ? stepsOnStop(suspects.runs[0]) : []).map((o) => o.step.index));
  const part = (list: typeof run.steps) => ({
    x: list.map((s) => s.volume_L),
    y: list.map((s) => s.reading),
    lower: list.map((s) => s.reading - 1.96 * s.standardError),
    upper: list.map((s) => s.reading + 1.96 * s.standardError),
  });
  return {
    id: "fill-run",
    finding:
      run.direction === "drain"
        ? "The reading at each step, over what the sheet says was left to draw"
        : "The reading at each step, over what the sheet says was poured",
    x: { label: "poured by the sheet", unit: "L", scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "reading", unit: u, scale: "linear", from: null, to: null },
        series: [
          {
            kind: "points",
            role: "accepted",
            name: "used",
            ...part(run.steps.filter((s) => !asideOf(s.index) && !onStop.has(s.index))),
          },
          {
            kind: "points",
            role: "plain",
            name: probablyOnStop,
            ...part(run.steps.filter((s) => onStop.has(s.index))),
            labels: run.steps.filter((s) => onStop.has(s.index)).map((s) => String(s.index)),
          },
          {
            kind: "points",
            role: "set-aside",
            name: "set aside",
            ...part(run.steps.filter((s) => asideOf(s.index))),
            labels: run.steps.filter((s) => asideOf(s.index)).map((s) => String(s.index)),
          },
        ],
        marks: [],
        share: 1,
      },
    ],
    key: [
      { role: "accepted", text: "used" },
      ...(onStop.size > 0 ? [{ role: "plain" as const, text: probablyOnStop }] : []),
      ...(run.steps.some((s) => asideOf(s.index)) ? [{ role: "set-aside" as const, text: "set aside" }] : []),
    ],
    table,
  };
}
