/** Complaint that does not show in what was brought: what was looked at, and what would show it. */

import { fixed, withUnit } from "../format";
import { say } from "../said";
import type { Complaint, Trouble } from "./complaint";
import { rowOf } from "./complaint-bounce";
import { countFlickers, dropoutsOf, type FoundDevice, minutesIn, minutesText, times } from "./complaint-device";
import { falseLights, warnText } from "./complaint-lamp";
import { errorsOfTable } from "./complaint-table";
import type { Curve } from "./curve-types";
import { steadiness } from "./device-counts";
import { replay } from "./device-model";
import type { Job } from "./job";
import { litresBare, litresOf, litresWhole } from "./litres";

const again = "Bring a log of a drive on which it happens.";

/** @param curve of a fill run, if there is one. */
export function notSeen(
  trouble: Trouble,
  device: FoundDevice,
  curve: Curve | null,
  job: Job,
): Pick<Complaint, "says" | "remedy"> {
  if (trouble === "wrong-in-the-middle") return middleNotSeen(device, curve, job);
  if (device.records.length === 0 && trouble !== "slow-after-refuel")
    return {
      says: "Whether the display does what the driver says cannot be told: there is no drive log that can be read.",
      remedy: "Bring a log of a drive on which it happens: time and sender reading, ten minutes or more.",
    };
  const { settings, records } = device;
  const minutes = minutesIn(device);
  if (trouble === "bounces-at-an-end") {
    const seen = (end: "empty" | "full") => countFlickers(device, settings, rowOf(end, settings).volume_L);
    if (seen("empty").hours === 0 && seen("full").hours === 0)
      return {
        says: `The bounce at an end does not show in what you brought: in ${minutesText(minutes.all)} the display stands neither at its full end nor at its empty end.`,
        remedy: again,
      };
    const at = (end: "empty" | "full") => {
      const { flickers, hours } = seen(end);
      return hours === 0
        ? `it never stands at its ${end} end`
        : `it stands at its ${end} end for ${minutesText(60 * hours)} and ${flickers === 0 ? "never leaves it to come back" : `leaves it to come back ${times(flickers)}`}`;
    };
    return {
      says: `The bounce at an end does not show in what you brought: in ${minutesText(minutes.all)} ${at("full")}, and ${at("empty")}.`,
      remedy: again,
    };
  }
  if (trouble === "lamp-in-a-corner") {
    if (device.warn_L === null)
      return {
        says: "Whether the lamp comes on falsely cannot be told: the job does not state at what the device warns.",
        remedy: "Copy the warning from the device, in the unit that the display shows.",
      };
    const warn_L = device.warn_L;
    const lights = records.reduce((sum, { record }) => sum + falseLights(record, settings, warn_L).length, 0);
    return {
      says: `The lamp that comes on in corners does not show in what you brought: in ${minutesText(minutes.all)} it ${lights === 0 ? "never comes on" : `comes on ${times(lights)}`} with more in the tank than the ${warnText(device, job)} that it warns at.`,
      remedy: again,
    };
  }
  if (trouble === "dances") {
    let reversals = 0;
    for (const { record } of records) reversals += steadiness(replay(record, settings).shown_L, record).reversals;
    // Each carries a device without fault limits away and back: too seldom to count as a dance, and what a driver may mean.
    const dropouts = settings.faultLimits ? 0 : dropoutsOf(device);
    const drops =
      dropouts > 0
        ? ` The reading drops out ${times(dropouts)} on it, and where the device has no fault limits each carries the display away and back.`
        : "";
    return {
      says: `The dancing display does not show in what you brought: it ${reversals === 0 ? "never turns round" : `turns round ${fixed(reversals / minutes.driven, reversals < minutes.driven ? 2 : 1)} times a minute`} in ${minutesText(minutes.driven)} of driving, and ${job.targets.displayReversalsPerMinute} are wanted.${drops}`,
      remedy: dropouts > 0 ? `Look for a loose contact, and set fault limits. ${again}` : again,
    };
  }
  return job.asFound.timeConstant_s === null
    ? {
        says: "Whether the display is slow after a refuel cannot be told: the job does not state what smoothing was found.",
        remedy: "Copy the smoothing from the device, or bring a log with a refuel in it.",
      }
    : {
        says: `The slow display does not show in what you brought: with its ${withUnit(settings.timeConstant_s, "s", 2)} of smoothing nine tenths of a refuel are shown within a minute.`,
        remedy: "Bring a log of a refuel, from before the pump to ten minutes after it.",
      };
}

function middleNotSeen(device: FoundDevice, curve: Curve | null, job: Job): Pick<Complaint, "says" | "remedy"> {
  const errors = curve && errorsOfTable(device.settings.table, curve, job, device.settings.along);
  if (!errors)
    return {
      says: "Whether the middle is wrong cannot be told: without a fill run nothing says what is really in the tank.",
      remedy: "Bring a fill run: measured pours from empty to full, with the reading after each.",
    };
  const { middle, tolerance_L, low_L, high_L } = errors;
  const size = Math.abs(middle.error_L);
  const between = say`between ${litresBare(low_L, 0, high_L)} and ${litresWhole(high_L)}`;
  return size > tolerance_L
    ? {
        says: say`Whether the middle is wrong cannot be told: the table found is off by ${litresOf(size)} at ${litresWhole(middle.volume_L)}, and the fill run itself knows that place to ±\u00a0${litresOf(2 * middle.standard_L)}.`,
        remedy: "Bring a second fill run, with smaller pours round that place.",
      }
    : {
        says: say`The wrong middle does not show in what you brought: ${between} the table found is within ${litresOf(size)} of the fill run, and ${litresOf(tolerance_L)} are allowed.`,
        remedy:
          "If the driver compares with the pump: what lies below the pick-up and above the full row is in no display. Else bring a drive log on which it is wrong.",
      };
}
