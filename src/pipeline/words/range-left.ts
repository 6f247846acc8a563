/** What the range-left leaf says. */
import { inWords, quantityOf } from "../../quantity";
import type { MeasuredBurn } from "../measured-burn";
import type { RangeLeft } from "../range-left";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { counted, coverage, litres, quantity, quantityWith, setting, withoutUnit } from "./quantity";

/** The unit that a range is written in: hours that are few are minutes. `times`: of the published unit in one of the written. */
export const rangeUnit = (range: RangeLeft): { unit: string; times: number } =>
  range.unit === "h" && range.rangeUpper < 2
    ? { unit: "min", times: 1 / 60 }
    : { unit: range.unit === "lap" ? "laps" : range.unit, times: 1 };

function rangeIn(range: RangeLeft): (path: string, value: number) => Quantity {
  const { unit, times } = rangeUnit(range);
  return (path, value) =>
    times === 1
      ? quantity(path, value, unit, 2)
      : quantityOf({ path, value, unit, times, rounding: { by: "figures", figures: 2 } });
}

export function rangeLeftFinding(range: RangeLeft): Finding {
  const write = rangeIn(range);
  const laps = rangeUnit(range).unit === "laps";
  const lower = write("rangeLeft.rangeLower", range.rangeLower);
  return {
    question: "How wrong can range left be?",
    sentence: [
      ...(range.promised
        ? [
            "When the light comes on, ",
            write("rangeLeft.range", range.range),
            laps ? " are likely, but it may be as few as " : " is likely, but it may be as little as ",
          ]
        : [
            "No range can be promised before the contact is mended: drop-outs are taken for fuel. As it is, what is left when the light comes on may be as little as ",
          ]),
      lower,
      laps ? " or as many as " : " or as much as ",
      write("rangeLeft.rangeUpper", range.rangeUpper),
      ...(range.promised ? [". Do not plan on the last ", litres("rangeLeft.holdBack_L", range.holdBack_L)] : []),
      ".",
    ],
    short: [withoutUnit(lower), " to ", write("rangeLeft.rangeUpper", range.rangeUpper)],
    condition: [
      coverage("rangeLeft.coverage", range.coverage),
      ", on a service day: as often less than the first figure as more, and as seldom under the second as over the third. A device that compares the rounded value that it shows with the warning lights half a displayed step earlier: ",
      write("rangeLeft.ifShownCompared.range", range.ifShownCompared.range),
      " more are left then.",
    ],
    caution: null,
  };
}

export const rangeLeftWorking = (range: RangeLeft): WorkingLine[] => linesIn(range, rangeIn(range));

/** In the same unit as the sentence. */
const linesIn = (range: RangeLeft, write: ReturnType<typeof rangeIn>): WorkingLine[] => [
  {
    what: "By the law of propagation",
    formula: "range = (shown − bias − unusable) / consumption",
    figures: [
      write("rangeLeft.propagation.lower", range.propagation.lower),
      " to ",
      write("rangeLeft.propagation.upper", range.propagation.upper),
    ],
    source: "JCGM 100:2008, 5.1",
  },
  {
    what: "Exactly, were consumption normal as well: a check of the line above, which is of first order",
    formula: "|litres − range·consumption| ≤ z·√(u² + range²·u_c²)",
    figures:
      range.bothNormal.upper === null
        ? [
            write("rangeLeft.bothNormal.lower", range.bothNormal.lower),
            " and no upper limit: the consumption is not known well enough to rule out almost none",
          ]
        : [
            write("rangeLeft.bothNormal.lower", range.bothNormal.lower),
            " to ",
            write("rangeLeft.bothNormal.upper", range.bothNormal.upper),
          ],
    source: "Fieller 1954 (from memory)",
  },
  {
    what: "By Monte Carlo, consumption log-normal, so never under zero",
    formula: null,
    figures: [counted("rangeLeft.trials", range.trials, 0), " trials"],
    source: "JCGM 101:2008",
  },
  {
    what: "What the light is compared with",
    formula: null,
    figures: [
      "the inner value, as for the warning: it comes on at a known figure, so the displayed step is no uncertainty here; compared with the rounded one, ",
      litres("rangeLeft.ifShownCompared.usable_L", range.ifShownCompared.usable_L),
      " more are there",
    ],
    source: null,
  },
  ...range.budget.map(
    (b, i): WorkingLine => ({
      what: b.part,
      formula: null,
      figures: [
        inWords(`rangeLeft.budget.${i}.share`, b.share, "", `${counted(null, 100 * b.share, 0).text}\u00a0%`),
        " of its squared uncertainty",
      ],
      source: null,
    }),
  ),
  ...range.improvements.map(
    (m, i): WorkingLine => ({
      what: `With ${m.what} the range at the light would be known within ±`,
      formula: null,
      figures: [write(`rangeLeft.improvements.${i}.rangeHalfWidth`, m.rangeHalfWidth)],
      source: null,
    }),
  ),
];

const reserveWords = { km: "km", mi: "miles", h: "hours", lap: "laps", L: "litres" } as const;

/** What a log measured, and what taking it would state; or why it cannot serve. */
export function measuredBurnPhrases(burn: MeasuredBurn): Phrase[] {
  const measured = quantityWith(`driveLogs.${burn.log}.burn_L_per_h`, burn.burn_L_per_h, burn.halfWidth_L_per_h, "L/h");
  if (burn.taken) return [`What ${burn.file} measured is taken: `, measured, "."];
  if (burn.reserveIn !== null)
    return [
      `${burn.file} measured `,
      measured,
      `. That is by the hour, and your reserve is in ${reserveWords[burn.reserveIn]}: state the reserve in hours or litres to plan with it.`,
    ];
  return [
    `${burn.file} measured `,
    measured,
    ". Other days burn otherwise, so it is taken give or take ",
    setting(null, burn.consumption.standardUncertainty, "L/h"),
    " (one standard deviation).",
  ];
}
