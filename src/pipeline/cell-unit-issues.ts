/** Units inside cells that cannot be taken: two in one column, or one of another quantity. What is wrong, where, and what mends it. */
import type { Issue, Place } from "../answer";
import { backToText, type CellUnits, type UnitCell } from "./cell-units";
import type { ColumnRole } from "./choices";
import { type Draft, validOf } from "./columns";
import type { Column, SourceFile } from "./recording";
import { roleByName, unitsOf } from "./roles";
import { byColumn, mendedBy } from "./ways";

const markNames: Record<string, string> = { ohm: "Ω", USgal: "US gal", impgal: "imp gal", percent: "%" };
export const unitWord = (unit: string): string => markNames[unit] ?? unit;

interface Told {
  file: string;
  header: string;
  lineOf: (row: number) => number;
  rawLine: (line: number) => string;
}

const at = (told: Told, cell: UnitCell): Place => ({
  file: told.file,
  row: told.lineOf(cell.row),
  column: told.header,
  text: told.rawLine(told.lineOf(cell.row)).slice(0, 300),
});

/** Two units in one column. */
function unitsDiffer(told: Told, { unit, from }: CellUnits, odd: UnitCell): Issue {
  const column = from
    ? `“${from.cell}” stands in line ${told.lineOf(from.row)} of the same column`
    : `the column is in ${unitWord(unit!.unit)}`;
  return {
    code: "recording/units-differ",
    says: `${told.file}, line ${told.lineOf(odd.row)}, ${told.header}: “${odd.cell.slice(0, 60)}” has another unit: ${column}.`,
    remedy: "Correct the cell, or write all cells of the column in one unit.",
    where: at(told, odd),
  };
}

/** A unit that no volume, no reading, no time … has. @param quantity what the column is, in words: "a volume". */
function unitOfAnother(told: Told, cell: UnitCell, quantity: string): Issue {
  return {
    code: "recording/unit-of-another-quantity",
    says: `${told.file}, line ${told.lineOf(cell.row)}, ${told.header}: “${cell.cell.slice(0, 60)}” is in ${unitWord(cell.unit.unit)}, which is no unit of ${quantity}.`,
    ...mendedBy(
      byColumn("volume", "reading"),
      (way) => `Correct the unit or the name of the column, or name the right columns ${way}.`,
    ),
    where: at(told, cell),
  };
}

/** A unit stated by hand against the one that stands in the cells. */
export function statedAgainstCells(told: Told, cell: UnitCell, stated: string): Issue {
  return {
    code: "recording/stated-unit",
    says: `${told.file}, line ${told.lineOf(cell.row)}, ${told.header}: ${stated} is stated as the unit, and “${cell.cell.slice(0, 60)}” stands in the file.`,
    remedy: "Take the stated unit back, or correct the unit in the file.",
    where: at(told, cell),
  };
}

const quantities: Record<ColumnRole, string> = {
  volume: "a volume",
  reading: "a reading",
  time: "a time",
  across: "an acceleration",
  along: "an acceleration",
  speed: "a speed",
  flow: "a flow",
  supply: "a supply voltage",
  marker: "a mark",
};

/** Roles without which a file of this kind says nothing. */
export const needed = (kind: SourceFile["kind"]): ColumnRole[] =>
  kind === "drive" ? ["time", "reading"] : ["volume", "reading"];

/**
 * The first unit in a cell that its column cannot have, once roles are given. In a column that nothing is read from, cells of another
 * unit become text again; in place.
 */
export function badCellUnit(
  told: Omit<Told, "header">,
  kind: SourceFile["kind"],
  columns: Column[],
  drafts: Draft[],
  settled: CellUnits[],
): Issue | null {
  for (const [c, column] of columns.entries()) {
    const { from, disagrees } = settled[c]!;
    const cells = drafts[c]!.unitCells;
    if (cells.length === 0) continue;
    const here = { ...told, header: column.header };
    if (column.role === null) {
      const meant = roleByName(column, kind);
      const isMissed = meant !== null && needed(kind).includes(meant) && !columns.some((other) => other.role === meant);
      if (isMissed && from && !unitsOf[meant].has(from.unit.unit)) return unitOfAnother(here, from, quantities[meant]);
      if (disagrees)
        backToText(
          drafts[c]!,
          cells.filter((cell) => cell.unit.unit !== settled[c]!.unit!.unit),
        );
      column.valid = validOf(drafts[c]!);
      continue;
    }
    if (disagrees) {
      // Remarks with amounts in them are no channel: only their units made them one.
      if (needed(kind).includes(column.role) || !column.why.startsWith("by unit"))
        return unitsDiffer(here, settled[c]!, disagrees);
      column.role = null;
      column.unit = null;
      backToText(drafts[c]!, [...cells]);
      column.valid = validOf(drafts[c]!);
      continue;
    }
    if (from && !unitsOf[column.role].has(from.unit.unit)) return unitOfAnother(here, from, quantities[column.role]);
  }
  return null;
}
