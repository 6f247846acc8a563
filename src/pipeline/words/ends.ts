/** What the end-margins leaf says. */
import type { EndMargin, Ends } from "../ends";
import type { Job, ReadingUnit } from "../job";
import { endsBeside } from "./beside";
import type { Finding, WorkingLine } from "./finding";
import { counted, quantity, unitSign } from "./quantity";

export function endsFinding(ends: Ends, unit: ReadingUnit, job: Job): Finding {
  const sign = unitSign(unit);
  const wanted = job.targets.endFlickersPerHour;
  const over = [ends.empty, ends.full].some((e) => e.flickersPerHour > wanted);
  return {
    question: "How much is kept back at each end?",
    sentence: [
      "Empty is told at ",
      quantity(`ends.emptyReading_${unit}`, ends.empty.reading, sign),
      " and full at ",
      quantity(`ends.fullReading_${unit}`, ends.full.reading, sign),
      ": that hides ",
      quantity("ends.emptyHidden_L", ends.empty.hidden_L, "L", 2),
      " at the bottom and ",
      quantity("ends.fullHidden_L", ends.full.hidden_L, "L", 2),
      " at the top, and the end digits flicker ",
      counted("ends.emptyFlickersPerHour", ends.empty.flickersPerHour, 1),
      " and ",
      counted("ends.fullFlickersPerHour", ends.full.flickersPerHour, 1),
      " times an hour.",
    ],
    short: [
      quantity("ends.emptyHidden_L", ends.empty.hidden_L, "L", 2),
      " and ",
      quantity("ends.fullHidden_L", ends.full.hidden_L, "L", 2),
    ],
    condition: [
      ends.empty.evidence === "drive-log" && ends.full.evidence === "drive-log"
        ? "Counted on your drive log, which stood long enough at both ends."
        : ends.filteredSd > 0
          ? "By formula, from the smoothed noise of your drive log: it did not stand at both ends for long enough to count there."
          : "No drive log: from how well readings at rest repeat.",
    ],
    caution: over
      ? `More than the ${wanted} ${wanted === 1 ? "flicker" : "flickers"} an hour you want: a wider margin or more smoothing would cure it.`
      : null,
    beside: endsBeside(ends, unit),
  };
}

export function endsWorking(ends: Ends, unit: ReadingUnit): WorkingLine[] {
  const sign = unitSign(unit);
  const lines = (end: "empty" | "full", margin: EndMargin): WorkingLine[] => [
    {
      what: `Margin at the ${end} end`,
      formula: "noise by the crossing rate f₀·exp(−m²/2σ²), other parts in quadrature, drift added",
      figures: [quantity(`ends.${end}.margin_${unit}`, margin.margin, sign, 2)],
      source: "Rice 1944/45, Bell System Technical Journal 23–24",
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
      formula: "standard deviation of the log's reading behind the device's filter",
      figures: [quantity(`ends.filteredSd_${unit}`, ends.filteredSd, sign, 2)],
      source: null,
    },
    ...lines("empty", ends.empty),
    ...lines("full", ends.full),
  ];
}
