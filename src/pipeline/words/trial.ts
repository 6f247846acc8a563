/** What the trial leaf says. */
import { quantityOf } from "../../quantity";
import { saidIn } from "../../said";
import type { FoundDeadband } from "../as-found";
import type { Complaint } from "../complaint";
import type { Job } from "../job";
import type { Trial } from "../trial";
import type { TrialRun } from "../trial-run";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { counted, quantity, rate } from "./quantity";
import { volumeWordsOf } from "./volume";

/** Like the head and the display leaf: a display that stands still never turns round. `never` and `turning` hold the verb in its tense. */
const turns = (
  perMinute: number,
  path = "trial.reversalsPerMinute",
  never = "it never turns round",
  turning = "it turns round ",
): Phrase[] => (perMinute === 0 ? [never] : [turning, rate(path, perMinute), " times a minute"]);

/** What the display does on the worst of several logs. */
function worstOf(trial: Trial): Phrase[] {
  const worst = trial.byLog[trial.worstLog]!;
  return [
    ` Of the ${trial.byLog.length} logs ${worst.file} is the worst: on it the display `,
    ...turns(
      worst.reversalsPerMinute,
      `trial.byLog.${trial.worstLog}.reversalsPerMinute`,
      "never turns round",
      "turns round ",
    ),
    " and strays ",
    quantity(`trial.byLog.${trial.worstLog}.rmsError_L`, worst.rmsError_L, "L", 2),
    ".",
  ];
}

/** Under two minutes in seconds. */
const lasting = (minutes: number): Quantity =>
  minutes < 2
    ? quantityOf({
        path: "trial.minutes",
        value: minutes,
        unit: "s",
        times: 1 / 60,
        rounding: { by: "figures", figures: 2 },
      })
    : counted("trial.minutes", minutes, 0, "min");

const unseenWords: Record<NonNullable<Trial["unseen"]>, string> = {
  "sender-end": "its reading stands at or beyond an end of the sender",
  parked: "the vehicle stands in it",
  "noise-alone": "nothing but noise is in its reading",
};

/** @param complaint with its cause, which then stands first. */
export function trialFinding(trial: Trial, job: Job, complaint: Complaint | null = null): Finding {
  const wanted = job.targets.displayReversalsPerMinute;
  const worst = trial.byLog[trial.worstLog]!;
  const stated = complaint?.stated ? complaint.says : null;
  const shown: Phrase[] = [
    // Under a complaint of the display that was found, it must be clear which one this is.
    trial.unseen
      ? `Whether ${stated ? "with what will be typed " : ""}the display stands still on the road the log does not show, since ${unseenWords[trial.unseen]}: on it `
      : trial.tooShort
        ? `The log is too short to tell whether ${stated ? "with what will be typed " : ""}the display stands still: on it `
        : `${stated ? "With what will be typed, the display " : "The display "}${worst.reversalsPerMinute <= wanted ? "stands still enough: " : "still dances: "}`,
    ...turns(trial.reversalsPerMinute),
    " and strays ",
    quantity("trial.rmsError_L", trial.rmsError_L, "L", 2),
    " from the trend (root mean square). ",
  ];
  if (trial.asFound)
    shown.push(
      "As found it ",
      ...turns(
        trial.asFound.reversalsPerMinute,
        "trial.asFound.reversalsPerMinute",
        "never turned round",
        "turned round ",
      ),
      " and strayed ",
      quantity("trial.asFound.rmsError_L", trial.asFound.rmsError_L, "L", 2),
      ".",
    );
  else
    shown.push(
      "With two points and a 1\u00a0s filter it would ",
      ...turns(
        trial.twoPoint.reversalsPerMinute,
        "trial.twoPoint.reversalsPerMinute",
        "never turn round",
        "turn round ",
      ),
      " and stray ",
      quantity("trial.twoPoint.rmsError_L", trial.twoPoint.rmsError_L, "L", 2),
      ".",
    );
  if (trial.byLog.length > 1) shown.push(...worstOf(trial));
  return {
    question: "Would the driver trust this display?",
    sentence: stated ? [saidIn(stated, volumeWordsOf(job))] : shown,
    further: stated ? shown : [],
    short:
      trial.reversalsPerMinute === 0
        ? ["never turns"]
        : [rate("trial.reversalsPerMinute", trial.reversalsPerMinute), " turns a minute"],
    condition: [
      "Replay of ",
      lasting(trial.minutes),
      trial.parkedMinutes > 0
        ? " of driving with exactly what will be typed; in another "
        : " with exactly what will be typed.",
      ...(trial.parkedMinutes > 0
        ? [
            counted("trial.parkedMinutes", trial.parkedMinutes, trial.parkedMinutes < 9.5 ? 1 : 0, "min"),
            " the vehicle is parked, and the digits change ",
            counted("trial.parkedDigitChanges", trial.parkedDigitChanges, 0),
            trial.parkedDigitChanges === 1
              ? " time: that is counted in no rate."
              : " times: those are counted in no rate.",
          ]
        : []),
    ],
    says: ["trial/too-short"],
    caution:
      worst.reversalsPerMinute > wanted
        ? `You want at most ${wanted} reversals a minute: smooth more, or widen the deadband.`
        : null,
  };
}

/** What was typed, and where that was no litres what it is in litres. */
function foundBand(band: FoundDeadband | null): Phrase[] {
  if (!band) return [];
  if (band.typed === 0) return [", without a deadband"];
  const sign = band.unit === "percent" ? "%" : band.unit;
  return [
    ", deadband ±\u00a0",
    quantity("trial.asFoundDeadband.typed", band.typed, sign, 2),
    ...(band.by === null
      ? []
      : band.deadband_L > 0
        ? [" = ±\u00a0", quantity("trial.asFoundDeadband.deadband_L", band.deadband_L, "L", 2), ` ${band.by}`]
        : [` (${band.by})`]),
  ];
}

export function trialWorking(trial: Trial): WorkingLine[] {
  const runs: [string, string, TrialRun | null][] = [
    ["As recommended", "trial", trial],
    ["As found", "trial.asFound", trial.asFound],
    ["Two points, 1\u00a0s filter", "trial.twoPoint", trial.twoPoint],
    ["Raw reading", "trial.bare", trial.bare],
  ];
  return runs.flatMap(([what, path, run]) =>
    run
      ? [
          {
            what,
            formula:
              "shown less trend; every change of the shown value counted; lag: the trend alone through the same settings",
            figures: [
              counted(`${path}.digitChangesPerMinute`, run.digitChangesPerMinute, 1),
              " digit changes and ",
              counted(`${path}.reversalsPerMinute`, run.reversalsPerMinute, 1),
              " reversals a minute, mean error ",
              quantity(`${path}.meanError_L`, run.meanError_L, "L", 2),
              ", worst ",
              quantity(`${path}.worstError_L`, run.worstError_L, "L", 2),
              ", of it lag ",
              quantity(`${path}.lag_L`, run.lag_L, "L", 2),
              ...(run === trial.asFound ? foundBand(trial.asFoundDeadband) : []),
            ],
            source: null,
          },
        ]
      : [],
  );
}
