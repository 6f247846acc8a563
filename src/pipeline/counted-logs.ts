/** Counted logs: beside a log that can tell something, one that cannot is left out of slosh, display, ends, trial and warning, and that is said. */
import type { Issue } from "../answer";
import { withUnit } from "../format";
import { leastForRates_s } from "./display-weigh";
import type { DriveLog } from "./drive-log";

const driven_s = (log: DriveLog): number =>
  log.duration_s - log.parts.reduce((sum, p) => sum + (p.kind === "parked" ? p.to_s - p.from_s : 0), 0);

/** Why a log tells nothing of how the display moves; null where it does. */
function whyNot(log: DriveLog): string | null {
  if (log.shows === "sender-end") return "nearly all of it stands at an end of the sender, or outside of the curve";
  const driven = driven_s(log);
  return driven < leastForRates_s
    ? `it holds ${withUnit(driven, "s", 2)} of driving, and ${withUnit(leastForRates_s, "s", 2)} tell a rate at least`
    : null;
}

/** The logs that settings are chosen and tried on: those that can tell something, or all of them where none can. */
export function countedLogs(logs: DriveLog[]): DriveLog[] {
  const counted = logs.filter((log) => whyNot(log) === null);
  return counted.length === 0 || counted.length === logs.length ? logs : counted;
}

/** One line for each log that is left out. */
export function notCounted(logs: DriveLog[]): Issue[] {
  const counted = countedLogs(logs);
  return logs.flatMap((log): Issue[] =>
    counted.includes(log)
      ? []
      : [
          {
            code: "drive-log/not-counted",
            says: `${log.file} is left out of slosh, display, ends, trial and warning, which rest on ${counted.map((l) => l.file).join(" and ")}: ${whyNot(log)}.`,
            where: { file: log.file },
            weight: "note",
          },
        ],
  );
}
