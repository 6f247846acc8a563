/** Odd steps: litres in each pour as the sheet says and as the reading saw it. */
import type { Figure, Mark, PointSeries } from "../../figure/figure";
import { inLitres, type VolumeWords } from "../../quantity";
import { interpolate } from "../curve-lookup";
import type { Curve } from "../curve-types";
import { amountWord } from "../sheet-words";
import type { FaultEvent, SuspectRun, SuspectSteps, TreatedStep } from "../suspect-steps";
import { volumeText } from "../words/volume";

/** One pour: what the sheet says and what the readings before and after it say. */
interface Pour {
  step: number;
  sheet: number;
  saw: number;
  /** What its two readings are worth: `set-aside` if one of them is; `stop` if the sender's stop hides a part of the pour; `left` if it is in doubt and was left as written. */
  by: "accepted" | "trial" | "left" | "set-aside" | "stop";
  /** Across the readings that are set aside, shared among the pours between them as the sheet shares them; null where both count. */
  across: number | null;
}

/** Null without a run of at least three steps. */
export function suspectStepsFigure(
  suspects: SuspectSteps,
  curve: Curve,
  volume: VolumeWords = inLitres,
): Figure | null {
  const run = suspects.runs[0];
  if (!run || run.steps.length < 3) return null;
  const word = amountWord(run);
  const first = poursOf(run, curve);
  const half = halfWidthOf(first);
  // A stop takes litres away: a pour that is seen whole did not run into it.
  const pours = first.map((p) => (p.by === "stop" && p.saw > p.sheet - half ? { ...p, by: "accepted" as const } : p));
  const points = (
    role: PointSeries["role"],
    name: string,
    list: { step: number; y: number; label?: string }[],
    bars: boolean,
  ): PointSeries[] =>
    list.length === 0
      ? []
      : [
          {
            kind: "points",
            role,
            name,
            x: list.map((p) => p.step),
            y: list.map((p) => p.y),
            ...(bars ? { lower: list.map((p) => p.y - half), upper: list.map((p) => p.y + half) } : {}),
            ...(list.some((p) => p.label) ? { labels: list.map((p) => p.label ?? null) } : {}),
          },
        ];
  const of = (by: Pour["by"]) => pours.filter((p) => p.by === by).map((p) => ({ step: p.step, y: p.saw }));
  const across = pours.flatMap((p) => (p.across === null ? [] : [{ step: p.step, y: p.across }]));
  const trial = of("trial");
  const left = of("left");
  const aside = of("set-aside");
  const stop = of("stop").map((p) => ({ ...p, label: "runs into the stop" }));
  return {
    id: "suspect-steps",
    finding: findingOf(run, pours, half, volume),
    x: { label: word, unit: "", scale: "linear", from: 0.4, to: pours.length + 0.9 },
    panels: [
      {
        y: {
          label: `volume in each ${word}`,
          unit: "L",
          scale: "linear",
          from: pours.some((p) => p.saw < 0) ? null : 0,
          to: null,
        },
        series: [
          ...points(
            "written",
            "the sheet",
            pours.map((p) => ({ step: p.step, y: p.sheet })),
            false,
          ),
          ...points("accepted", "as the reading saw it", [...of("accepted"), ...across], true),
          ...points("plain", "a part is hidden by the stop", stop, false),
          ...points("set-aside", "through the reading that is set aside", aside, false),
          ...points("suspect", "on trial", trial, true),
          ...points("suspect", inDoubt, left, true),
        ],
        marks: marksOf(run, pours, volume),
        share: 1,
      },
    ],
    key: [
      { role: "written", text: "the sheet" },
      {
        role: "accepted",
        text: `as the curve through these steps saw it, 95 % by the scatter about it`,
      },
      ...(trial.length || left.length
        ? [
            {
              role: "suspect" as const,
              text: [...(trial.length ? ["on trial"] : []), ...(left.length ? [inDoubt] : [])].join(", or "),
            },
          ]
        : []),
      ...(aside.length
        ? [
            {
              role: "set-aside" as const,
              text: "through the reading that is set aside (disc: without it)",
            },
          ]
        : []),
      ...(stop.length ? [{ role: "plain" as const, text: "the sender’s stop hides a part" }] : []),
    ],
    table: {
      columns: [word, "sheet, L", "reading saw, L", "± L", "without what is set aside, L"],
      rows: pours.map((p) => [p.step, p.sheet, p.saw, half, p.across]),
    },
  };
}

/** What a faint doubt is called in every figure: nothing was done about it. */
export const inDoubt = "in doubt, left as written";
/** What an end step is called that counts by its chance only. */
export const probablyOnStop = "probably on the sender’s stop";

/** What became of a step, for the mark that it has in every figure: counted, counted on trial by rule, counted though in doubt, or not counted. */
export const becameOf = (step: TreatedStep): "accepted" | "trial" | "left" | "set-aside" => {
  if (!step.accepted) return "set-aside";
  if (step.flag === null || step.decidedBy === "technician") return "accepted";
  return step.decidedBy === null ? "left" : "trial";
};

