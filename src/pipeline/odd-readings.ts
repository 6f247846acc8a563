/** Odd readings of a fill run: on a rail, or exactly where they stood before; told, never dropped. */
import type { Issue } from "../answer";
import { withUnit } from "../format";
import type { FillRun, Step } from "./fill-run";
import type { FillJob, ReadingUnit } from "./job";

/** A sender's own end under this share of the pull-up reads zero as far as anybody can tell (our own bound). */
const zeroShare = 0.005;

const standsAtZero = (reading: number, top: number) => reading <= 0.002 * top;

/** A run that stands at zero throughout, behind a pull-up: without that resistor nothing lifts the input over the ground that the sender ties it to. */
export function mayLackPullUp(highest: number, job: FillJob, unit: ReadingUnit | null): boolean {
  const { kind, supplyVolts, adcBits } = job.circuit;
  const top = unit === "V" ? supplyVolts : unit === "count" && adcBits !== null ? 2 ** adcBits - 1 : null;
  return kind === "pull-up" && top !== null && standsAtZero(highest, top);
}

/** Up to so many steps are told one by one. */
const severalSteps = 3;

/** Which rail a reading stands on, in words; null when it stands on none or the job does not say enough. */
export function railAt(reading: number, job: FillJob, unit: ReadingUnit | null): string | null {
  const { supplyVolts, adcBits } = job.circuit;
  const top = unit === "V" ? supplyVolts : unit === "count" && adcBits !== null ? 2 ** adcBits - 1 : null;
  if (top === null) return null;
  if (reading >= 0.99 * top) return "it stands at the supply, so the sender’s wire is open or off";
  if (standsAtZero(reading, top))
    return "it stands at zero, so the sender’s wire is shorted to ground or the supply is off";
  return null;
}

