/** Units stated by hand, and the one that a time without a unit must have. */
import type { Issue } from "../answer";
import { statedAgainstCells } from "./cell-unit-issues";
import type { ColumnRole, FileReading } from "./choices";
import type { Draft } from "./columns";
import { unitOf } from "./header-units";
import type { Column, SourceFile } from "./recording";
import { byColumn, mendedBy } from "./ways";

/**
 * Units that the user stated, and a time without a unit: milliseconds where seconds would make the log absurdly slow or long.
 * (The bounds, 10 s a row in a drive and more than two days, are our own.)
 */
export function takeUnits(
  source: SourceFile,
  by: FileReading | null,
  columns: Column[],
  drafts: Draft[],
  told: Omit<Parameters<typeof statedAgainstCells>[0], "header">,
  cautions: Issue[],
): Issue | null {
  for (const [role, stated] of Object.entries(by?.units ?? {}) as [ColumnRole, string][]) {
    const c = columns.findIndex((column) => column.role === role);
    if (c < 0 || stated.trim() === "") continue;
    const unit = unitOf(stated);
    if (!unit)
      return {
        code: "recording/unknown-unit",
        says: `${source.name}: “${stated}” is no unit that is known for ${columns[c]!.header}.`,
        remedy: "State one such as V, mV, ohm, count, L, USgal, impgal, kg, percent, s, ms.",
        where: { file: source.name, column: columns[c]!.header },
      };
    const [written] = drafts[c]!.unitCells;
    const own = drafts[c]!.unit;
    if (written && own && (own.unit !== unit.unit || own.factor !== unit.factor))
      return statedAgainstCells({ ...told, header: columns[c]!.header }, written, stated);
    drafts[c]!.unit = unit;
    if (!drafts[c]!.isClock) columns[c]!.unit = unit.unit;
  }
  const c = columns.findIndex((column) => column.role === "time");
  const time = columns[c];
  const draft = drafts[c];
  if (!time || !draft || time.unit !== null) return null;
  const values = time.values.filter((v) => Number.isFinite(v));
  const rises = values
    .subarray(1)
    .map((v, i) => v - values[i]!)
    .filter((d) => d > 0)
    .sort();
  const step = rises[rises.length >> 1] ?? 0;
  const length = rises.reduce((sum, d) => sum + d, 0);
  const whole = draft.decimals === 0 && values.length > 10;
  if (whole && time.why.startsWith("by behaviour") && length === rises.length * step)
    cautions.push({
      code: "recording/time-by-behaviour",
      says: `${source.name}: no column is called a time; ${time.header} rises by ${step} with every row and is taken as seconds. If it only numbers the rows, every time and rate here is wrong.`,
      ...mendedBy(byColumn("time"), (way) => `Name the column of the time ${way}, or export the log with its time.`),
      where: { file: source.name, column: time.header },
      weight: "holds-if",
      condition: `${time.header} is a time in seconds`,
    });
  const isEpoch = (values[0] ?? 0) > 1e11;
  if (whole && (isEpoch || length > 172_800 || (source.kind === "drive" && step >= 10))) {
    draft.unit = { kind: "time", unit: "s", factor: 1e-3 };
    time.unit = "s";
    cautions.push({
      code: "recording/milliseconds",
      says: `${source.name}, ${time.header}: no unit is named; ${isEpoch ? "so large a time counts" : `with a row each ${step} and ${length} from end to end it is taken as`} milliseconds.`,
      ...mendedBy(
        { page: " (s or ms), or state it under “Read it another way”.", command: ": s or ms." },
        (way) => `Name the unit in the header${way}`,
      ),
      where: { file: source.name, column: time.header },
      ...(isEpoch
        ? { weight: "note" as const }
        : { weight: "holds-if" as const, condition: `${time.header} is in milliseconds` }),
    });
  }
  return null;
}
