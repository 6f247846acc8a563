/** Rows of a table copied as text: a reading and its volume on each line. */

export interface FoundRow {
  reading: number;
  volume: number;
}

const numberIn = (text: string): number => Number(text.replace(",", ".").replace("\u2212", "-"));

/** @returns the rows, their two numbers parted by a blank, tab or semicolon, comma or point as decimal mark; else the first line that is no row. */
export function readRows(text: string): { rows: FoundRow[] } | { wrong: string } {
  const rows: FoundRow[] = [];
  for (const line of text.split(/\r\n|\n|\r/).map((l) => l.trim())) {
    if (line === "") continue;
    const parts = line.split(/\s*[;\t]\s*|\s*,\s+|\s+/).filter(Boolean);
    // A comma alone parts two numbers only where a point is the decimal mark: else it may be one number.
    const cells = parts.length === 1 && line.includes(".") ? line.split(",") : parts;
    const [reading, volume] = cells.map(numberIn);
    if (cells.length !== 2 || !Number.isFinite(reading) || !Number.isFinite(volume)) return { wrong: line };
    rows.push({ reading: reading!, volume: volume! });
  }
  return { rows };
}
