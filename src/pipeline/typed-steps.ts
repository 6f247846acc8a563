/** Steps of a sheet: one row a step, with the volume poured or counted up, and one reading each. */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { withUnit } from "../format";
import { say } from "../said";
import { drawnAs } from "./drawn-volumes";
import type { Step } from "./fill-run";
import type { FillJob } from "./job";
import { litresTo } from "./litres";
import { type Column, columnsIn, placeOfLine, type Recording } from "./recording";
import { enteredAsOf, type FoundSteps, goesWrong, litresFactor, readingStepOf, runOf } from "./steps";
import { asDrain, byColumn, byJob, mendedBy, type Ways } from "./ways";

/** Where volumes go down: what the column may be instead. */
function insteadOf(enteredAs: "added" | "cumulative", kind: Recording["kind"]): Ways {
  const what =
    enteredAs === "added" ? "the volumes are totals" : `each row is one ${kind === "drain" ? "draw" : "pour"}`;
  const [page, value] = enteredAs === "added" ? ["counted up", "cumulative"] : ["added with each pour", "added"];
  const orDrain = (way: string) => (kind === "fill" ? `; if the tank was being emptied, ${way}` : "");
  return {
    page: `${what}, say “${page}”${orDrain(asDrain.page)}`,
    command: `${what}, say --set fill.enteredAs=${value}${orDrain(asDrain.command)}`,
  };
}

/** Most steps of a sheet: the curve weighs every step against every other. */
const mostTyped = 2000;

/** A step of which one reading was written down; its error is the rounding alone. */
export const typedStep = (
  index: number,
  volume_L: number,
  added_L: number,
  reading: number,
  readingStep: number,
  line: number,
): Step => ({
  index,
  volume_L,
  added_L,
  reading,
  standardError: Math.max(readingStep, 1e-9) / Math.sqrt(12),
  effectiveSamples: null,
  samples: null,
  dropped_s: null,
  from_s: null,
  to_s: null,
  line,
  atStop: null,
});

