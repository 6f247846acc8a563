/** What the low-fuel leaf says. */
import { type Job, unusableOffset_L } from "../job";
import type { LowFuel } from "../low-fuel";
import { lowFuelBeside, rare } from "./beside";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { drawn, litres, litresSet, percent, quantity } from "./quantity";

/** Litres that the device's display counts over what is usable; 0 where it shows usable fuel, or nothing is known of the pick-up. */
export const shownOver_L = (job: Pick<Job, "device" | "tank" | "fill"> | null): number =>
  job && job.device.shows !== "usable" ? unusableOffset_L(job).offset_L : 0;

/** The finding where the point lies over all that is shown: what it is, and why it is no warning. */
const alwaysOn = (low: LowFuel, { most_L }: NonNullable<LowFuel["alwaysOn"]>): Phrase[] => [
  "It would never go out: ",
  litresSet("lowFuel.warnAtUsable_L", low.warnAtUsable_L),
  ` usable ${low.overridden ? "are chosen" : "are asked for"}, and the display shows `,
  litres("lowFuel.alwaysOn.most_L", most_L),
  " at most.",
];

/** @param job says what the device shows: the point is typed as the display counts it. */
export function lowFuelFinding(low: LowFuel, job: Job | null = null): Finding {
  const over_L = shownOver_L(job);
  return {
    question: "When does the light come on?",
    sentence: low.alwaysOn
      ? alwaysOn(low, low.alwaysOn)
      : [
          ...(low.dropouts?.tooLate
            ? ["No warning can be promised before the contact is mended. Once it is, let"]
            : ["Let"]),
          " it come on at ",
          litresSet("lowFuel.warnAtUsable_L", low.warnAtUsable_L),
          " usable: then the ",
          litresSet("lowFuel.reserve_L", low.reserve_L),
          // A point of the user's own does not keep the stated risk: what it really risks is said.
          ...(low.overridden
            ? [" of reserve is no longer there in ", drawn("lowFuel.underReserveChance", low.underReserveChance, 1)]
            : [
                " of reserve is there in all but ",
                percent("lowFuel.risk", low.risk, Number.isInteger(Number((100 * low.risk).toFixed(6))) ? 0 : 1),
              ]),
          " of cases.",
        ],
    short: [litresSet("lowFuel.warnAtUsable_L", low.warnAtUsable_L)],
    condition: [
      ...(over_L > 0
        ? ["Typed ", litres("unusableOffset_L", over_L), " higher: the device shows what is not usable too. "]
        : []),
      ...(low.falseAlarmsPerHour === null
        ? ["How often it would light too early is not known without a drive log."]
        : low.tooShort
          ? ["The log is too short to tell how often it would light too early."]
          : [
              "False alarms: ",
              rare("lowFuel.falseAlarmsPerHour", low.falseAlarmsPerHour, "an hour"),
              ", counted with more than ",
              litresSet("lowFuel.falseAbove_L", low.falseAbove_L),
              " in the tank.",
            ]),
      " The light is taken to follow the device’s inner value; a device that compares the rounded one that it shows lights up to ",
      litres("lowFuel.firstLight.halfStep_L", low.firstLight.halfStep_L),
      " earlier, never later.",
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
    figures: [litresSet("lowFuel.warnAtUsable_L", low.warnAtUsable_L)],
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
  {
    what: "What the light is compared with",
    formula: null,
    figures: [
      "the inner value, behind smoothing and deadband, before it is rounded to the displayed step; the rounded one lights it ",
      litres("lowFuel.firstLight.halfStep_L", low.firstLight.halfStep_L),
      " earlier, half a displayed step",
    ],
    source: "taken for the later of the two, so that the reserve holds in either; range left takes the same",
  },
  ...(low.firstLight.early_L > 0
    ? [
        {
          what: "Motion that is left lights it early by",
          formula: null,
          figures: [litres("lowFuel.firstLight.early_L", low.firstLight.early_L), ", on average"],
          source:
            "first passage of a falling level, replayed; in the chance and in range left, not in the warning point",
        } satisfies WorkingLine,
      ]
    : []),
];