function poursOf(run: SuspectRun, curve: Curve): Pour[] {
  const volume = (k: number) => interpolate(curve.grid, run.steps[k]!.reading, (g) => g.volume_L);
  const aside = run.steps.map((s) => !s.accepted && s.atStop === null);
  const weighed = run.steps.some((s) => s.studentised !== null);
  const left = new Set(run.events.filter((e) => e.treatment === "left").map((e) => e.step));
  return run.steps.slice(1).map((s, i): Pour => {
    const k = i + 1;
    const through = aside[k]! || aside[k - 1]!;
    // The readings that count on either side of those set aside.
    let from = k - 1;
    while (from > 0 && aside[from]) from -= 1;
    let to = k;
    while (to < run.steps.length - 1 && aside[to]) to += 1;
    const between = run.steps.slice(from + 1, to + 1).reduce((sum, t) => sum + t.added_L, 0);
    const both = through && !aside[from] && !aside[to] && between > 0;
    const hidden = (t: typeof s) => t.accepted && (t.atStop !== null || (weighed && t.studentised === null));
    return {
      step: s.index,
      sheet: s.added_L,
      saw: volume(k) - volume(k - 1),
      by: through
        ? "set-aside"
        : left.has(s.index)
          ? "left"
          : s.flag === "missed-pour" || s.flag === "wrong-pour"
            ? "trial"
            : s.atStop !== null || hidden(s) || hidden(run.steps[k - 1]!)
              ? "stop"
              : "accepted",
      across: both ? ((volume(to) - volume(from)) * s.added_L) / between : null,
    };
  });
}

/** 95 % of a normal scatter by its upper quarter point (1.15 standard deviations): a slip that no one has found yet does not widen it. */
function halfWidthOf(pours: Pour[]): number {
  const off = pours
    .filter((p) => p.by === "accepted")
    .map((p) => Math.abs(p.saw - p.sheet))
    .sort((a, b) => a - b);
  return off.length === 0 ? 0 : (1.96 / 1.1503) * off[Math.min(off.length - 1, Math.round(0.75 * off.length))]!;
}

const fault = (e: FaultEvent) => e.kind === "missed-pour" || e.kind === "wrong-pour";

function marksOf(run: SuspectRun, pours: Pour[], volume: VolumeWords): Mark[] {
  return run.events.flatMap((e): Mark[] => {
    const p = pours.find((s) => s.step === e.step);
    if (!p) return [];
    const x = p.step + 0.45;
    if (e.treatment === "left")
      return [
        {
          kind: "gap",
          x,
          from: p.sheet,
          to: p.saw,
          text: `step ${e.step}, ${volumeText(Math.abs(e.seen_L), volume)} in doubt`,
        },
      ];
    if (fault(e))
      return [
        {
          kind: "gap",
          x,
          from: p.sheet,
          to: p.saw,
          text: `${amountWord(run)} ${e.step}: ${volumeText(Math.abs(e.amount_L), volume)} from here on`,
        },
      ];
    return p.across === null
      ? []
      : [
          {
            kind: "gap",
            x: p.step - 0.45,
            from: p.across,
            to: p.saw,
            text: `step ${e.step} read ${volumeText(Math.abs(e.seen_L), volume)} off`,
          },
        ];
  });
}

function findingOf(run: SuspectRun, pours: Pour[], half: number, volume: VolumeWords): string {
  const word = amountWord(run);
  const said = run.events.flatMap((e): string[] => {
    const p = pours.find((s) => s.step === e.step);
    if (!p) return [];
    if (e.treatment === "left")
      return [
        `step ${e.step} lies ${volumeText(Math.abs(e.seen_L), volume)} off and is left as written until you have looked`,
      ];
    if (fault(e))
      return [
        Math.abs(p.saw) < 0.02 * Math.abs(p.sheet)
          ? `${word} ${e.step} did not move the reading, where the sheet says ${volumeText(p.sheet, volume)}`
          : `${word} ${e.step} moved the reading by ${volumeText(p.saw, volume)} where the sheet says ${volumeText(p.sheet, volume)}`,
      ];
    const pair = pours.filter((q) => q.across !== null && Math.abs(q.step - e.step - 0.5) < 1);
    if (pair.length < 2) return [`the reading of step ${e.step} does not belong`];
    const right = pair.every((q) => Math.abs(q.across! - q.sheet) <= half);
    return [
      `${word}s ${e.step} and ${e.step + 1} are split wrongly by the reading of step ${e.step}; together they ${
        right
          ? "are as written"
          : `are ${volumeText(
              pair.reduce((s, q) => s + q.across!, 0),
              volume,
            )}`
      }`,
    ];
  });
  const text = said.slice(0, 2).join(". ");
  if (text) return text.replace(/(^|\. )([dpst])/g, (_, before: string, first: string) => before + first.toUpperCase());
  const furthest = Math.max(0, ...pours.filter((p) => p.by === "accepted").map((p) => Math.abs(p.saw - p.sheet)));
  return `What the reading saw of each ${word} lies within ${volumeText(furthest, volume)} of the sheet`;
}
