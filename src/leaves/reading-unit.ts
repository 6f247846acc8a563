/** The unit of the readings in the open notebook. */
import type { OpenNotebook } from "../notebook/open-notebook";
import type { ReadingUnit } from "../pipeline/job";
import { readingUnitIn } from "../pipeline/reading-unit";

export const readingUnitOf = (book: OpenNotebook): ReadingUnit =>
  readingUnitIn({ fillRun: book.answers.fillRun(), job: book.answers.job() });
