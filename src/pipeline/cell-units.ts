/**
 * Units inside cells, "5.0 L" or "40 %": which cells are a number with its unit, and what they make of their column.
 * A column has one unit. Another prefix of it ("850 mV" among volts) says the same quantity and is brought to it.
 */
import { numberAndTail } from "../csv";
import { type HeaderUnit, unitInCell } from "./header-units";

export interface Quantity {
  value: number;
  /** The digits as written, without the unit. */
  digits: string;
  unit: HeaderUnit;
}

/** A number and the unit written behind it; null for anything else, a plain number too. */
export function quantityOf(cell: string, decimal: "." | ",", header = ""): Quantity | null {
  const found = numberAndTail(cell, decimal);
  if (!found) return null;
  const unit = unitInCell(found.tail, header);
  return unit && { value: found.value, digits: found.digits, unit };
}

/** Words behind numbers that are units. */
export const isUnit = (word: string): boolean => unitInCell(word, "") !== null;

/** A cell that had a unit: its row in the table, what stood there, and the decimals of its digits. */
export interface UnitCell {
  row: number;
  cell: string;
  unit: HeaderUnit;
  decimals: number;
}

/** As much of a column as its units concern. */
interface ColumnOfCells {
  header: string;
  unit: HeaderUnit | null;
  values: Float64Array;
  decimals: number;
  texts: { row: number; cell: string }[];
  unitCells: UnitCell[];
}

/** What a column says of its units: that of the header or, where that names none, of the cells; the first cell that disagrees. */
export interface CellUnits {
  unit: HeaderUnit | null;
  /** Where the column's unit stands: a cell, or null for the header. */
  from: UnitCell | null;
  disagrees: UnitCell | null;
}

/** Prefixes apart, the same unit. Kinds that are never converted keep no factor, so the word itself must be the same. */
const sameUnit = (a: HeaderUnit, b: HeaderUnit, aWord: string, bWord: string) =>
  a.kind === b.kind && a.unit === b.unit && (a.kind !== "other" || aWord === bWord);

const wordOf = (cell: string) => cell.replace(/^[^\p{L}%°µ]*/u, "").toLowerCase();

/**
 * Gives a column the unit of its cells, and brings those with another prefix to it; in place. In a column of words an amount is a word
 * too ("2 L spilled" beside "2 L"): its cells go back to them.
 */
export function takeCellUnits(column: ColumnOfCells): CellUnits {
  const numbers = column.values.reduce((n, v) => n + (Number.isNaN(v) ? 0 : 1), 0);
  if (column.unitCells.length > 0 && numbers <= column.texts.length) backToText(column, column.unitCells);
  const settled = settleUnits(column.unit, column.unitCells);
  column.unit = settled.unit;
  for (const { row, unit, decimals } of column.unitCells) {
    const ratio = unit.unit === settled.unit!.unit ? unit.factor / settled.unit!.factor : 1;
    column.values[row] = ratio < 1 ? column.values[row]! / Math.round(1 / ratio) : column.values[row]! * ratio;
    column.decimals = Math.max(column.decimals, decimals - Math.round(Math.log10(ratio)));
  }
  return settled;
}

/** Cells that are no numbers after all. */
export function backToText(column: ColumnOfCells, cells: UnitCell[]): void {
  for (const { row, cell } of cells) {
    column.values[row] = Number.NaN;
    column.texts.push({ row, cell });
  }
  column.texts.sort((a, b) => a.row - b.row);
  column.unitCells = column.unitCells.filter((c) => !cells.includes(c));
}

/** The unit of one column. @param header the unit that header or units row name. */
function settleUnits(header: HeaderUnit | null, cells: UnitCell[]): CellUnits {
  if (cells.length === 0) return { unit: header, from: null, disagrees: null };
  // The unit that most cells have is the column's: a slip is the cell that stands alone.
  const counts = new Map<string, { first: UnitCell; n: number }>();
  for (const c of cells) {
    const key = `${c.unit.kind} ${c.unit.unit} ${c.unit.factor} ${c.unit.kind === "other" ? wordOf(c.cell) : ""}`;
    const kept = counts.get(key);
    if (kept) kept.n++;
    else counts.set(key, { first: c, n: 1 });
  }
  const most = [...counts.values()].sort((a, b) => b.n - a.n)[0]!.first;
  const unit = header ?? most.unit;
  const disagrees = cells.find((c) => !sameUnit(unit, c.unit, header ? "" : wordOf(most.cell), wordOf(c.cell)));
  // A header names other kinds (mm, bar) by their kind only: nothing that is used depends on them.
  return { unit, from: header ? null : most, disagrees: header?.kind === "other" ? null : (disagrees ?? null) };
}
