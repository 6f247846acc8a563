/** The unit of the readings, as far as it is known: as the fill run shows it, else as the job states it, else volts. */
import { type Answer, valueIn } from "../answer";
import type { FillRuns } from "./fill-run";
import type { FillJob, Job, ReadingUnit } from "./job";
import type { Column } from "./recording";

export function readingUnitIn(answers: { fillRun: Answer<FillRuns>; job: Answer<Job> }): ReadingUnit {
  return valueIn(answers.fillRun)?.readingUnit ?? valueIn(answers.job)?.readingUnit ?? "V";
}

/**
 * Above the supply by more than this no reading can be in volts, nor above any supply on board where none is stated; and about so far a sender may
 * read beside its stated ohms. (Our own bounds.)
 */
const aboveSupply = 1.1;
const anySupply_V = 32;
const besideOhms = 1.3;

/**
 * The unit of readings that neither the header nor the job names: volts, unless they would stand over the stated supply and are what its
 * converter counts, or what the stated sender has in ohms; ohms too where no circuit is stated.
 */
export function unitByValues(reading: Pick<Column, "values" | "valid" | "writtenStep">, job: FillJob): ReadingUnit {
  const { kind, supplyVolts, adcBits } = job.circuit;
  const top = reading.values.reduce((most, v, i) => (reading.valid[i] ? Math.max(most, v) : most), 0);
  if (top <= aboveSupply * (supplyVolts ?? anySupply_V)) return "V";
  const { emptyOhms, fullOhms } = job.sender;
  const most = emptyOhms !== null && fullOhms !== null ? Math.max(emptyOhms, fullOhms) : 0;
  if (kind === "none" || (top <= besideOhms * most && top >= most / 2)) return "ohm";
  return adcBits !== null && reading.writtenStep >= 1 && top < 2 ** adcBits ? "count" : "V";
}
