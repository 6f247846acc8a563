/** The unit of the readings, as far as it is known: as the fill run shows it, else as the job states it, else volts. */
import { type Answer, valueIn } from "../answer";
import type { FillRuns } from "./fill-run";
import type { Job, ReadingUnit } from "./job";

export function readingUnitIn(answers: { fillRun: Answer<FillRuns>; job: Answer<Job> }): ReadingUnit {
  return valueIn(answers.fillRun)?.readingUnit ?? valueIn(answers.job)?.readingUnit ?? "V";
}
