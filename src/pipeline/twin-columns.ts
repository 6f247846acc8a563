/**
 * Twin columns: two of one file that could both be the reading, the volume, the time. Which was taken is said; where they are called alike
 * and do not say the same, nobody but the user knows which is meant, and it is asked.
 */
import type { Issue } from "../answer";
import { litresPer } from "../units";
import { needed } from "./cell-unit-issues";
import type { ColumnRole, FileReading } from "./choices";
import type { Column, SourceFile } from "./recording";
import { roleByName, unitsOf } from "./roles";
import { byColumn, mendedBy } from "./ways";

interface Twins {
  issue: Issue | null;
  cautions: Issue[];
}

const words: Record<ColumnRole, string> = {
  volume: "the volume",
  reading: "the reading",
  time: "the time",
  across: "the acceleration across",
  along: "the acceleration along",
  speed: "the speed",
  flow: "the flow",
  supply: "the supply voltage",
  marker: "the pour’s mark",
};

/** Names that differ by a number or a letter at their end at most: "sender 1 (V)" and "sender_2 (V)". */
const stemOf = (header: string) =>
  header
    .toLowerCase()
    .replace(/[[(<{][^\])>}]*[\])>}]/g, " ")
    .replace(/[\s_\-.#]+/g, " ")
    .replace(/(^| )(v|mv|ohm|l|kg|s|ms)(?= |$)/g, " ")
    .trim()
    .replace(/(?<=\p{L})( ?\d+| [a-h])$/u, "");

/**
 * Looks for twins of every column that has a role, values in their canonical units.
 * @param lineOf line in the file of a row; @param enteredAs how the volumes of the column that was taken are read.
 * @returns `issue` where a needed column has a namesake that says something else; cautions for the other twins.
 */
export function findTwins(
  file: string,
  kind: SourceFile["kind"],
  columns: Column[],
  by: FileReading | null,
  lineOf: (row: number) => number,
  enteredAs: "added" | "cumulative" | null,
): Twins {
  const cautions: Issue[] = [];
  const placeOf = (c: Column) => columns.indexOf(c) + 1;
  for (const taken of columns) {
    const { role } = taken;
    if (role === null || isByNumber(by, role)) continue;
    const isNeeded = needed(kind).includes(role);
    for (const other of columns) {
      if (other.role !== null || !other.valid.includes(1)) continue;
      const isNamesake = other.header.toLowerCase() === taken.header.toLowerCase();
      const isAlike = isNamesake || (taken.why.startsWith("by name") && stemOf(other.header) === stemOf(taken.header));
      if (taken.why === "by hand" ? !isNamesake : !(isAlike ? fits(other, role) : isRival(other, taken, kind)))
        continue;
      const found = compare(role, taken, other, enteredAs);
      const isSame = found.how === "same" || found.how === "other-unit";
      const both = isNamesake
        ? `columns ${placeOf(taken)} and ${placeOf(other)} are both called “${taken.header}”`
        : `“${taken.header}” and “${other.header}” could both be ${words[role]}`;
      const says = `${file}: ${both}${differenceOf(found, taken, other, lineOf)};`;
      const which = isNamesake ? `column ${placeOf(taken)}` : `“${taken.header}”`;
      const where = { file, column: taken.header, ...("row" in found ? { row: lineOf(found.row) } : {}) };
      if (!isSame && isNeeded && isAlike)
        return {
          cautions,
          issue: {
            code: "recording/which-column",
            says: `${says} nothing says which of them is ${isNamesake ? words[role] : "meant"}.`,
            ...mendedBy(byColumn(role), (way) => `Choose the column${byItsNumber(isNamesake)} ${way}.`),
            where,
          },
        };
      cautions.push({
        code: "recording/twin-columns",
        says: `${says} ${which} is taken${isNamesake ? ` as ${words[role]}` : ""}.`,
        ...mendedBy(byColumn(role), (way) => `If the other one is meant, choose it${byItsNumber(isNamesake)} ${way}.`),
        where,
        ...(!isSame && isNeeded
          ? { weight: "holds-if" as const, condition: `${words[role]} is ${which}` }
          : { weight: "note" as const }),
      });
    }
  }
  return { issue: null, cautions };
}

/** A column chosen by its number is that one, whatever the others are called. */
const isByNumber = (by: FileReading | null, role: ColumnRole) => /^\d+$/.test(by?.columns?.[role]?.trim() ?? "");

const byItsNumber = (isNamesake: boolean) => (isNamesake ? " by its number" : "");

const fits = (other: Column, role: ColumnRole) => other.unit === null || unitsOf[role].has(other.unit);

/** As good as the column that was taken, by its name or by its unit; a unit outweighs none. Times stand in several forms beside each other, and are no rivals. */
function isRival(other: Column, taken: Column, kind: SourceFile["kind"]): boolean {
  const { role } = taken;
  if ((role !== "volume" && role !== "reading") || !needed(kind).includes(role)) return false;
  if (!fits(other, role) || (taken.unit !== null && other.unit === null)) return false;
  if (taken.why.startsWith("by name")) return roleByName(other, kind) === role;
  return taken.why === "by unit" && other.unit === taken.unit && roleByName(other, kind) === null;
}

/** How two columns compare: the same values, values that only the job could compare, never in one row, or apart from a row on. */
type Compared = { how: "same" | "other-unit" | "apart" } | { how: "differs" | "sum-differs"; row: number };

function compare(role: ColumnRole, taken: Column, other: Column, enteredAs: "added" | "cumulative" | null): Compared {
  const ratio = ratioOf(role, taken, other);
  if (ratio === null) return { how: "other-unit" };
  // The same value rounded twice: alike to the last digit, or within half a step of each.
  const [a, b] = [taken.writtenStep, other.writtenStep * ratio];
  const rounding = a === b ? 0 : (a + b) / 2;
  const differsFrom = (left: Float64Array, right: Float64Array, grows: boolean): number => {
    let shared = 0;
    // Two clocks may begin at different times.
    let offset: number | null = role === "time" ? null : 0;
    for (let i = 0; i < left.length; i++) {
      if (!taken.valid[i] || !other.valid[i]) continue;
      const wanted = right[i]! * ratio;
      offset ??= left[i]! - wanted;
      shared++;
      const room = rounding * (grows ? shared : 1) + 1e-9 * (Math.abs(wanted) + Math.abs(offset)) + 1e-12;
      if (!(Math.abs(left[i]! - wanted - offset) <= room)) return i;
    }
    return shared > 0 ? Number.POSITIVE_INFINITY : -1;
  };
  const row = differsFrom(taken.values, other.values, false);
  if (row === Number.POSITIVE_INFINITY) return { how: "same" };
  if (row < 0) return { how: "apart" };
  if (role !== "volume") return { how: "differs", row };
  // "added" beside "total": one is the sum of the other.
  const sumRow =
    enteredAs === "added" ? differsFrom(sums(taken), other.values, true) : differsFrom(taken.values, sums(other), true);
  if (sumRow === Number.POSITIVE_INFINITY) return { how: "same" };
  return sumRow > row ? { how: "sum-differs", row: sumRow } : { how: "differs", row };
}

function sums({ values, valid }: Column): Float64Array {
  let total = 0;
  return values.map((v, i) => {
    if (valid[i]) total += v;
    return total;
  });
}

/** The other's values times this are in the unit of the one that was taken; null where only the job could say. */
function ratioOf(role: ColumnRole, taken: Column, other: Column): number | null {
  if (taken.unit === other.unit || taken.unit === null || other.unit === null) return 1;
  if (role !== "volume") return null;
  const litres = (unit: string) =>
    unit === "L" || unit === "USgal" || unit === "impgal"
      ? litresPer(unit, { density_kg_per_L: null, capacity_L: null })
      : null;
  const [a, b] = [litres(taken.unit), litres(other.unit)];
  return a === null || b === null ? null : b / a;
}

function differenceOf(found: Compared, taken: Column, other: Column, lineOf: (row: number) => number): string {
  switch (found.how) {
    case "same":
      return " and say the same";
    case "other-unit":
      return "";
    case "apart":
      return " and hold numbers in different lines";
    case "differs":
      return ` and differ, first in line ${lineOf(found.row)} (${taken.values[found.row]} and ${other.values[found.row]})`;
    case "sum-differs":
      return ` and do not add up to each other from line ${lineOf(found.row)} on`;
  }
}
