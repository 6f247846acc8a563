/** What the display leaf says. */

import type { Issue } from "../../answer";
import { setText } from "../../format";
import { type Said, say } from "../../said";
import type { Display } from "../display";
import { orderMatters } from "../display-start";
import type { Feature, Job } from "../job";
import { displayBeside } from "./beside";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, duration, litres, quantity, rate, setting, sizeOf } from "./quantity";

export function displayFinding(display: Display, job: Job): Finding {
  const wanted = job.targets.displayReversalsPerMinute;
  const sentence: Phrase[] = [];
  const { tooShort } = display;
  if (tooShort)
    sentence.push(
      `The log is too short to tell what holds the display to ${wanted} reversals a minute: ${display.byLog.length > 1 ? `${tooShort.file} holds ` : "it holds "}`,
      duration("display.tooShort.driven_s", tooShort.driven_s),
      " of driving, ",
      duration("display.tooShort.needed_s", tooShort.needed_s),
      " without a turn would just show it, and ten minutes are better.",
      // What the pipeline goes on with is no finding on such a log; what was chosen by hand is known without one.
      ...(display.overridden
        ? [
            " What you chose stands: ",
            seconds("display.timeConstant_s", display.timeConstant_s),
            " and a deadband of ±\u00a0",
            setting("display.deadband_L", display.deadband_L, "L", 2),
            ".",
          ]
        : []),
    );
  else if (!display.met) {
    sentence.push(
      job.targets.maxLag_s === null
        ? `Nothing in the device’s range holds the display to ${wanted} reversals a minute. `
        : `${wanted} reversals a minute and a lag of at most ${job.targets.maxLag_s}\u00a0s cannot both be had. `,
    );
    const near = display.nearest;
    if (near?.steady)
      sentence.push(
        "Steady enough: ",
        seconds("display.nearest.steady.timeConstant_s", near.steady.timeConstant_s),
        " and a deadband of ",
        setting("display.nearest.steady.deadband_L", near.steady.deadband_L, "L", 2),
        ". ",
      );
    if (near?.quick)
      sentence.push(
        "Quick enough: ",
        seconds("display.nearest.quick.timeConstant_s", near.quick.timeConstant_s),
        ", with ",
        rate("display.nearest.quick.reversalsPerMinute", near.quick.reversalsPerMinute),
        " reversals a minute. ",
      );
  }
  if (!tooShort) sentence.push(...counts(display, wanted));
  if (display.overridden && !tooShort) sentence.push(" That is your own choice.");
  return {
    says: ["display/too-short"],
    question: "What holds the reading still, at what delay?",
    sentence,
    short: [
      tooShort && !display.overridden ? "log too short" : seconds("display.timeConstant_s", display.timeConstant_s),
    ],
    condition: tooShort ? [] : countedOn(display, job),
    caution: display.timeConstant_s > 0 && !tooShort ? firstSeconds(display) : null,
    beside: displayBeside(display),
  };
}

/** On which logs and how long it was counted, and how sure that is. */
const countedOn = (display: Display, job: Job): Phrase[] => [
  display.byLog.length > 1
    ? `Counted on ${display.byLog.length} logs together, ±\u00a0`
    : "Counted on this log, ±\u00a0",
  rate("display.reversalsHalfWidth", display.reversalsHalfWidth),
  " reversals a minute (95\u00a0%)",
  ...(display.parkedMinutes > 0
    ? [
        ", over the ",
        counted("display.minutes", display.minutes, display.minutes < 9.5 ? 1 : 0, "min"),
        " in which the vehicle moves; it is parked for another ",
        counted("display.parkedMinutes", display.parkedMinutes, display.parkedMinutes < 9.5 ? 1 : 0, "min"),
      ]
    : []),
  ".",
  ...orderPhrases(display, job),
];

