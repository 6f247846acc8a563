/** What a leaf says on its face: plain data, so that page, report and command line say the same. */

import type { Choices } from "../choices";

/** A figure in a sentence. `path` is where the very number stands in the published analysis (e.g. `display.timeConstant_s`). */
export interface Quantity {
  path: string | null;
  value: number;
  /** Half-width of its interval, in the same unit; the text is rounded to it. */
  halfWidth?: number;
  unit: string;
  /** Written form, e.g. `7.9 ± 1.3 L`; no-break spaces inside. */
  text: string;
  /** The text gives the size alone: the words beside it say which way (“2.7 L low”). */
  sizeOnly?: true;
  /** The text is in a larger unit, of which one holds so many of the value's: seconds written as minutes. */
  times?: number;
  /** Set or asked for, not measured: no noughts behind. */
  isSet?: true;
  /** The very digits that are typed, in the device's own unit. */
  asTyped?: true;
}

export type Phrase = string | Quantity;

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
  caution: string | null;
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
  what: string;
  formula: string | null;
  figures: Phrase[];
  source: string | null;
}

/** All that a leaf says, the finding and what stands under it, where there is no second size to say it in. */
export const allSaid = ({ sentence, further = [] }: Finding): Phrase[] =>
  further.length > 0 ? [...sentence, " ", ...further] : sentence;
