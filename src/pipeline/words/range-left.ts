/** What the range-left leaf says. */
import type { RangeLeft } from "../range-left";
import type { Finding, WorkingLine } from "./finding";
import { counted, quantity } from "./quantity";

export function rangeLeftFinding(range: RangeLeft): Finding {
  return {
    question: "How wrong can range left be?",
    sentence: [
      "When the light comes on, ",
      quantity("rangeLeft.range", range.range, range.unit, 2),
      " are likely, but it may be as little as ",
      quantity("rangeLeft.rangeLower", range.rangeLower, range.unit, 2),
      " or as much as ",
      quantity("rangeLeft.rangeUpper", range.rangeUpper, range.unit, 2),
      ". Do not plan on the last ",
      quantity("rangeLeft.holdBack_L", range.holdBack_L, "L", 2),
      ".",
    ],
    short: [
      quantity("rangeLeft.rangeLower", range.rangeLower, "", 2),
      " to ",
      quantity("rangeLeft.rangeUpper", range.rangeUpper, range.unit, 2),
    ],
    condition: ["95 %, equal tails, on a service day; median first."],
    caution: null,
  };
}

export const rangeLeftWorking = (range: RangeLeft): WorkingLine[] => [
  {
    what: "By the law of propagation",
    formula: "range = (shown − bias − unusable) / consumption",
    figures: [
      quantity("rangeLeft.propagation.lower", range.propagation.lower, range.unit),
      " to ",
      quantity("rangeLeft.propagation.upper", range.propagation.upper, range.unit),
    ],
    source: "JCGM 100:2008, 5.1",
  },
  {
    what: "By Monte Carlo",
    formula: null,
    figures: [counted("rangeLeft.trials", range.trials, 0), " trials"],
    source: "JCGM 101:2008",
  },
  ...range.budget.map(
    (b, i): WorkingLine => ({
      what: b.part,
      formula: null,
      figures: [
        {
          ...counted(`rangeLeft.budget.${i}.share`, b.share, 2),
          text: `${counted(null, 100 * b.share, 0).text}\u00a0%`,
        },
        " of the variance",
      ],
      source: null,
    }),
  ),
  ...range.improvements.map(
    (m, i): WorkingLine => ({
      what: `It would be ± with ${m.what}`,
      formula: null,
      figures: [quantity(`rangeLeft.improvements.${i}.rangeHalfWidth`, m.rangeHalfWidth, range.unit, 2)],
      source: null,
    }),
  ),
];
