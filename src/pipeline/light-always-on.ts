/**
 * A light that never goes out: the warning point, as it is typed, lies at or over the most that the display shows. A reserve for a larger tank, a level
 * that is hardly known, or a displayed step too coarse for the margin all end there, and no range can be told for a moment that never comes.
 */
import type { Issue } from "../answer";
import type { Said } from "../said";
import { say } from "../said";
import { volumeSigns } from "./found-table";
import type { Job } from "./job";
import { litresTo } from "./litres";
import type { LowFuel } from "./low-fuel";

/**
 * @param warn_L worked out, usable litres, not rounded. @param low the point that is typed, with its parts.
 * @param most_L usable litres that the display shows at most.
 */
export function lightAlwaysOn(
  warn_L: number,
  low: Pick<LowFuel, "warnAtUsable_L" | "overridden" | "parts">,
  most_L: number,
  job: Pick<Job, "device">,
): Issue {
  const shows = say`the display shows ${litresTo(most_L, 1)} usable at most, so the light would never go out`;
  const told = (says: Said, remedy: string): Issue => ({
    code: "low-fuel/over-the-tank",
    says,
    remedy,
    weight: "doubtful",
  });
  if (low.overridden)
    return told(
      say`You chose ${litresTo(low.warnAtUsable_L, 1)}, and ${shows}.`,
      "Choose a lower warning, or take the recommended one again.",
    );
  const { displayStep, displayUnit } = job.device;
  if (warn_L < most_L)
    return told(
      say`The warning is worked out to ${litresTo(warn_L, 1)} usable; rounded up to a step of the display, ${displayStep} ${volumeSigns[displayUnit]}, it is ${litresTo(low.warnAtUsable_L, 1)}, and ${shows}.`,
      "State the step in which the device takes its warning, if it is finer than the displayed one, or a smaller reserve.",
    );
  const partOf = (part: string) => low.parts.find((p) => p.part === part)?.value_L ?? 0;
  const unknown_L = partOf("what is not known of the level");
  return unknown_L > partOf("reserve")
    ? told(
        say`The light would come on at ${litresTo(warn_L, 1)} usable, and ${shows}: ${litresTo(unknown_L, 1)} of it stand for what is not known of the level.`,
        "Look at what is stated of the pours’ and the container’s error and of the unusable volume, or pour again with a container that is known better.",
      )
    : told(
        say`The light would come on at ${litresTo(warn_L, 1)} usable, and ${shows}: the reserve and the risk ask for too much.`,
        "State a smaller reserve or a larger risk.",
      );
}
