/** Complaint: the deadband found is wider than the display may be wrong by. The table can be right and the driver still be told other litres. */

import { say } from "../said";
import type { Cause } from "./complaint";
import type { FoundDevice } from "./complaint-device";
import type { Display } from "./display";
import type { Job } from "./job";
import { litresOf, litresSetTo } from "./litres";

/**
 * Null where the deadband is no wider than the tolerance, as stated; where none is, only somebody who complains of the middle is told, by 2 % of the
 * capacity.
 */
export function deadbandTooWide({ settings }: FoundDevice, display: Display | null, job: Job): Cause | null {
  const most_L = Math.max(...settings.table.map((r) => r.volume_L));
  if (job.targets.tolerance_L === null && job.complaint !== "wrong-in-the-middle") return null;
  const tolerance_L = job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? most_L);
  const { deadband_L, deadbandKind } = settings;
  if (!(deadband_L > tolerance_L)) return null;
  const off =
    deadbandKind === "play"
      ? say`on a falling level it stands ${litresSetTo(deadband_L)} too high`
      : say`the display stands up to ${litresSetTo(deadband_L)} off before it moves`;
  return {
    trouble: "wrong-in-the-middle",
    cause: "wide-deadband",
    weight: deadband_L / tolerance_L,
    figures: { deadband_L, tolerance_L, recommendedDeadband_L: display?.deadband_L ?? null },
    says: say`The display is off by more than the ${litresOf(tolerance_L)} that are allowed, whatever the table says, because its deadband of ±\u00a0${litresSetTo(deadband_L)} is wider: ${off}.`,
    remedy: display
      ? say`Give the display a deadband of ±\u00a0${litresSetTo(display.deadband_L)}, as the display leaf works out.`
      : "Narrow the deadband; with a drive log the display leaf works out by how much.",
  };
}
