/** What the end-margins leaf says. */
import { dryPart, type EndMargin, type Ends } from "../ends";
import type { Job, ReadingUnit } from "../job";
import { endsBeside } from "./beside";
import type { Finding, Phrase, WorkingLine } from "./finding";
import {
  counted,
  duration,
  litres,
  percent,
  quantity,
  rate,
  setting,
  settings,
  unitSign,
  withoutUnit,
} from "./quantity";

export function endsFinding(ends: Ends, unit: ReadingUnit, job: Job): Finding {
  const sign = unitSign(unit);
  const [emptyAt, fullAt] = settings(sign, [
    [`ends.emptyReading_${unit}`, ends.empty.reading],
    [`ends.fullReading_${unit}`, ends.full.reading],
  ]);
  const wanted = job.targets.endFlickersPerHour;
  const { tooShort } = ends;
  const over = !tooShort && [ends.empty, ends.full].some((e) => e.flickersPerHour > wanted);
  const alike = [ends.empty, ends.full].find((e) => e.looksLike !== null);
  return {
    question: "How much is kept back at each end?",
    sentence: [
      "Empty is told at ",
      emptyAt!,
      " and full at ",
      fullAt!,
      ": that hides ",
      litres("ends.emptyHidden_L", ends.empty.hidden_L),
      " of usable fuel at the bottom",
      ...(ends.underStop_L === undefined
        ? []
        : [", over another ", litres("ends.underStop_L", ends.underStop_L), " that lie under the sender’s own stop,"]),
      " and ",
      litres("ends.fullHidden_L", ends.full.hidden_L),
      " at the top",
      ...flickers(ends),
    ],
    further:
      ends.empty.zeroInTime === null
        ? []
        : [
            "When the pick-up runs dry the display already says 0 with a chance of ",
            percent("ends.empty.zeroInTime", ends.empty.zeroInTime, 0),
            ...lateDays(ends.empty, ends.empty.zeroInTime, job, unit),
          ],
    short: [
      withoutUnit(litres("ends.emptyHidden_L", ends.empty.hidden_L)),
      " and ",
      litres("ends.fullHidden_L", ends.full.hidden_L),
    ],
    condition: [
      ends.empty.evidence === "drive-log" && ends.full.evidence === "drive-log"
        ? "Counted on your drive log, which stood long enough at both ends."
        : ends.filteredSd > 0
          ? tooShort
            ? "Reckoned from the little motion that so short a log shows: more driving may move both ends."
            : `Your drive log did not stand at both ends for long enough to count there. So each end is ${byReplay(ends.empty) ? "counted with the log’s motion carried to it, smoothed behind the table as your device does." : "both reckoned by formula and counted with the log’s motion carried to it, and the larger figure stands here."}`
          : "No drive log: from how well readings at rest repeat.",
    ],
    caution: alike
      ? `A ${alike.looksLike === "short" ? "short circuit" : "broken wire"} reads like the ${alike === ends.empty ? "empty" : "full"} end of this sender, and no device can tell the two apart: when that happens the display shows ${alike === ends.empty ? "empty" : "full"}.`
      : over
        ? `More than the ${wanted} ${wanted === 1 ? "flicker" : "flickers"} an hour you want, mostly while the level passes the end: only more smoothing or a wider deadband would cure that.`
        : null,
    says: ["ends/too-short"],
    beside: endsBeside(ends, unit),
  };
}

/** A device that smooths behind its table: no formula, replay alone. */
const byReplay = (end: EndMargin): boolean => end.byFormula === null && end.carried !== null;

/** What a typed step that is coarse for this curve may move the chance by: more than this is no matter of rounding. */
const byRounding = 0.1;

/** A coarse sender may not reach what the job allows: then that is said, not the wish alone. The typed step is to blame where the end lies short of what was wanted. */
function lateDays(empty: Ends["empty"], inTime: number, job: Job, unit: ReadingUnit): Phrase[] {
  const allowed = job.targets.lateZeroRisk;
  const wish = percent("job.targets.lateZeroRisk", allowed, 0);
  const late = 1 - inTime;
  // What nobody stated is not laid at the job's door.
  const by = job.assumed.some((a) => a.path === "targets.lateZeroRisk") ? "the named default" : "your job";
  const wanted = empty.parts.find((p) => p.part === dryPart)?.value ?? 0;
  const rounded = !empty.overridden && empty.margin < wanted;
  if (late > allowed + (rounded ? byRounding : 0.05))
    return [", so it is late more often than on the ", wish, ` of days that ${by} allows.`];
  if (late <= allowed + 0.005) return [`; ${by} allows it to be late on `, wish, " of days."];
  const step = job.device.tableReadingStep;
  const typed = job.device.tableReadingUnit ?? unit;
  return [
    "; on ",
    percent(null, late, 0),
    ` of days it is late, and ${by} allows `,
    wish,
    ...(rounded
      ? [
          ": the device takes readings only in whole steps",
          ...(step === null ? [] : [" of ", setting(null, step, typed === "mV" ? "mV" : unitSign(typed))]),
          ", so the end to type lies a little short of the one worked out.",
        ]
      : [", hardly more."]),
  ];
}