/** What is set, and what the display then does on the logs. */
function counts(display: Display, wanted: number): Phrase[] {
  const sentence: Phrase[] = [];
  sentence.push(
    "Smooth with ",
    seconds("display.timeConstant_s", display.timeConstant_s),
    " and a deadband of ±\u00a0",
    setting("display.deadband_L", display.deadband_L, "L", 2),
    ": the display then ",
    ...(display.reversalsPerMinute === 0
      ? ["never turns round"]
      : ["turns round ", rate("display.reversalsPerMinute", display.reversalsPerMinute), " times a minute"]),
    " and lags by ",
    litres("display.lag_L", display.lag_L),
    ...(display.bare.reversalsPerMinute === 0
      ? [". Unsmoothed it would not turn round either."]
      : [
          ". Unsmoothed it would turn round ",
          rate("display.bare.reversalsPerMinute", display.bare.reversalsPerMinute),
          " times a minute, with a 1\u00a0s filter ",
          rate("display.oneSecond.reversalsPerMinute", display.oneSecond.reversalsPerMinute),
          ".",
        ]),
  );
  if (display.byLog.length > 1) {
    const worst = display.byLog.reduce(
      (w, l, k) => (l.reversalsPerMinute > display.byLog[w]!.reversalsPerMinute ? k : w),
      0,
    );
    const per = display.byLog[worst]!.reversalsPerMinute;
    // None is the worst of logs on which the display stands still alike.
    if (per === 0) sentence.push(` That holds for each of the ${display.byLog.length} logs.`);
    else
      sentence.push(
        ` Of the ${display.byLog.length} logs ${display.byLog[worst]!.file} is the worst, with `,
        rate(`display.byLog.${worst}.reversalsPerMinute`, per),
        per <= wanted ? " a minute: the settings hold for each of them." : " a minute.",
      );
  }
  return sentence;
}

/** Smoothing before the table or behind it: a doubt where nobody said which and it would show, else what the stated volume costs. */
function orderPhrases(display: Display, job: Job): Phrase[] {
  const { orderDifference, order } = display;
  if (!orderMatters(orderDifference, display.displayStep_L)) return [];
  const apart: Phrase[] = [
    sizeOf(litres("display.orderDifference.mean_L", orderDifference.mean_L)),
    ` ${orderDifference.mean_L > 0 ? "more" : "less"} on average`,
  ];
  if (order === "table-then-filter")
    return [
      " The device smooths the volume, behind its table: it shows ",
      ...apart,
      " than if it smoothed the reading.",
    ];
  if (!job.assumed.some((a) => a.path === "device.smooths")) return [];
  return [
    " The device is taken to smooth the reading before its table. One that smooths behind it would show ",
    ...apart,
    ": find out which it is.",
  ];
}

/** After a refuel, and after it is switched on. */
function firstSeconds(display: Display): Said {
  const { switchOn, refuel90_s } = display;
  const seconds = (s: number) => duration(null, s).text;
  const start = switchOn.startAt === "mean" ? `the mean of the first ${switchOn.mean_s} s` : "the first reading";
  const off = switchOn.startAt === "mean" ? switchOn.mean_L : switchOn.firstReading_L;
  const settled =
    switchOn.settled_s < 1
      ? "and stands within a digit at once"
      : `and stands within a digit after ${seconds(switchOn.settled_s)}`;
  return say`After a refuel the display needs ${seconds(refuel90_s)} to show nine tenths of it. Switched on, a smoothing that starts at nothing needs ${seconds(switchOn.fromNothing_s)} for nine tenths of what is there; let it start with ${start}: then it is off by ${litres(null, off)} (one standard deviation) ${settled}.`;
}

/**
 * Why the recommended pair smooths longer than its deadband needs; null where it does not, where nothing is steady enough, and where a caution
 * says already that quicker ones were not weighed.
 */
export function slowerThanNeeded(display: Display, cautions: Issue[]): string | null {
  if (!display.met || display.tooShort || cautions.some((c) => c.code === "display/motion-unseen")) return null;
  const { timeConstant_s, deadband_L } = display.recommended;
  const needed = display.options.find((o) => Math.abs(o.deadband_L - deadband_L) < 1e-9)?.timeConstant_s ?? null;
  if (needed === null || !(timeConstant_s > needed)) return null;
  return `${setText(needed, "s", 2)} would just be steady enough on these logs; ${setText(timeConstant_s, "s")} is recommended, because it also holds the digit while the level passes from one to the next and at the ends, or errs less on the whole.`;
}

const featureName: Record<Feature, string> = {
  median: "Median",
  "rate-limit": "Rate limit",
  "hold-in-corner": "Hold in a corner",
  "fault-limits": "Fault limits",
  "refuel-rule": "Refuelling rule",
};

const seconds = (path: string, value: number) => setting(path, value, "s");

