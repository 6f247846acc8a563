/** One kind of run as it is typed: the sheet in the hand, and the file in the notebook that it is written to at once. */
import { type Accessor, createEffect, createMemo, createSignal, untrack } from "solid-js";
import type { useNotebook } from "../notebook/open-notebook";
import { emptySheet, readSheet, type Sheet, writeSheet } from "../notebook/typed-sheet";
import { typedNames } from "../pipeline/recording";
import { gridWords, type SheetUnit, sheetUnitOf } from "./typed-cells";

export type CellField = "poured" | "reading";

export interface TypedRun {
  sheet: Accessor<Sheet>;
  /** The rows written, and the blank one after them. */
  rows: Accessor<Sheet["rows"]>;
  /** Writes the whole sheet, under the name by which it can be undone. */
  put: (next: Sheet, label: string) => void;
  /** Changes the unit of the volumes; the page goes over to it too, unless the job states another one. */
  measureIn: (unit: SheetUnit) => void;
  write: (at: number, field: CellField, text: string) => void;
  /** Whether the clipboard held a table, which then stands in the sheet from this row on. */
  paste: (text: string, at: number) => boolean;
  /** The rows go to the grid of the other kind, as they are; false where there are none. */
  move: () => Promise<boolean>;
  otherIsFree: () => boolean;
}

export function createTypedRun(book: ReturnType<typeof useNotebook>, kind: Sheet["kind"]): TypedRun {
  const otherKind = kind === "fill" ? "drain" : "fill";
  const [sheet, setSheet] = createSignal<Sheet>(emptySheet(kind));
  const typed = () => book.notebook().fills.find((f) => f.name === typedNames[kind]);
  let mine: string | null = null;
  let pending = 0;
  // Undo, reload and another notebook change the sheet from outside; what was typed here comes back as it was written.
  createEffect(() => {
    const file = typed();
    // While a row is being written, what stands in the fields is newer than what the notebook holds.
    if (pending > 0 || ((file?.sha256 ?? null) === mine && mine !== null)) return;
    mine = file?.sha256 ?? null;
    // The sheet is not followed here, only replaced: following it would wipe the first cell that is typed.
    const now = untrack(sheet);
    setSheet(file ? readSheet(new TextDecoder().decode(file.bytes)) : now.rows.length ? emptySheet(kind) : now);
  });
  // A sheet with nothing in it yet is in the units that the job states.
  const stated = createMemo(() => {
    const { volumeUnit, readingUnit } = book.notebook().job;
    return { volumeUnit: sheetUnitOf(volumeUnit), readingUnit };
  });
  createEffect(() => {
    const { volumeUnit, readingUnit } = stated();
    const now = untrack(sheet);
    if (now.rows.length > 0 || untrack(typed)) return;
    setSheet({ ...now, volumeUnit: volumeUnit ?? now.volumeUnit, readingUnit: readingUnit ?? now.readingUnit });
  });
  const rows = (): Sheet["rows"] => [...sheet().rows, { poured: "", reading: "" }];
  let writing: Promise<void> = Promise.resolve();
  const put = (next: Sheet, label: string) => {
    pending += 1;
    setSheet(next);
    // One write after the other, so that each replaces the sheet before it.
    writing = writing
      .then(async () => {
        const before = typed()?.sha256 ?? null;
        if (next.rows.length > 0) mine = await book.typeSteps(kind, writeSheet(next), before, label);
        else if (before) book.edit({ edit: "remove file", sha256: before });
      })
      .finally(() => {
        pending -= 1;
      });
  };
  return {
    sheet,
    rows,
    put,
    measureIn: (volumeUnit) => {
      const before = sheet().volumeUnit;
      put({ ...sheet(), volumeUnit }, "change the unit of the volumes");
      const { job } = book.notebook();
      const follows = job.volumeUnit === undefined || job.volumeUnit === null || job.volumeUnit === before;
      // Kilograms need a density before anything else can be told in them: they stay the sheet's own.
      if (follows && volumeUnit !== "kg" && volumeUnit !== job.volumeUnit)
        book.edit({ edit: "job", path: ["volumeUnit"], value: volumeUnit, label: "volumes in" });
    },
    write: (at, field, text) => {
      if ((rows()[at]?.[field] ?? "") === text) return;
      const all = rows().map((r, i) => (i === at ? { ...r, [field]: text } : r));
      while (all.length > 0 && all[all.length - 1]!.poured === "" && all[all.length - 1]!.reading === "") all.pop();
      put({ ...sheet(), rows: all }, gridWords[kind].write(at));
    },
    paste: (text, at) => {
      const lines = text.trim().split(/\r\n|\n|\r/);
      if (lines.length < 2 && !/[\t;]/.test(lines[0] ?? "")) return false;
      const cells = lines.map((l) => l.split(l.includes("\t") ? "\t" : l.includes(";") ? ";" : /\s+|,(?=\s)/));
      const filled = [...sheet().rows];
      while (filled.length < at) filled.push({ poured: "", reading: "" });
      filled.splice(
        at,
        cells.length,
        ...cells.map((c) => ({ poured: (c[0] ?? "").trim(), reading: (c[1] ?? "").trim() })),
      );
      put({ ...sheet(), rows: filled }, `paste ${cells.length} rows`);
      return true;
    },
    move: async () => {
      await writing;
      const before = typed()?.sha256;
      if (!before) return false;
      const label = kind === "fill" ? "make it a drain run" : "make it a fill run";
      await book.typeSteps(otherKind, writeSheet({ ...sheet(), kind: otherKind }), before, label);
      return true;
    },
    otherIsFree: () => !book.notebook().fills.some((f) => f.name === typedNames[otherKind]),
  };
}
