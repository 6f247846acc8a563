/** What is doubtful in a drive log that can be used: told with what mends it. */

import type { Issue } from "../answer";
import { fixed } from "../format";
import { say } from "../said";
import type { BurnTrend } from "./burn-trend";
import { leastDriven_s } from "./device-record";
import type { DriveRows } from "./drive-rows";
import { litresTo } from "./litres";
import type { Stuck } from "./stuck";
import { byPart, mendedBy } from "./ways";

/** Share of the readings that may lie outside those of the curve. Named default, no source. */
const mostOutside = 0.25;
/** Share of those past the full end from which on it is the tank that was fuller. Named default, no source. */
const nearlyAll = 0.95;
/** Shares of a log for which the vehicle may stand at all, and without a word; share of its rows that may stand at an end of the sender. Named defaults, no source. */
const mostParked = 0.9;
const muchParked = 0.2;
const mostAtEnd = 0.1;
/** Share of a log that may stand still before its calm is in doubt. Named default, no source. */
const mostStuck = 0.05;
/** Deviation of the block means from a steady burn, as a share of the tank, over which it is none. Named default, no source. */
const mostStray = 0.08;

/** Whether so many of a log's rows stand at an end of the sender that the level lies beyond for a part of it. */
export const mayLieBeyond = (atEnd: number, rows: number): boolean => atEnd > mostAtEnd * rows;

/** What was found in the rows. */
export interface SeenInLog {
  /** Rows outside the readings of the curve, those of them that lie a little past its full end, and rows at an end of the sender. */
  outside: number;
  fuller: number;
  atEnd: number;
  /** Litres by which the volume rises steadily while driving; null where it does not, or where the flow was logged. */
  rise_L: number | null;
  stuck: Stuck;
  parked_s: number;
  trend: Pick<BurnTrend, "block_s" | "stray_L">;
  /** Whether the litres are those of the table found in the device, there being no fill run. */
  isFound: boolean;
  /** Most litres of the curve. */
  top_L: number;
  /** Whether nothing but noise is in the reading, and no burn. */
  noiseAlone: boolean;
  /** Fixed levels that the reading stands on although the curve knows of none; null where there are none. */
  levels: number | null;
  /** Whether the job states a ladder: then the fill run had too few steps to tell its levels. */
  ladderStated: boolean;
}

