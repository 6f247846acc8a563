/** Odd readings of a fill run: on a rail, or exactly where they stood before; told, never dropped. */
import type { Issue } from "../answer";
import { withUnit } from "../format";
import type { FillRun } from "./fill-run";
import type { FillJob, ReadingUnit } from "./job";

/** A sender's own end under this share of the pull-up reads zero as far as anybody can tell (our own bound). */
const zeroShare = 0.005;

/** Which rail a reading stands on, in words; null when it stands on none or the job does not say enough. */
export function railAt(reading: number, job: FillJob, unit: ReadingUnit | null): string | null {
  const { supplyVolts, adcBits } = job.circuit;
  const top = unit === "V" ? supplyVolts : unit === "count" && adcBits !== null ? 2 ** adcBits - 1 : null;
  if (top === null) return null;
  if (reading >= 0.99 * top) return "it stands at the supply, so the sender’s wire is open or off";
  if (reading <= 0.002 * top)
    return "it stands at zero, so the sender’s wire is shorted to ground or the supply is off";
  return null;
}

/** Readings on a rail in the middle of a run, and pours that left the reading exactly where it was: told, never dropped. */
export function oddReadings(run: FillRun, ladder: boolean, job: FillJob, unit: ReadingUnit | null): Issue[] {
  const issues: Issue[] = [];
  const own = atOwnZero(run, job, unit);
  for (const step of run.steps) {
    const rail = railAt(step.reading, job, unit);
    if (rail !== null && step.atStop === null && !own.has(step.index))
      issues.push({
        code: "fill-run/on-a-rail",
        says: `${run.file}, line ${step.line}: step ${step.index} reads ${withUnit(step.reading, unit === null || unit === "count" ? "" : unit === "ohm" ? "Ω" : unit)}: ${rail}.`,
        remedy: "Read that step again, or set it aside.",
        where: { file: run.file, row: step.line, step: step.index },
        weight: "doubtful",
      });
  }
  const equal = run.steps.filter(
    (s, i) => i > 0 && s.atStop === null && s.added_L > 0 && s.reading === run.steps[i - 1]!.reading,
  );
  if (!ladder && equal.length > 0 && run.kind === "typed")
    issues.push({
      code: "fill-run/equal-readings",
      says: `${run.file}: ${equal.length === 1 ? "step" : "steps"} ${equal.map((s) => s.index).join(", ")} ${equal.length === 1 ? "reads" : "read"} the same as the step before, although fuel was ${run.direction === "drain" ? "drawn" : "poured"}.`,
      remedy: `Look whether the ${job.sender.kind === "capacitive" ? "reading lagged" : "float hung"} or a figure was copied.`,
      where: { file: run.file, row: equal[0]!.line, step: equal[0]!.index },
      weight: "note",
    });
  return issues;
}

/** Steps from the end inward at which the stated sender itself reads zero: a short reads the same there, so none is claimed. */
function atOwnZero(run: FillRun, job: FillJob, unit: ReadingUnit | null): Set<number> {
  const { emptyOhms, fullOhms } = job.sender;
  const own = new Set<number>();
  for (const [ohms, fromEmpty] of [
    [emptyOhms, true],
    [fullOhms, false],
  ] as const) {
    if (ohms === null || ohms > zeroShare * (job.circuit.pullUpOhms ?? Math.max(emptyOhms ?? 0, fullOhms ?? 0)))
      continue;
    const inward = (run.direction === "fill") === fromEmpty ? run.steps : [...run.steps].reverse();
    for (const step of inward) {
      if (railAt(step.reading, job, unit) === null) break;
      own.add(step.index);
    }
  }
  return own;
}
