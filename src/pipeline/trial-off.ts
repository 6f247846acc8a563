/** Trial, off: a display that stands still and yet is far from the fuel, and what that comes of. */
import type { Issue } from "../answer";
import { say } from "../said";
import { litresTo } from "./litres";
import type { TrialRun } from "./trial-run";

/** Mean distance from the trend, beyond the lag, as a share of the tank: from here on it is said by itself. Named default, no source. */
const muchOff = 0.05;

/** A display may stand still and yet far from the fuel: steadiness alone would pass for a sound result. */
export function offOnAverage(
  run: TrialRun,
  total_L: number,
  believedDropouts: number,
  coarse: { tableError_L: number; rows: number; step_L: number } | null = null,
): Issue | null {
  const { meanError_L, lag_L } = run;
  if (!(Math.abs(meanError_L) - Math.abs(lag_L) > muchOff * total_L)) return null;
  // What is typed may be off by so much without any motion: then the drive is not to blame.
  if (coarse && believedDropouts === 0) {
    const byTable = coarse.tableError_L >= 0.5 * Math.abs(meanError_L);
    if (byTable || coarse.step_L / 2 >= 0.5 * Math.abs(meanError_L))
      return {
        code: "trial/off-on-average",
        says: say`Replayed as typed, the display shows ${litresTo(Math.abs(meanError_L), 1)} too ${meanError_L > 0 ? "much" : "little"} on average on these logs, because ${
          byTable
            ? say`the ${coarse.rows} rows of the table stray by up to ${litresTo(coarse.tableError_L, 1)} from the curve`
            : say`it shows whole steps of ${litresTo(coarse.step_L, 1)}`
        }. The ends do not count with that.`,
        remedy: byTable
          ? "Allow more rows in the job if the device takes them, or a finer step for them."
          : "State a smaller displayed step, if the device has one.",
        weight: "doubtful",
      };
  }
  const many = `${believedDropouts} drop-out${believedDropouts === 1 ? "" : "s"}`;
  return {
    code: "trial/off-on-average",
    says: say`Replayed as typed, the display shows ${litresTo(Math.abs(meanError_L), 1)} too ${meanError_L > 0 ? "much" : "little"} on average on these logs${
      believedDropouts > 0
        ? `: the device takes ${many} for fuel and smooths ${believedDropouts === 1 ? "it" : "them"} in`
        : ", far more than its lag"
    }. The ends do not count with that.`,
    remedy:
      believedDropouts > 0
        ? "Mend the wire or the contact first, or take a device with fault limits that holds the last good value."
        : "Look at the drive log: another tank, a float that hangs, or a course that turns one way.",
    weight: "doubtful",
  };
}