/** A sheet, and what is doubtful in it. @returns stuck `fill-run/…` without volumes, over 2,000 rows, with a unit that needs more, or where a volume goes down. */
export function typedSteps(recording: Recording, job: FillJob, cautions: Issue[]): Answer<FoundSteps> {
  const volume = recording.columns.find((c) => c.role === "volume");
  const reading = recording.columns.find((c) => c.role === "reading")!;
  if (!volume)
    return stuck({
      code: "fill-run/no-volume",
      says: `${recording.file} has no column that looks like a volume${columnsIn(recording)}.`,
      ...mendedBy(byColumn("volume"), (way) => `Name the column of volumes ${way}.`),
      where: { file: recording.file },
    });
  if (recording.rows > mostTyped)
    return stuck({
      code: "fill-run/too-many-steps",
      says: `${recording.file} has ${recording.rows} rows and no time column: as typed steps that is more than the ${mostTyped} that can be weighed against each other.`,
      ...mendedBy(
        byColumn("time"),
        (way) => `If it is a recording, name its time column ${way}; else bring fewer steps.`,
      ),
      where: { file: recording.file },
    });
  const factor = litresFactor(recording, volume, job, cautions);
  if (factor.state !== "ready") return factor;
  const enteredAs = enteredAsOf(recording, job);
  if (job.fill.enteredAs === null && !recording.decided.enteredSure)
    cautions.push({
      code: "fill-run/added-or-counted",
      says: `${recording.file} does not say whether its volumes are ${enteredAs === "added" ? "poured with each row, as they are taken," : "poured with each row"} or counted up${enteredAs === "added" ? "" : ", as they are taken"}; both fit.`,
      ...mendedBy(
        byJob("in the job, or under “Read it another way”", "fill.enteredAs=added or =cumulative"),
        (way) => `State it ${way}.`,
      ),
      weight: "holds-if",
      condition: enteredAs === "added" ? "each row is one pour" : "the volumes are counted up",
    });
  const readingStep = readingStepOf(reading, job);
  const steps: Step[] = [];
  /** The last step, where the count goes on from the one before it as if that step were not there: a slip in it, and none in the row that lies lower. */
  const rowTooHigh = (so: Step[], total_L: number, row: number): Step | null => {
    const last = so[so.length - 1];
    const next = rows.slice(row + 1).find((k) => volume.valid[k]);
    if (enteredAs !== "cumulative" || recording.kind !== "fill" || !last || next === undefined) return null;
    const next_L = volume.values[next]! * factor.value;
    const goesOn = total_L >= (so[so.length - 2]?.volume_L ?? 0) && next_L >= total_L && next_L < last.volume_L;
    return goesOn ? last : null;
  };
  // A cell that holds no number was named with what stands in it when the file was read: it is not missing, and not told twice.
  const notNumbers = new Set(
    recording.oddLines
      .filter((odd) => odd.code === "recording/text-for-number" || odd.code === "recording/mixed-decimals")
      .map((odd) => `${odd.where?.row} ${odd.where?.column}`),
  );
  const isNoNumber = (column: Column, i: number) => notNumbers.has(`${recording.line[i]} ${column.header}`);
  let total = 0;
  let before: number | null = null;
  const rows = Array.from({ length: recording.rows }, (_, i) => i);
  const all_L = rows.filter((i) => volume.valid[i]).map((i) => volume.values[i]! * factor.value);
  const as = drawnAs(recording, enteredAs, all_L, cautions);
  const hasStart =
    rows.some((i) => volume.valid[i] && reading.valid[i]) && (as.from_L !== null || firstVolume(rows, volume) === 0);
  // A row with a volume is a pour, read or not: later steps keep their own number.
  let pour = hasStart ? -1 : 0;
  for (const i of rows) {
    if (!volume.valid[i] && !reading.valid[i]) continue;
    const written = volume.valid[i]
      ? as.drawn_L(volume.values[i]! * factor.value)
      : enteredAs === "added" && steps.length === 0
        ? 0
        : null;
    if (written === null || !reading.valid[i]) {
      // The pour still counts for all later volumes; only the step has no reading.
      if (written !== null) {
        pour += 1;
        if (enteredAs === "added") total += written;
      }
      const [cell, column] = written === null ? ["volume", volume] : ["reading", reading];
      const unread = isNoNumber(column as Column, i);
      if (unread && written !== null) continue;
      const low_V = written === null ? undefined : recording.lowSupply?.get(i);
      cautions.push({
        code: "fill-run/half-row",
        says: `${placeOfLine(recording.file, recording.line[i]!)}: ${low_V === undefined ? `the ${cell} ${unread ? "cannot be read" : "is missing"}` : `the logged supply stands at ${withUnit(low_V, "V")}, too low to believe the reading`}, so this row gives no step.`,
        remedy:
          low_V === undefined
            ? `${unread ? "Correct" : "Fill in"} the cell, or leave the row as it is.`
            : "Correct the supply in this row, or leave the cell blank where it was not measured.",
        where: { file: recording.file, row: recording.line[i]! },
        ...(written === null && enteredAs === "added"
          ? { weight: "holds-if" as const, condition: `nothing was poured in line ${recording.line[i]}` }
          : { weight: "note" as const }),
      });
      continue;
    }
    total = enteredAs === "added" ? total + written : written;
    pour += 1;
    const added = before === null ? (pour === 0 ? 0 : total) : total - before;
    const slip = total < (before ?? 0) ? rowTooHigh(steps, total, i) : null;
    if (slip)
      return stuck({
        code: "fill-run/volume-goes-down",
        says: say`${placeOfLine(recording.file, slip.line)}: ${litresTo(slip.volume_L, 2)} lies over the rows before it and after it, ${litresTo(total, 2)} in the next, in a fill run whose volumes are counted up.`,
        ...mendedBy(insteadOf(enteredAs, recording.kind), (what) => `Correct the row; if ${what}.`),
        where: { file: recording.file, row: slip.line, column: volume.header },
      });
    const again = headerBetween(recording, steps[steps.length - 1]?.line ?? 0, recording.line[i]!);
    if (total < (before ?? 0))
      return stuck({
        code: "fill-run/volume-goes-down",
        says:
          enteredAs === "added"
            ? say`${placeOfLine(recording.file, recording.line[i]!)}: ${litresTo(written, 2)} is less than nothing, in a ${recording.kind} run with the litres of each ${recording.kind === "drain" ? "draw" : "pour"}.`
            : say`${placeOfLine(recording.file, recording.line[i]!)}: the volume goes ${goesWrong(before ?? 0, total, as.from_L)}, in a ${recording.kind} run.`,
        ...mendedBy(
          insteadOf(enteredAs, recording.kind),
          (what) =>
            `${again ? `Line ${again} names the columns anew: if a further run begins there, give it a file of its own. Else correct` : "Correct"} the row; if ${what}.`,
        ),
        where: { file: recording.file, row: recording.line[i]!, column: volume.header },
      });
    steps.push(typedStep(pour, total, added, reading.values[i]!, readingStep, recording.line[i]!));
    before = total;
  }
  const poursAsTotals = enteredAs === "cumulative" ? stoodStill(steps, readingStep) : null;
  if (poursAsTotals)
    return stuck({
      code: "fill-run/pours-as-totals",
      says: say`${placeOfLine(recording.file, poursAsTotals.line)}: the volume stands at ${litresTo(poursAsTotals.volume_L, 2)} in nearly every row while the reading goes on, in volumes that are said to be counted up: each row seems to be one ${recording.kind === "drain" ? "draw" : "pour"}.`,
      ...mendedBy(
        byJob("“added with each pour”, under “Read it another way”", "fill.enteredAs=added"),
        (way) => `If so, say it: ${way}.`,
      ),
      where: { file: recording.file, row: poursAsTotals.line, column: volume.header },
    });
  if (!hasStart && steps.length > 0)
    cautions.push({
      code: "fill-run/no-start",
      says: say`${recording.file} has no row for the start (${litresTo(0, 0)}), so its first row counts as step 1.`,
      remedy: "If you read the sender before the first pour, add that row.",
      weight: "note",
    });
  return ready({ run: runOf(recording, "typed", steps, job, null), readingStep });
}

