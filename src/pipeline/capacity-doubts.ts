/** The sum of a run against the stated capacity: what speaks of a slip, a unit, or volumes read another way than they were written. */
import type { Issue } from "../answer";
import { say } from "../said";
import type { FillRun } from "./fill-run";
import { litresOf, litresOfTank, litresTo } from "./litres";
import { amountWord } from "./sheet-words";
import { byJob, mendedBy } from "./ways";

/** A tank takes a little more than is stated, up to its neck (our own bound). */
const over = 1.05;
/** A sheet of five rows and more that fills less than this of the tank is no whole fill (our own bound). */
const little = 0.1;

/** Cautions `fill-run/over-capacity` and `fill-run/little-of-the-tank`; none where no capacity is stated. */
export function capacityDoubts(run: FillRun, total_L: number, capacity_L: number | null): Issue[] {
  if (capacity_L === null) return [];
  const word = amountWord(run);
  const tank = litresOfTank(capacity_L, 1);
  if (total_L > over * capacity_L) {
    const last_L = lastOfTotals(run, capacity_L);
    const sum = say`The ${word}s add up to ${litresTo(total_L, 1)}, the tank is stated with ${tank}`;
    return [
      {
        code: "fill-run/over-capacity",
        says:
          last_L === null
            ? say`${sum}: a ${word} is written too large or twice, or a unit is wrong.`
            : say`${sum}; each row is more than the one before, up to ${litresTo(last_L, 1)}: they seem to be counted up, and are read as one ${word} each.`,
        ...(last_L === null
          ? { remedy: "Compare the sheet with the pump receipt." }
          : mendedBy(
              byJob("“counted up”, under “Read it another way”", "fill.enteredAs=cumulative"),
              (way) => `If so, say it: ${way}.`,
            )),
        weight: "doubtful",
      },
    ];
  }
  return run.steps.length >= 5 && total_L < little * capacity_L
    ? [
        {
          code: "fill-run/little-of-the-tank",
          says: say`The ${word}s add up to ${litresOf(total_L, 3)}, a small part of the ${tank} stated for the tank: the unit of the volumes is wrong, or their decimal mark, or the run was cut off.`,
          remedy: "Look at the volumes as they were read, and at the capacity in the job.",
          weight: "doubtful",
        },
      ]
    : [];
}

/** The last row, litres, where rows read as one pour each rise one after the other up to what the tank holds: then they are totals. */
function lastOfTotals(run: FillRun, capacity_L: number): number | null {
  const rows = run.steps.slice(run.steps[0]?.added_L === 0 ? 1 : 0).map((s) => s.added_L);
  const last = rows[rows.length - 1];
  const rise = rows.every((v, k) => k === 0 || v > rows[k - 1]!);
  return rows.length >= 4 && last !== undefined && last <= over * capacity_L && rise ? last : null;
}
