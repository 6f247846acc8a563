/** Display without motion: which settings are left where a log stands at an end of the sender, and so does not show how the fuel moves? */
import type { Issue } from "../answer";
import { fixed } from "../format";
import type { DriveLog } from "./drive-log";

/** Share of the rows at an end from which on a log is taken to hide motion. Named default, no source. */
const mostAtEnd = 0.1;
/**
 * What is then kept at least: seconds of smoothing, and a share of the displayed step as the deadband. Named defaults, no source: about what half
 * of simulated drives need that do show their motion.
 */
const least = { timeConstant_s: 60, ofStep: 0.25 };

type Pair = { timeConstant_s: number; deadband_L: number };

/** Share of all rows on which the reading stands at an end of the sender. */
export const shareAtEnds = (logs: Pick<DriveLog, "rows" | "counts">[]): number =>
  logs.reduce((sum, l) => sum + l.counts.atEnd, 0) /
  Math.max(
    1,
    logs.reduce((sum, l) => sum + l.rows, 0),
  );

/**
 * Beyond its stop the sender reads the same whatever the fuel does: a log that stands there looks calm, and any setting holds it still. So those that
 * are quick or narrow are not weighed.
 *
 * @param maxLag_s wanted by the user: it is kept to first.
 * @returns all pairs where the log shows its motion, or where none that is slow enough is left.
 */
export function slowEnough<P extends Pair>(
  pairs: P[],
  logs: Pick<DriveLog, "rows" | "counts">[],
  step_L: number,
  maxLag_s: number | null,
): { pairs: P[]; cautions: Issue[] } {
  const share = shareAtEnds(logs);
  if (share <= mostAtEnd) return { pairs, cautions: [] };
  const slow = pairs.filter(
    (p) => p.timeConstant_s >= least.timeConstant_s && p.deadband_L >= least.ofStep * step_L - 1e-9,
  );
  if (!slow.some((p) => maxLag_s === null || p.timeConstant_s <= maxLag_s)) return { pairs, cautions: [] };
  return {
    pairs: slow,
    cautions: [
      {
        code: "display/motion-unseen",
        says: `On ${fixed(100 * share, 0)} % of the rows the reading stands at an end of the sender, where no motion is seen: settings quicker than ${least.timeConstant_s} s, or with a deadband under a quarter of a displayed step, are not weighed.`,
        remedy: "Bring a log that runs between the ends: it may show that a quicker display is still.",
        weight: "holds-if",
        condition: "the fuel moves no more than on most drives",
      },
    ],
  };
}
