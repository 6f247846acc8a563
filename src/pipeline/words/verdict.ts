/** What the verdict leaf says. */
import type { Verdict } from "../verdict";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, drawn, litres, setting, within } from "./quantity";

/** @param isAssumed the job states no tolerance: 2 % of the tank is taken. */
export function verdictFinding(v: Verdict, isAssumed = false): Finding {
  const chance = drawn("verdict.probability", v.probability, v.probability > 0.99 ? 1 : 0);
  const tolerance = within(setting("verdict.tolerance_L", v.tolerance_L, "L"));
  const lead: Phrase =
    v.decision === "conforms"
      ? "It conforms: "
      : v.decision === "does-not-conform"
        ? "It does not conform: "
        : v.probability < 0.5
          ? "It cannot be said yet, but more likely it does not conform: "
          : "It cannot be said yet: ";
  return {
    question: "Is it good enough, and how sure are we?",
    sentence: [
      lead,
      "with a chance of ",
      chance,
      " the shown volume stays within ",
      tolerance,
      " over the whole range. The largest error is likely ",
      litres("verdict.largest_L", v.largest_L),
      ".",
    ],
    further: v.decision === "conforms" ? [] : wouldHold(v),
    short: [v.decision.replaceAll("-", " ")],
    condition: [
      "Level and at rest, on a service day, between the ends. How it does on the road stands in the trial leaf.",
      ...(isAssumed
        ? [" The tolerance is assumed, within 2\u00a0% of the tank: state in the job how good the gauge must be."]
        : []),
    ],
    // That decisions are still open is a caution of the stage: said once, by page and command line alike.
    caution: null,
  };
}

/** What could be promised as it is, and where to look for less. */
const wouldHold = (v: Verdict): Phrase[] => [
  "As it is, ",
  within(litres("verdict.largestUpper_L", v.largestUpper_L)),
  " could be promised (95\u00a0%). What that is made of stands in the working of the curve leaf.",
];

export const verdictWorking = (v: Verdict): WorkingLine[] => [
  {
    what: "Probability that the largest error is inside, from joint draws of the service-day curve",
    formula: null,
    figures: [
      counted("verdict.probabilityLow", v.probabilityLow, 3),
      " to ",
      counted("verdict.probabilityHigh", v.probabilityHigh, 3),
      " from ",
      counted("verdict.draws", v.draws, 0),
      " draws",
    ],
    source: "JCGM 106:2012",
  },
  {
    what: "Upper 95 % limit of the largest error",
    formula: null,
    figures: [litres("verdict.largestUpper_L", v.largestUpper_L)],
    source: null,
  },
  {
    what: "Guard band: the likeliest largest error must stay so far inside the tolerance",
    formula: "largest + guard ≤ tolerance",
    figures: [
      litres("verdict.largest_L", v.largest_L),
      " + ",
      litres("verdict.guard_L", v.guard_L),
      " against ",
      litres("verdict.tolerance_L", v.tolerance_L),
    ],
    source: "JCGM 106:2012, guarded acceptance",
  },
  {
    what: "Said from this probability on",
    formula: null,
    figures: [counted("verdict.sayFrom", v.sayFrom, 2)],
    source: "named default, no source: a risk of 5 % to the customer",
  },
];
