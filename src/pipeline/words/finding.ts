/** What a leaf says on its face: plain data, so that page, report and command line say the same. */

import type { Quantity } from "../../quantity";
import type { Phrase, Said } from "../../said";
import type { Choices } from "../choices";

export type { Phrase, Quantity };

export interface Finding {
  /** The leaf's question, small and italic. */
  question: string;
  /** The finding first, then why: one or two sentences with figures set in. */
  sentence: Phrase[];
  /** What stands beside the finding and is not it: smaller, under it. */
  further?: Phrase[];
  /** Where a page number would stand in the contents: "± 1.2 L". */
  short: Phrase[];
  /** Under what conditions: 95 %, which day, which log. Stands in the margin. */
  condition: Phrase[];
  /** Its caution, where the hand would be; null if there is none. */
  caution: Said | null;
  /** Codes of the stage's cautions that the sentence says already: they are not said a second time under it. */
  says?: string[];
  /** What was chosen by hand beside what is recommended; null or absent where the recommendation stands. */
  beside?: Beside | null;
}

/** A choice made by hand, beside the recommendation: both values and what each does. */
export interface Beside {
  /** The choice that leads back to the recommendation when it is taken back. */
  key: keyof Choices;
  rows: BesideRow[];
  /** A sentence under the rows; empty for none. */
  after: Phrase[];
}

export interface BesideRow {
  what: string;
  yours: Phrase[];
  recommended: Phrase[];
}

/** One line of the folded working: formula, the numbers put in, the source. */
export interface WorkingLine {
  what: Said;
  formula: string | null;
  figures: Phrase[];
  source: Said | null;
}

/** All that a leaf says, the finding and what stands under it, where there is no second size to say it in. */
export const allSaid = ({ sentence, further = [] }: Finding): Phrase[] =>
  further.length > 0 ? [...sentence, " ", ...further] : sentence;
