/** All answers of the open notebook as one plain object, as words and report read them. */
import type { OpenNotebook } from "../notebook/open-notebook";
import { stageNames } from "../notebook/open-notebook";
import type { Answers } from "../pipeline/index";

export type { Answers };

export const answersNow = (book: OpenNotebook): Answers =>
  Object.fromEntries(stageNames.map((name) => [name, book.answers[name]()])) as unknown as Answers;
