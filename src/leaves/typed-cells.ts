/** Cells of the typing grid: the number in them, and what the grid is called where fuel goes in and where it is drawn out. */
import { numberAndTail } from "../csv";
import type { Sheet } from "../notebook/typed-sheet";
import { unitInCell } from "../pipeline/header-units";
import type { Job } from "../pipeline/job";
import type { PourRow } from "../pipeline/pour-watch";
import { unitSign } from "../pipeline/words/quantity";
import { readNumber } from "../ui/fields";
import { litresPer, type VolumeUnit } from "../units";
import type { TypedRows } from "./pour-judgements";

/** A number, with or without the sheet's own unit behind it; null for a blank, undefined for anything else. */
export function typedNumber(text: string, unit: string): number | null | undefined {
  const plain = readNumber(text);
  if (plain !== undefined) return plain;
  const found = numberAndTail(text, text.includes(",") ? "," : ".");
  const own = found && unitInCell(found.tail, "volume");
  return own && own.unit === unit ? found.value * own.factor : undefined;
}

/** Units that a sheet can be written in. */
const sheetUnits = ["L", "USgal", "impgal", "kg"] as const;
export type SheetUnit = (typeof sheetUnits)[number];

/** The job's unit as a sheet's; undefined where none is stated, and for a share of the tank, which no can holds. */
export const sheetUnitOf = (unit: string | null | undefined): SheetUnit | undefined =>
  sheetUnits.find((u) => u === unit);

const volumeSigns: Record<string, string> = { L: "L", USgal: "US\u00a0gal", impgal: "imp\u00a0gal", kg: "kg" };

/** How the units of both columns are written over them. */
export const unitWords = (sheet: Sheet): { volume: string; reading: string } => ({
  volume: volumeSigns[sheet.volumeUnit] ?? sheet.volumeUnit,
  reading: unitSign(sheet.readingUnit),
});

/** The typed rows as they are judged: what each added, in litres; what is no number is NaN. */
export function rowsToJudge(sheet: Sheet, job: Job): TypedRows {
  const litres =
    litresPer(sheet.volumeUnit as VolumeUnit, {
      density_kg_per_L: job.pour.density_kg_per_L,
      capacity_L: job.tank.capacity_L,
    }) ?? 1;
  let total = 0;
  let decimals = 0;
  const rows = sheet.rows.map((r): PourRow => {
    const poured = typedNumber(r.poured, sheet.volumeUnit) ?? Number.NaN;
    const added = sheet.enteredAs === "added" ? poured : poured - total;
    if (Number.isFinite(poured)) total = sheet.enteredAs === "added" ? total + poured : poured;
    decimals = Math.max(decimals, /[.,](\d+)/.exec(r.reading)?.[1]?.length ?? 0);
    return { added_L: added * litres, reading: typedNumber(r.reading, sheet.readingUnit) ?? Number.NaN };
  });
  return { rows, job: { ...job, readingUnit: sheet.readingUnit }, readingStep: 10 ** -decimals };
}

/** What stands in a row and cannot be: no number, or a pour of less than nothing. */
export function cannotBe(sheet: Sheet, at: number): string[] {
  const { poured = "", reading = "" } = sheet.rows[at] ?? {};
  const amount = typedNumber(poured, sheet.volumeUnit);
  const wrong = [
    ...(amount === undefined ? [poured] : []),
    ...(typedNumber(reading, sheet.readingUnit) === undefined ? [reading] : []),
  ].map((text) => `“${text}” is no number in the unit of its column.`);
  if (sheet.enteredAs === "added" && typeof amount === "number" && amount < 0)
    wrong.push(`“${poured}” ${gridWords[sheet.kind].lessThanNothing}`);
  return wrong;
}

export interface GridWords {
  /** What the grid is called where it is only heard. */
  table: string;
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
    table: "Steps of the fill run",
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
    table: "Draws of the drain run",
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