/** A line in between in which the header stands again, as where two runs were copied under each other. */
function headerBetween({ oddLines }: Recording, above: number, below: number): number | null {
  const found = oddLines.find(
    ({ code, where }) =>
      code === "recording/header-again" && where?.row !== undefined && where.row > above && where.row < below,
  );
  return found?.where?.row ?? null;
}

/**
 * Where equal volumes counted up cannot be meant: nearly all rows add nothing, and the reading goes on one way in them, as it does not where a level
 * was read several times. From five rows on (our own bounds).
 */
function stoodStill(steps: Step[], readingStep: number): Step | null {
  const still = steps.flatMap((step, k) => {
    const move = k > 0 ? step.reading - steps[k - 1]!.reading : 0;
    return k > 0 && step.added_L === 0 && Math.abs(move) > 2 * readingStep ? [{ step, move }] : [];
  });
  const gone = Math.abs(still.reduce((sum, s) => sum + s.move, 0));
  const moved = still.reduce((sum, s) => sum + Math.abs(s.move), 0);
  const nearlyAll = steps.length >= 5 && still.length >= 3 && still.length >= 0.8 * (steps.length - 2);
  return nearlyAll && gone >= 0.8 * moved ? still[0]!.step : null;
}

const firstVolume = (rows: number[], volume: Column) => {
  const first = rows.find((i) => volume.valid[i]);
  // A blank volume in the first row with a reading beside it is the start as well.
  return first === undefined ? null : first > 0 ? 0 : volume.values[first]!;
};