/** Readings on a rail in the middle of a run, and pours that left the reading exactly where it was: told, never dropped. */
export function oddReadings(run: FillRun, ladder: boolean, job: FillJob, unit: ReadingUnit | null): Issue[] {
  const issues: Issue[] = [];
  const own = atOwnZero(run, job, unit);
  const over = overSupply(run, job, unit);
  const under = belowNothing(run, job, unit);
  for (const beyond of [over, under]) if (beyond) issues.push(beyond);
  const sign = unit === null || unit === "count" ? "" : unit === "ohm" ? "Ω" : unit;
  const onRail = new Map<string, Step[]>();
  for (const step of run.steps) {
    const rail = railAt(step.reading, job, unit);
    // Readings over the supply show that it is not as stated: then none of them is known to stand at it.
    if (rail !== null && step.atStop === null && !own.has(step.index) && !(step.reading > 0 ? over : under))
      onRail.set(rail, [...(onRail.get(rail) ?? []), step]);
  }
  for (const [rail, steps] of onRail) {
    const issue = (says: string, remedy: string): Issue => ({
      code: "fill-run/on-a-rail",
      says,
      remedy,
      where: { file: run.file, row: steps[0]!.line, step: steps[0]!.index },
      weight: "doubtful",
    });
    // A wire that is off is one cause, not one a step.
    if (steps.length > severalSteps)
      issues.push(
        issue(
          `${run.file}: ${steps.length} of ${run.steps.length} steps, from step ${steps[0]!.index} (line ${steps[0]!.line}) on, read ${withUnit(Math.min(...steps.map((s) => s.reading)), sign)} to ${withUnit(Math.max(...steps.map((s) => s.reading)), sign)}: ${rail.replace(/^it stands/, "each stands")}.`,
          "Mend the wire and read them again.",
        ),
      );
    else
      for (const step of steps)
        issues.push({
          ...issue(
            `${run.file}, line ${step.line}: step ${step.index} reads ${withUnit(step.reading, sign)}: ${rail}.`,
            "Read that step again, or set it aside.",
          ),
          where: { file: run.file, row: step.line, step: step.index },
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

/** A meter's own error beside that of the stated supply (our own bound). */
const meterBeside = 1.02;

/** One line for all readings that lie over the supply: a divider cannot show more than it is fed with, so the supply or the unit is not as stated. */
function overSupply(run: FillRun, job: FillJob, unit: ReadingUnit | null): Issue | null {
  const { supplyVolts, kind } = job.circuit;
  if (unit !== "V" || supplyVolts === null || kind !== "pull-up") return null;
  const over = run.steps.filter((s) => s.reading > meterBeside * supplyVolts);
  if (over.length === 0) return null;
  const most = over.reduce((a, b) => (b.reading > a.reading ? b : a));
  const one = over.length === 1;
  return {
    code: "fill-run/over-the-supply",
    says: `${run.file}, line ${most.line}: ${one ? "a reading is" : `${over.length} of ${run.steps.length} readings are`} over the ${withUnit(supplyVolts, "V")} of the supply, ${one ? "with" : "up to"} ${withUnit(most.reading, "V")}: a divider cannot show more than it is fed with, so ${one ? "that reading, " : ""}the supply or the unit of the readings is not as stated.`,
    remedy: "Correct the supply in the job, or write the readings’ unit into the head of their column.",
    where: { file: run.file, row: most.line, step: most.index },
    weight: "doubtful",
  };
}

/** A meter's zero is off by so little (our own bound). */
const besideZero = 0.01;

/** One line for all readings below nothing: no divider and no resistor reads so; a converter may. */
function belowNothing(run: FillRun, job: FillJob, unit: ReadingUnit | null): Issue | null {
  if (job.circuit.kind === "converter") return null;
  const readings = run.steps.map((s) => s.reading);
  const bound =
    unit === "V" ? besideZero * (job.circuit.supplyVolts ?? 1) : besideZero * Math.max(...readings.map(Math.abs));
  const under = run.steps.filter((s) => s.reading < -bound);
  if (under.length === 0) return null;
  const least = under.reduce((a, b) => (b.reading < a.reading ? b : a));
  const sign = unit === null || unit === "count" ? "" : unit === "ohm" ? "Ω" : unit;
  return {
    code: "fill-run/below-nothing",
    says: `${run.file}, line ${least.line}: ${under.length === 1 ? "a reading is" : `${under.length} of ${run.steps.length} readings are`} below nothing, ${under.length === 1 ? "with" : "down to"} ${withUnit(least.reading, sign)}: a sender cannot read so. The leads of the meter are exchanged, or a dash was taken for a minus.`,
    remedy: "Exchange the leads and read again, or take the minus off.",
    where: { file: run.file, row: least.line, step: least.index },
    weight: "doubtful",
  };
}

/** Volts so many times the supply are millivolts, or no volts at all. (Our own bound: the highest supply on board is ten times the lowest.) */
const timesSupply = 30;
/** Where no supply is stated: over any on board. */
const noSupply_V = 250;

/** Readings in volts of which most lie far over any supply. @returns what is wrong and what mends it; null where they may be volts. */
export function notVolts(run: FillRun, job: FillJob, unit: ReadingUnit | null): Issue | null {
  if (unit !== "V" || run.steps.length === 0) return null;
  const readings = run.steps.map((s) => s.reading).sort((a, b) => a - b);
  const middle = readings[readings.length >> 1]!;
  const { supplyVolts, adcBits } = job.circuit;
  if (!(middle > (supplyVolts === null ? noSupply_V : timesSupply * supplyVolts))) return null;
  const most = readings[readings.length - 1]!;
  const milli = most / 1000 <= meterBeside * (supplyVolts ?? noSupply_V);
  const counts = adcBits !== null && most < 2 ** adcBits && readings.every(Number.isInteger);
  const seems = [...(milli ? ["millivolts"] : []), ...(counts ? ["counts of the converter"] : [])].join(" or ");
  return {
    code: "fill-run/not-volts",
    says: `${run.file}, line ${run.steps[0]!.line}: the readings run from ${withUnit(readings[0]!, "V")} to ${withUnit(most, "V")}${supplyVolts === null ? ", over any supply on board" : ` where the supply is ${withUnit(supplyVolts, "V")}`}: they are not volts${seems === "" ? "" : `, and look like ${seems}`}.`,
    remedy: `Write the unit into the head of their column, like “reading (mV)”${counts ? ", or state counts as the reading unit in the job" : ""}.`,
    where: { file: run.file, row: run.steps[0]!.line },
  };
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