export function doubtsOf(file: string, rows: DriveRows, seen: SeenInLog): Issue[] {
  const cautions: Issue[] = [];
  const n = rows.keep.length;
  const { duration_s, backwards, repeatedStamps } = rows;
  if (seen.outside > mostOutside * n && seen.fuller > nearlyAll * seen.outside)
    cautions.push({
      code: "drive-log/fuller",
      says: `${Math.round((100 * seen.outside) / n)} % of the readings of ${file} lie a little past ${seen.isFound ? "the last row of the table found: the tank was probably fuller on this drive than its table reaches, and what lies over that row is not told" : "the last step of the fill run: the tank was probably fuller on this drive than the run filled it, and what lies over that step is not told"}.`,
      remedy: seen.isFound
        ? "Bring a log from lower in the tank, or a fill run."
        : "Pour on until the tank is as full as it gets in use, or bring a log from lower in the tank.",
      weight: "doubtful",
    });
  else if (seen.outside > mostOutside * n)
    cautions.push({
      code: "drive-log/outside",
      says: `${Math.round((100 * seen.outside) / n)} % of the readings of ${file} lie outside those that ${seen.isFound ? "the table found has rows for" : "the curve is known for"}: another column or unit, another circuit, or the sender is wired the other way round.`,
      ...mendedBy(
        {
          page: "the column under “Read it another way”",
          command: "that the right column was taken (--map reading=COLUMN)",
        },
        (way) => `Check ${way}, and that both were read through the same circuit.`,
      ),
      weight: "doubtful",
    });
  if (backwards > 0)
    cautions.push({
      code: "drive-log/backwards",
      says:
        backwards === 1
          ? `${file}, line ${rows.firstBackwards}: the time is out of order; that row is left out.`
          : `${file}: the time of ${backwards} rows is out of order, from line ${rows.firstBackwards} on; those rows are left out.`,
      remedy: "Export the log anew if much is missing; if the clock was reset, bring the two parts as two logs.",
      where: { file, row: rows.firstBackwards },
      weight: backwards > 0.02 * (n + backwards) ? "doubtful" : "note",
    });
  if (repeatedStamps > 0.1 * n)
    cautions.push({
      code: "drive-log/repeated-stamps",
      says: `${Math.round((100 * repeatedStamps) / n)} % of the rows of ${file} repeat the time before; they are spread evenly between stamps.`,
      weight: "note",
    });
  const { rise_L } = seen;
  if (rise_L !== null)
    cautions.push({
      code: "drive-log/rising",
      says: say`${file}: the volume rises by ${litresTo(rise_L, 1)} while driving, steadily and not in one refuel: the sender may be wired the other way round, or the log is of another tank.`,
      remedy: "Check that fill run and drive log were read through the same wires.",
      weight: "doubtful",
    });
  if (seen.stuck.first_s !== null)
    cautions.push({
      code: "drive-log/stuck",
      says: `${file}: the reading stands still for ${fixed(seen.stuck.seconds, 0)} s in all, first ${fixed(seen.stuck.first_s / 60, 1)} min after the start: the float hangs there, or the logger repeats its last value. Those rows look calmer than the road was.`,
      remedy: "Look at the log there; move the float by hand if it hangs, or leave that part out.",
      weight: seen.stuck.seconds > mostStuck * duration_s ? "doubtful" : "note",
      where: { file },
    });
  if (seen.levels !== null)
    cautions.push({
      code: "drive-log/levels",
      says: `${file}: the reading leaps between ${seen.levels} fixed values with nothing between them: the sender is a ladder of switches. The fill run was read as if it moved evenly, so the curve is surer of itself than it can be.`,
      remedy: seen.ladderStated
        ? "The job states a ladder, and the fill run has too few steps to tell its levels: pour again in six steps or more, as small as the levels are apart."
        : "State the sender as a reed ladder in the job (sender.kind): then what lies between two levels is counted.",
      weight: "doubtful",
      where: { file },
    });
  const driven_s = duration_s - seen.parked_s;
  if (seen.parked_s > mostParked * duration_s)
    cautions.push({
      code: "drive-log/parked",
      says: `${file}: the vehicle stands for ${Math.round((100 * seen.parked_s) / duration_s)} % of this log, so that ${driven_s < leastDriven_s ? "what the fuel does on the road is not in it, and what is counted a minute is counted over all of it" : "little of what the fuel does on the road is in it"}.`,
      remedy: "Bring a log of a drive on the roughest road in use.",
      weight: "doubtful",
    });
  else if (seen.parked_s > muchParked * duration_s) {
    const tooLittle = driven_s < leastDriven_s;
    const counted = tooLittle
      ? "It moves for under a minute, so that what is counted a minute is counted over all of it"
      : `Turns and digit changes a minute are counted over the ${fixed(driven_s / 60, 1)} min in which it moves; errors, burn and motion are those of all of it`;
    cautions.push({
      code: "drive-log/partly-parked",
      says: `${file}: the vehicle stands for ${Math.round((100 * seen.parked_s) / duration_s)} % of this log. ${counted}.`,
      ...mendedBy(byPart, (way) => `Count only the drive, ${way}.`),
      ...(tooLittle
        ? { weight: "holds-if" as const, condition: "the vehicle stands as long in service" }
        : { weight: "note" as const }),
    });
  }
  if (seen.noiseAlone && seen.parked_s <= mostParked * duration_s)
    cautions.push({
      code: "drive-log/noise-alone",
      says: `${file}: nothing but noise from row to row is in the reading, and no burn: the vehicle stood, or the float hangs. What the fuel does on the road is not in this log.`,
      remedy: "Bring a log of a drive on the roughest road in use.",
      weight: "doubtful",
    });
  if (mayLieBeyond(seen.atEnd, n))
    cautions.push({
      code: "drive-log/at-end",
      says: `${file}: ${Math.round((100 * seen.atEnd) / n)} % of the rows stand at an end of the sender, where the level may lie beyond: burn and motion are told too small there.`,
      remedy: "Bring a log that runs between the ends too.",
      weight: "note",
    });
  if (seen.trend.block_s >= 20 && seen.trend.stray_L > mostStray * seen.top_L)
    cautions.push({
      code: "drive-log/no-trend",
      says: say`${file}: averaged over ${Math.round(seen.trend.block_s)} s the volume still strays by ${litresTo(seen.trend.stray_L, 1)} from a steady burn: it was filled or drained meanwhile, the float hangs, or the log is of another tank. What is judged against that burn is judged wrongly.`,
      ...mendedBy(byPart, (way) => `Bring a log of one drive, or choose the part of this one that is, ${way}.`),
      weight: "doubtful",
    });
  return cautions;
}
