/** Fill run: the recording with its plateaus, or reading against what was poured. */
import type { Figure, LineSeries, PointSeries } from "../../figure/figure";
import { otherStrokes } from "../../figure/shapes";
import type { FillRuns } from "../fill-run";
import { stepsOnStop } from "../on-stop";
import type { SuspectSteps } from "../suspect-steps";
import { unitSign } from "../words/quantity";
import { clockOf } from "./clock";
import { becameOf, inDoubt, probablyOnStop } from "./suspect-steps";

const names = { accepted: "used", trial: "on trial", left: inDoubt, "set-aside": "set aside" } as const;

export function fillRunFigure(fill: FillRuns, suspects: SuspectSteps | null): Figure {
  const run = fill.runs[0]!;
  const u = unitSign(fill.readingUnit);
  const treated = new Map(suspects?.runs[0]?.steps.map((s) => [s.index, becameOf(s)]));
  const became = (index: number) => treated.get(index) ?? "accepted";
  const doubtful = (["trial", "left"] as const).filter((d) => run.steps.some((s) => became(s.index) === d));
  const hasAside = run.steps.some((s) => became(s.index) === "set-aside");
  const doubtKey: Figure["key"] = [
    ...(doubtful.length > 0 ? [{ role: "suspect" as const, text: doubtful.map((d) => names[d]).join(", or ") }] : []),
    ...(hasAside ? [{ role: "set-aside" as const, text: names["set-aside"] }] : []),
  ];
  const onStop = new Set((suspects?.runs[0] ? stepsOnStop(suspects.runs[0]) : []).map((o) => o.step.index));
  const table = {
    columns: ["step", "volume, L", `reading, ${u}`, `± ${u}`, "what became of it"],
    rows: run.steps.map((s) => [
      s.index,
      s.volume_L,
      s.reading,
      s.standardError,
      onStop.has(s.index) ? probablyOnStop : names[became(s.index)],
    ]),
  };
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
            // Over its level stretch, with the mark that the step has in every other figure; its number stands there already.
            ...(["trial", "left", "set-aside"] as const).flatMap((what): PointSeries[] => {
              const some = plateaus.filter((s) => became(s.index) === what);
              if (some.length === 0) return [];
              return [
                {
                  kind: "points",
                  role: what === "set-aside" ? "set-aside" : "suspect",
                  name: names[what],
                  x: some.map((s) => of((s.from_s! + s.to_s!) / 2)),
                  y: some.map((s) => s.reading),
                },
              ];
            }),
          ],
          marks: [],
          share: 1,
        },
      ],
      key: [{ role: "raw", text: "recording" }, { role: "curve", text: "steps" }, ...doubtKey],
      table,
    };
  }
  const part = (list: typeof run.steps) => ({
    x: list.map((s) => s.volume_L),
    y: list.map((s) => s.reading),
    lower: list.map((s) => s.reading - 1.96 * s.standardError),
    upper: list.map((s) => s.reading + 1.96 * s.standardError),
  });
  const numbers = (list: typeof run.steps) => list.map((s) => String(s.index));
  const others = otherRuns(fill, suspects);
  const stands = run.steps.filter((s) => onStop.has(s.index));
  const aside = run.steps.filter((s) => became(s.index) === "set-aside");
  const plainly = run.steps.filter((s) => became(s.index) === "accepted" && !onStop.has(s.index));
  return {
    id: "fill-run",
    finding:
      others.length > 0
        ? "The reading at each step of all runs, over what the sheets say was in the tank"
        : run.direction === "drain"
          ? "The reading at each step, over what the sheet says was left to draw"
          : "The reading at each step, over what the sheet says was poured",
    x: {
      label: others.length > 0 ? "in the tank by the sheets" : "poured by the sheet",
      unit: "L",
      scale: "linear",
      from: null,
      to: null,
    },
    panels: [
      {
        y: { label: "reading", unit: u, scale: "linear", from: null, to: null },
        series: [
          ...others,
          { kind: "points", role: "accepted", name: names.accepted, ...part(plainly) },
          { kind: "points", role: "plain", name: probablyOnStop, ...part(stands), labels: numbers(stands) },
          ...doubtful.map((d): PointSeries => {
            const some = run.steps.filter((s) => became(s.index) === d);
            return { kind: "points", role: "suspect", name: names[d], ...part(some), labels: numbers(some) };
          }),
          { kind: "points", role: "set-aside", name: names["set-aside"], ...part(aside), labels: numbers(aside) },
        ],
        marks: [],
        share: 1,
      },
    ],
    key: [
      { role: "accepted", text: others.length > 0 ? `${names.accepted}, of ${run.file}` : names.accepted },
      ...others.slice(0, otherStrokes).map((_, nth) => ({
        role: "other" as const,
        // Where strokes come again, one stands for all that have it.
        text: others
          .filter((_, k) => k % otherStrokes === nth)
          .map((o) => o.name)
          .join("; "),
        nth,
      })),
      ...(onStop.size > 0 ? [{ role: "plain" as const, text: probablyOnStop }] : []),
      ...doubtKey,
    ],
    table: others.length > 0 ? withRuns(table, run.file, fill, suspects) : table,
  };
}

type Treated = SuspectSteps["runs"][number]["steps"][number];

const treatedIn = (suspects: SuspectSteps | null, k: number): Map<number, Treated> =>
  new Map(suspects?.runs[k]?.steps.map((s) => [s.index, s]));

/** The further runs, a line each through the steps that count: how far a later day or a falling level reads beside the first. */
function otherRuns(fill: FillRuns, suspects: SuspectSteps | null): LineSeries[] {
  return fill.runs.slice(1).map((run, k) => {
    const treated = treatedIn(suspects, k + 1);
    const counted = run.steps.filter((s) => {
      const found = treated.get(s.index);
      return !found || becameOf(found) !== "set-aside";
    });
    return {
      kind: "line",
      role: "other",
      name: run.direction === "drain" ? `${run.file} (drained)` : run.file,
      x: counted.map((s) => s.volume_L),
      y: counted.map((s) => s.reading),
      label: null,
    };
  });
}

/** The table with the steps of all runs, each with its file. */
function withRuns(
  first: Figure["table"],
  file: string,
  fill: FillRuns,
  suspects: SuspectSteps | null,
): Figure["table"] {
  const further = fill.runs.slice(1).flatMap((run, k) => {
    const treated = treatedIn(suspects, k + 1);
    return run.steps.map((s) => {
      const found = treated.get(s.index);
      return [run.file, s.index, s.volume_L, s.reading, s.standardError, names[found ? becameOf(found) : "accepted"]];
    });
  });
  return { columns: ["file", ...first.columns], rows: [...first.rows.map((row) => [file, ...row]), ...further] };
}
