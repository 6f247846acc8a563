/** What the low-fuel leaf says. */
import type { LowFuel } from "../low-fuel";
import { lowFuelBeside, rare } from "./beside";
import type { Finding, WorkingLine } from "./finding";
import { percent, quantity, setting } from "./quantity";

export function lowFuelFinding(low: LowFuel): Finding {
  return {
    question: "When does the light come on?",
    sentence: [
      "Let it come on at ",
      setting("lowFuel.warnAtUsable_L", low.warnAtUsable_L, "L"),
      " usable: then the ",
      setting("lowFuel.reserve_L", low.reserve_L, "L"),
      // A point of the user's own does not keep the stated risk: what it really risks is said.
      ...(low.overridden
        ? [" of reserve are no longer there in ", percent("lowFuel.underReserveChance", low.underReserveChance)]
        : [
            " of reserve are there in all but ",
            percent("lowFuel.risk", low.risk, Number.isInteger(Number((100 * low.risk).toFixed(6))) ? 0 : 1),
          ]),
      " of cases.",
    ],
    short: [setting("lowFuel.warnAtUsable_L", low.warnAtUsable_L, "L")],
    condition:
      low.falseAlarmsPerHour === null
        ? ["How often it would light too early is not known without a drive log."]
        : [
            "False alarms: ",
            rare("lowFuel.falseAlarmsPerHour", low.falseAlarmsPerHour, "an hour"),
            ", counted with more than ",
            setting("lowFuel.falseAbove_L", low.falseAbove_L, "L"),
            " in the tank.",
          ],
    caution:
      "Running dry can stop a pump for good and leave you where you cannot stop. Keep the reserve you would want on your worst day.",
    beside: lowFuelBeside(low),
  };
}

export const lowFuelWorking = (low: LowFuel): WorkingLine[] => [
  {
    what: "The warning point",
    formula: "warn = reserve + z·u + b + τ·q + d + delay·q",
    figures: [setting("lowFuel.warnAtUsable_L", low.warnAtUsable_L, "L")],
    source: "methods of this project, checked in closed loop",
  },
  ...low.parts.map(
    (p, i): WorkingLine => ({
      what: p.part,
      formula: null,
      figures: [quantity(`lowFuel.parts.${i}.value_L`, p.value_L, "L", 2)],
      source: p.why,
    }),
  ),
];