function flickers(ends: Ends): Phrase[] {
  const { empty, full, tooShort } = ends;
  if (!(ends.filteredSd > 0)) return [". How often the end digits flicker is not known without a drive log."];
  if (tooShort)
    return [
      ". The log is too short to tell how often the end digits flicker: ",
      `${tooShort.file}, `,
      duration("ends.tooShort.driven_s", tooShort.driven_s),
      " of driving, and ten minutes or more are wanted.",
    ];
  const rateAt = (end: "empty" | "full"): Phrase[] => {
    const { flickersUnder, flickersPerHour } = ends[end];
    return flickersUnder === null
      ? [rate(`ends.${end}FlickersPerHour`, flickersPerHour)]
      : ["under ", rate(`ends.${end}.flickersUnder`, flickersUnder)];
  };
  const none: Phrase[] =
    empty.flickersUnder !== null || full.flickersUnder !== null
      ? [": where none was counted, so short a log shows no more than that."]
      : ["."];
  if (empty.flickersPerHour === 0 && full.flickersPerHour === 0 && none.length === 1 && none[0] === ".")
    return [", and neither end digit flickers."];
  const [atEmpty, atFull] = [rateAt("empty"), rateAt("full")];
  const text = (phrases: Phrase[]) => phrases.map((p) => (typeof p === "string" ? p : p.text)).join("");
  return text(atEmpty) === text(atFull)
    ? [", and each end digit flickers ", ...atEmpty, " times an hour", ...none]
    : [", and the end digits flicker ", ...atEmpty, " times an hour at empty and ", ...atFull, " at full", ...none];
}

export function endsWorking(ends: Ends, unit: ReadingUnit): WorkingLine[] {
  const sign = unitSign(unit);
  const lines = (end: "empty" | "full", margin: EndMargin): WorkingLine[] => [
    {
      what: `Margin at the ${end} end`,
      formula: byReplay(margin)
        ? "mean of the motion that the end row leaves, ∫max(0, x − m)·p(x) dx times the slope, within what the digit holds; then replay"
        : "noise by the crossing rate f₀·exp(−m²/2σ²), other parts in quadrature, drift added",
      figures: [quantity(`ends.${end}.margin_${unit}`, margin.margin, sign, 2)],
      source: byReplay(margin)
        ? "mean of a cut-off distribution (derived); replay of the log"
        : "Rice 1944/45, Bell System Technical Journal 23–24",
    },
    {
      what: `Flickers an hour at the ${end} end`,
      formula: `${byReplay(margin) ? "" : "by the crossing rate; and "}counted with the log’s motion laid over a level that falls through this end`,
      figures:
        margin.carried === null
          ? []
          : margin.byFormula === null
            ? [counted(`ends.${end}.carried`, margin.carried, 1), " carried to this end"]
            : [
                counted(`ends.${end}.byFormula`, margin.byFormula, 1),
                " by formula, ",
                counted(`ends.${end}.carried`, margin.carried, 1),
                " carried to this end",
              ],
      source:
        margin.carried === null
          ? null
          : ends.tooShort
            ? "the log is too short for either figure to hold"
            : margin.evidence === "drive-log"
              ? "the log stood here long enough: what it did here counts"
              : `the log did not stand here long enough: ${byReplay(margin) ? "what is carried" : "the larger of the two"} counts`,
    },
    ...margin.parts.map(
      (part, i): WorkingLine => ({
        what: `${part.part} (${part.why})`,
        formula: null,
        figures: [quantity(`ends.${end}.parts.${i}.value`, part.value, sign, 2)],
        source: null,
      }),
    ),
  ];
  return [
    {
      what: "Noise after smoothing",
      formula: `standard deviation of the log’s reading behind ${byReplay(ends.empty) ? "such a" : "the device’s"} filter`,
      figures: [quantity(`ends.filteredSd_${unit}`, ends.filteredSd, sign, 2)],
      source: null,
    },
    ...lines("empty", ends.empty),
    ...lines("full", ends.full),
  ];
}
