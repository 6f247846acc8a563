/** Typed sheet: the steps typed by hand, kept as the very cells that were typed, in a CSV text like any other fill run. */
import { parseRows } from "../csv";

export interface Sheet {
  /** Poured in from empty, or drawn out from full. */
  kind: "fill" | "drain";
  enteredAs: "added" | "cumulative";
  volumeUnit: string;
  readingUnit: "V" | "ohm" | "count";
  /** One row per step; the first is the start, of a drain run the full tank. Text as typed, blank where nothing is known yet. */
  rows: { poured: string; reading: string }[];
}

export const emptySheet = (kind: Sheet["kind"]): Sheet => ({
  kind,
  enteredAs: "added",
  volumeUnit: "L",
  readingUnit: "V",
  rows: [],
});

/** Heads of the volume column: the reader knows by them whether amounts are counted up. */
const heads = {
  fill: { added: "added", cumulative: "total" },
  drain: { added: "drawn_each", cumulative: "total_drawn" },
} as const;

/** Semicolons part the cells, so that a decimal comma stays as typed. Cells are quoted where they hold the mark. */
export function writeSheet(sheet: Sheet): string {
  const cell = (text: string) => (/[;"\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  // One decimal mark in the whole file: a sheet with both would be ambiguous.
  const number = (text: string) => cell(text.trim().replace("\u2212", "-").replace(",", "."));
  const head = `${heads[sheet.kind][sheet.enteredAs]}_${sheet.volumeUnit};reading_${sheet.readingUnit}`;
  const rows = sheet.rows.map((r, i) => {
    const blankStart = i === 0 && r.poured.trim() === "" && r.reading.trim() !== "";
    return `${blankStart ? "0" : number(r.poured)};${number(r.reading)}`;
  });
  return `${[head, ...rows].join("\n")}\n`;
}

/** The sheet back from its text. */
export function readSheet(text: string): Sheet {
  const [head, ...rows] = parseRows(text, ";");
  const [volume = "", reading = ""] = head?.cells ?? [];
  const unit = reading.split("_")[1];
  return {
    kind: volume.includes("drawn") ? "drain" : "fill",
    enteredAs: volume.startsWith("total") ? "cumulative" : "added",
    volumeUnit: volume.split("_").at(-1) || "L",
    readingUnit: unit === "ohm" || unit === "count" ? unit : "V",
    rows: rows.map((r) => ({ poured: r.cells[0] ?? "", reading: r.cells[1] ?? "" })),
  };
}