export function displayWorking(display: Display): WorkingLine[] {
  return [
    {
      what: "First-order low-pass at the device’s rate",
      formula: "α = 1 − exp(−Δt/τ); cut-off = 1/(2πτ)",
      figures: [
        "α ",
        quantity("display.smoothingFactor", display.smoothingFactor, ""),
        " at ",
        quantity("display.rate_Hz", display.rate_Hz, "Hz"),
        ...(display.timeConstant_s > 0 ? [", cut-off ", quantity("display.cutoff_Hz", display.cutoff_Hz, "Hz")] : []),
      ],
      source: "closed forms of the first-order recursive filter",
    },
    ...(display.asked.smoothingUnit === "samples"
      ? [
          {
            what: "Samples, as the device asks",
            formula:
              "α = 2/(N+1): a convention of many devices, delay as of a mean over N samples (common practice, no source)",
            figures: [counted("display.asked.smoothing", display.asked.smoothing, 0), " samples"],
            source: null,
          },
        ]
      : []),
    {
      what: `Deadband (${display.deadbandKind === "play" ? "play: dragged at its distance" : "jump: moves onto the reading"})`,
      formula: "a falling level is shown high by d (play) or d/2 on average (jump)",
      figures: [litres("display.deadband_L", display.deadband_L)],
      source: null,
    },
    {
      what: `Smoothing behind the table${display.order === "table-then-filter" ? ", as this device does," : ""} instead of before it, replayed`,
      formula: "½·g″·(σ² − σ_f²) on average: the bend of the curve, and what the smoothing takes out of the variance",
      figures: [
        "shows ",
        litres("display.orderDifference.mean_L", display.orderDifference.mean_L),
        " more on average, ",
        litres("display.orderDifference.rms_L", display.orderDifference.rms_L),
        " apart (root mean square)",
      ],
      source: "Taylor, to second order (derived); replay of the log",
    },
    {
      what: "Switched on at any moment of the log",
      formula: "start value less trend; it dies away as exp(−t/τ)",
      figures: [
        "with the first reading off by ",
        litres("display.switchOn.firstReading_L", display.switchOn.firstReading_L),
        ", with the mean of ",
        counted("display.switchOn.mean_s", display.switchOn.mean_s, 0, "s"),
        " by ",
        litres("display.switchOn.mean_L", display.switchOn.mean_L),
        "; within a digit in 95 of 100 starts after ",
        duration("display.switchOn.settled_s", display.switchOn.settled_s),
        "; from nothing nine tenths after ",
        duration("display.switchOn.fromNothing_s", display.switchOn.fromNothing_s),
      ],
      source: null,
    },
    {
      what: "Lag at this burn",
      formula: "τ·q",
      figures: [litres("display.lag_L", display.lag_L)],
      source: null,
    },
    {
      what: "Digit changes a minute",
      formula: "replay of the log, displayed step included",
      figures: [rate("display.digitChangesPerMinute", display.digitChangesPerMinute)],
      source: null,
    },
    ...display.featureTrials.map((t, i): WorkingLine => {
      const at = `display.featureTrials.${i}`;
      return {
        what: say`${featureName[t.feature]}: ${t.setting}. ${t.taken ? "Set" : "Not set"}: ${t.why}`,
        formula:
          "replay of the log without and with it, all else alike; seconds: the least smoothing that is as steady",
        figures: [
          rate(`${at}.without.reversalsPerMinute`, t.without.reversalsPerMinute),
          " reversals a minute without, ",
          rate(`${at}.with.reversalsPerMinute`, t.with.reversalsPerMinute),
          " with; ",
          litres(`${at}.without.rmsError_L`, t.without.rmsError_L),
          " and ",
          litres(`${at}.with.rmsError_L`, t.with.rmsError_L),
          " off; ",
          seconds(`${at}.without.timeConstant_s`, t.without.timeConstant_s),
          " and ",
          seconds(`${at}.with.timeConstant_s`, t.with.timeConstant_s),
          " of lag",
        ],
        source: "one plain reading of what devices call so; common practice, no source",
      };
    }),
    {
      what: "Distance of the shown volume from the trend, read through the whole curve; the trial replays the rows that are typed",
      formula: "root mean square over the log",
      figures: [litres("display.rmsError_L", display.rmsError_L)],
      source: null,
    },
  ];
}
