/** What the verdict leaf says. */
import type { Verdict } from "../verdict";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, quantity } from "./quantity";

export function verdictFinding(v: Verdict): Finding {
  const chance = {
    ...counted("verdict.probability", v.probability, 3),
    text: `${counted(null, 100 * v.probability, v.probability > 0.99 ? 1 : 0).text}\u00a0%`,
  };
  const tolerance = {
    ...quantity("verdict.tolerance_L", v.tolerance_L, "L", 2),
    text: `±\u00a0${quantity(null, v.tolerance_L, "L", 2).text}`,
  };
  const lead: Phrase =
    v.decision === "conforms"
      ? "It conforms: "
      : v.decision === "does-not-conform"
        ? "It does not conform: "
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
      quantity("verdict.largest_L", v.largest_L, "L", 2),
      ".",
    ],
    short: [v.decision.replaceAll("-", " ")],
    condition: ["Level and at rest, on a service day, between the ends. On the road stands in the trial."],
    // That decisions are still open is a caution of the stage: said once, by page and command line alike.
    caution: null,
  };
}

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
    figures: [quantity("verdict.largestUpper_L", v.largestUpper_L, "L", 2)],
    source: null,
  },
  {
    what: "Guard band: the likeliest largest error must stay so far inside the tolerance",
    formula: "largest + guard ≤ tolerance",
    figures: [
      quantity("verdict.largest_L", v.largest_L, "L", 2),
      " + ",
      quantity("verdict.guard_L", v.guard_L, "L", 2),
      " against ",
      quantity("verdict.tolerance_L", v.tolerance_L, "L", 2),
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
