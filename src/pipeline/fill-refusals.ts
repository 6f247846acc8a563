/** Fill refusals: runs that no curve can be drawn through, each with what mends it. */
import type { Issue } from "../answer";
import { say } from "../said";
import type { FillRun } from "./fill-run";
import type { FillJob, ReadingUnit } from "./job";
import { litresOf } from "./litres";
import { mayLackPullUp, railAt } from "./odd-readings";
import { placeOfLine, type Recording } from "./recording";
import { goesAgainst, senseOf } from "./run-sense";
import { byColumn, mendedBy } from "./ways";

/** A volume over this, litres, is a slip: the tanks of ships are smaller. */
const mostVolume_L = 1e7;

/** `fill-run/one-step`; where rows could not be read, they are the reason. */
export function tooFewSteps(first: FillRun, recordings: Recording[]): Issue | null {
  if (first.steps.length >= 2) return null;
  const left = `${first.steps.length === 1 ? "one step" : "no step"}; a curve needs at least two volumes with their readings.`;
  const unread = recordings.find((r) => r.file === first.file)?.oddLines.find(isUnread);
  if (unread)
    return {
      code: "fill-run/one-step",
      says: say`${unread.says} That leaves ${left}`,
      ...(unread.remedy === undefined ? {} : { remedy: unread.remedy }),
      ...(unread.where ? { where: unread.where } : {}),
    };
  return {
    code: "fill-run/one-step",
    says: `${first.file} has ${left}`,
    remedy: first.direction === "drain" ? "Draw in more steps." : "Pour more steps.",
    where: { file: first.file },
  };
}

const isUnread = ({ code }: Issue) => code === "recording/mixed-decimals" || code === "recording/text-for-number";

/** `fill-run/volume-too-large` or `fill-run/nothing-poured`. */
export function volumesRefused(run: FillRun): Issue | null {
  const odd = run.steps.find((s) => !(Math.abs(s.volume_L) <= mostVolume_L));
  if (odd)
    return {
      code: "fill-run/volume-too-large",
      says: say`${placeOfLine(run.file, odd.line)}: ${litresOf(odd.volume_L, 3)} in all is more than any tank holds.`,
      remedy: "Correct the row, or the unit of the volumes.",
      where: { file: run.file, row: odd.line },
    };
  const [start, next] = run.steps;
  if (!start || !next || run.steps.some((s) => s.volume_L !== start.volume_L)) return null;
  return {
    code: "fill-run/nothing-poured",
    says: say`${run.file}: the volume stays at ${litresOf(start.volume_L, 3)} through all ${run.steps.length} steps, so nothing was ${run.direction === "drain" ? "drawn" : "poured"}.`,
    ...mendedBy(byColumn("volume"), (way) => `Fill in the volumes, or name their column ${way}.`),
    where: { file: run.file, row: next.line },
  };
}

/** `fill-run/flat-reading`: it moves by no more than twice its own step. */
export function staysLevel(first: FillRun, job: FillJob, unit: ReadingUnit | null, readingStep: number): Issue | null {
  const [low, high] = travelOf(first);
  if (high - low > 2 * readingStep) return null;
  return {
    code: "fill-run/flat-reading",
    says: `The reading stays at ${low} through all ${first.steps.length} steps: ${railAt(low, job, unit) ?? "the sender is stuck, not connected, or stands on a rail"}${mayLackPullUp(high, job, unit) ? ", or the pull-up is missing" : ""}.`,
    remedy: "Check the wiring and the float, then fill again.",
    where: { file: first.file },
  };
}

/** `fill-run/opposite`: another run goes the other way. */
export function goesOpposite(runs: FillRun[], first: FillRun): Issue | null {
  const sense = senseOf(first.steps.map((s) => s.reading));
  const [low, high] = travelOf(first);
  const against = runs.find((r) => r !== first && goesAgainst(r, sense, high - low));
  if (!against) return null;
  return {
    code: "fill-run/opposite",
    says: `With more fuel the reading ${sense > 0 ? "rises" : "falls"} in ${first.file}, and ${sense > 0 ? "falls" : "rises"} in ${against.file}: one of them was filled where it should be drained or the other way round, or the sender was wired the other way.`,
    ...mendedBy(
      {
        page: "bring each file as the run that it is",
        command: "name fill runs with --fill, drain runs with --drain",
      },
      (way) => `Look at both files, and ${way}.`,
    ),
    where: { file: against.file },
  };
}

function travelOf(run: FillRun): [number, number] {
  const readings = run.steps.map((s) => s.reading);
  return [Math.min(...readings), Math.max(...readings)];
}
