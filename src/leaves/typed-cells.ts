/** Cells of the typing grid: the number in them, and what the grid is called where fuel goes in and where it is drawn out. */
import { numberAndTail } from "../csv";
import type { Sheet } from "../notebook/typed-sheet";
import { unitInCell } from "../pipeline/header-units";
import { readNumber } from "../ui/fields";

/** A number, with or without the sheet's own unit behind it; null for a blank, undefined for anything else. */
export function typedNumber(text: string, unit: string): number | null | undefined {
  const plain = readNumber(text);
  if (plain !== undefined) return plain;
  const found = numberAndTail(text, text.includes(",") ? "," : ".");
  const own = found && unitInCell(found.tail, "volume");
  return own && own.unit === unit ? found.value * own.factor : undefined;
}

export interface GridWords {
  amount: string;
  soFar: string;
  first: string;
  step: (row: number) => string;
  volumesAre: { added: string; cumulative: string };
  /** How an edit of one row is called in "Undo …". */
  write: (row: number) => string;
  lessThanNothing: string;
  screen: string;
  lock: string;
  firstRow: string;
  other: string;
}

export const gridWords: Record<Sheet["kind"], GridWords> = {
  fill: {
    amount: "Poured",
    soFar: "Poured so far",
    first: "start",
    step: (row) => (row === 0 ? "start" : `step ${row}`),
    volumesAre: { added: "added with each pour", cumulative: "counted up" },
    write: (row) => (row === 0 ? "write the start" : `write pour ${row}`),
    lessThanNothing: "is less than nothing: what was taken out goes into a drain run.",
    screen: "The screen stays on while you pour.",
    lock: "set your phone so that it does not lock while you pour.",
    firstRow: "The first row is the start: nothing poured yet.",
    other: "These were drawn out: make it a drain run",
  },
  drain: {
    amount: "Drawn",
    soFar: "Drawn so far",
    first: "full",
    step: (row) => (row === 0 ? "full" : `draw ${row}`),
    volumesAre: { added: "drawn with each draw", cumulative: "drawn in all" },
    write: (row) => (row === 0 ? "write the full tank" : `write draw ${row}`),
    lessThanNothing: "is less than nothing: what was poured in goes into a fill run.",
    screen: "The screen stays on while you draw.",
    lock: "set your phone so that it does not lock while you draw.",
    firstRow: "The first row is the full tank: nothing drawn yet.",
    other: "These were poured in: make it a fill run",
  },
};

/** Numbers with blanks or semicolons between them, a comma or a point in each; null where one is no number. */
export function numbersIn(text: string): number[] | null {
  const list = text
    .trim()
    .split(/[\s;]+/)
    .filter((part) => part !== "")
    .map(readNumber);
  return list.every((v) => typeof v === "number") ? (list as number[]) : null;
}
