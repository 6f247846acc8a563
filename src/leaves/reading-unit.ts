/** The unit of the readings, as far as it is known. */
import type { OpenNotebook } from "../notebook/open-notebook";
import type { ReadingUnit } from "../pipeline/job";

export function readingUnitOf(book: OpenNotebook): ReadingUnit {
  const fill = book.answers.fillRun();
  if (fill.state === "ready") return fill.value.readingUnit;
  const job = book.answers.job();
  return (job.state === "ready" ? job.value.readingUnit : null) ?? "V";
}
