/** Columns: where the header ends, what each column is, in which unit, by name, unit and behaviour. */
import type { Issue } from "../answer";
import { parseNumber, type Row } from "../csv";
import { KM_PER_MILE, STANDARD_GRAVITY } from "../units";
import type { ColumnRole, FileReading } from "./choices";
import type { Column, SourceFile } from "./recording";

interface Layout {
  header: Row | null;
  units: Row | null;
  data: Row[];
  width: number;
}

const clock = /^(?:\d{4}-\d{2}-\d{2}[T ])?(\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*$/;
const isNumeric = (cell: string, decimal: "." | ",") => parseNumber(cell, decimal) !== null || clock.test(cell.trim());

/** The numbers begin where rows of numbers begin to follow each other; the last text row of their width before that is the header. */
export function findLayout(rows: Row[], decimal: "." | ",", headerLine?: number | null): Layout {
  const numericCells = rows.map((r) => r.cells.filter((c) => isNumeric(c, decimal)).length);
  const filled = rows.map((r) => r.cells.filter((c) => c.trim() !== "").length);
  const looksData = rows.map((_, i) => numericCells[i]! >= 1 && numericCells[i]! >= 0.5 * filled[i]!);
  const widthOf = (i: number) => rows[i]!.cells.length;
  const widths = new Map<number, number>();
  rows.forEach((_, i) => {
    if (looksData[i]) widths.set(widthOf(i), (widths.get(widthOf(i)) ?? 0) + 1);
  });
  const width = [...widths].sort((a, b) => b[1] - a[1] || b[0] - a[0])[0]?.[0] ?? 0;
  let start = rows.findIndex(
    (_, i) =>
      looksData[i] &&
      (widthOf(i) === width || Math.abs(widthOf(i) - width) <= 1) &&
      (i + 1 >= rows.length || looksData[i + 1] || looksData[i + 2] === true),
  );
  if (headerLine !== undefined && headerLine !== null)
    start = rows.findIndex((r, i) => r.line > headerLine && looksData[i]);
  if (start < 0)
    return {
      header: rows[rows.length - 1] ?? null,
      units: null,
      data: [],
      width: rows[rows.length - 1]?.cells.length ?? 0,
    };
  const text = rows.slice(0, start).filter((r) => r.cells.filter((c) => c.trim() !== "").length >= Math.min(2, width));
  const last = text[text.length - 1] ?? null;
  const before = text[text.length - 2] ?? null;
  const unitLike = (r: Row) =>
    r.cells.every((c) => c.trim() === "" || unitOf(c.trim().replace(/^[[(]|[\])]$/g, "")) !== null);
  const hasUnits = last !== null && before !== null && unitLike(last) && before.cells.length >= last.cells.length - 1;
  return { header: hasUnits ? before : last, units: hasUnits ? last : null, data: rows.slice(start), width };
}

type UnitKind = {
  role: "time" | "volume" | "reading" | "acceleration" | "speed" | "flow";
  unit: string;
  factor: number;
};

/** Units as they are written in headers: canonical name and factor to it. */
function unitOf(text: string): UnitKind | null {
  const t = text.toLowerCase().replace(/\s+/g, "").replace("²", "2").replace("ω", "ohm").replace("Ω", "ohm");
  const known: Record<string, UnitKind> = {
    s: { role: "time", unit: "s", factor: 1 },
    sec: { role: "time", unit: "s", factor: 1 },
    seconds: { role: "time", unit: "s", factor: 1 },
    ms: { role: "time", unit: "s", factor: 1e-3 },
    msec: { role: "time", unit: "s", factor: 1e-3 },
    min: { role: "time", unit: "s", factor: 60 },
    l: { role: "volume", unit: "L", factor: 1 },
    litre: { role: "volume", unit: "L", factor: 1 },
    litres: { role: "volume", unit: "L", factor: 1 },
    liter: { role: "volume", unit: "L", factor: 1 },
    liters: { role: "volume", unit: "L", factor: 1 },
    ml: { role: "volume", unit: "L", factor: 1e-3 },
    usgal: { role: "volume", unit: "USgal", factor: 1 },
    galus: { role: "volume", unit: "USgal", factor: 1 },
    impgal: { role: "volume", unit: "impgal", factor: 1 },
    galimp: { role: "volume", unit: "impgal", factor: 1 },
    kg: { role: "volume", unit: "kg", factor: 1 },
    g_mass: { role: "volume", unit: "kg", factor: 1e-3 },
    v: { role: "reading", unit: "V", factor: 1 },
    volt: { role: "reading", unit: "V", factor: 1 },
    volts: { role: "reading", unit: "V", factor: 1 },
    mv: { role: "reading", unit: "V", factor: 1e-3 },
    ohm: { role: "reading", unit: "ohm", factor: 1 },
    ohms: { role: "reading", unit: "ohm", factor: 1 },
    kohm: { role: "reading", unit: "ohm", factor: 1000 },
    count: { role: "reading", unit: "count", factor: 1 },
    counts: { role: "reading", unit: "count", factor: 1 },
    adc: { role: "reading", unit: "count", factor: 1 },
    g: { role: "acceleration", unit: "g", factor: 1 },
    "m/s2": { role: "acceleration", unit: "g", factor: 1 / STANDARD_GRAVITY },
    "m/s^2": { role: "acceleration", unit: "g", factor: 1 / STANDARD_GRAVITY },
    "km/h": { role: "speed", unit: "km/h", factor: 1 },
    kmh: { role: "speed", unit: "km/h", factor: 1 },
    kph: { role: "speed", unit: "km/h", factor: 1 },
    mph: { role: "speed", unit: "km/h", factor: KM_PER_MILE },
    "m/s": { role: "speed", unit: "km/h", factor: 3.6 },
    "l/h": { role: "flow", unit: "L/h", factor: 1 },
    "l/hr": { role: "flow", unit: "L/h", factor: 1 },
    "%": { role: "reading", unit: "percent", factor: 1 },
    percent: { role: "reading", unit: "percent", factor: 1 },
  };
  return known[t] ?? null;
}

/** The unit inside brackets, or the last piece after an underscore, blank or comma. */
function unitInHeader(header: string): UnitKind | null {
  const bracket = /[[(]\s*([^\])]*?)\s*[\])]/.exec(header);
  if (bracket) return unitOf(bracket[1]!);
  const lowered = header.toLowerCase();
  if (/us[ _]?gal/.test(lowered)) return unitOf("usgal");
  if (/imp[ _]?gal/.test(lowered)) return unitOf("impgal");
  const tail = /[\s_,]([A-Za-zΩ%/²^0-9]+)$/.exec(header);
  const direct = tail ? unitOf(tail[1]!) : null;
  return (
    direct ??
    (/^(litres?|liters?|volts?|ohms?|kg|percent|seconds)$/i.test(header.trim()) ? unitOf(header.trim()) : null)
  );
}

/** Cells to numbers. Blank is never zero; text where a number should stand is listed with its line. */
export function readColumns(
  file: string,
  data: Row[],
  headers: string[],
  units: (string | null)[],
  decimal: "." | ",",
  odd: Issue[],
): Column[] {
  const columns = headers.map((header, c): Column => {
    const kind = (units[c] ? unitOf(units[c]!.replace(/^[[(]|[\])]$/g, "")) : null) ?? unitInHeader(header);
    const values = new Float64Array(data.length).fill(Number.NaN);
    const valid = new Uint8Array(data.length);
    let decimals = 0;
    let texts = 0;
    let dayOffset_s = 0;
    let lastClock = -1;
    let isClock = false;
    const bad: Row[] = [];
    for (let i = 0; i < data.length; i++) {
      const cell = (data[i]!.cells[c] ?? "").trim();
      if (cell === "") continue;
      const value = parseNumber(cell, decimal);
      if (value !== null) {
        values[i] = value * (kind?.factor ?? 1);
        valid[i] = 1;
        const at = cell.indexOf(decimal);
        if (at >= 0) decimals = Math.max(decimals, cell.replace(/e.*$/i, "").length - at - 1);
        continue;
      }
      const time = clock.exec(cell);
      if (time) {
        const s = Number(time[1]) * 3600 + Number(time[2]) * 60 + Number((time[3] ?? "0").replace(",", "."));
        // The clock starts again at midnight: half a day backwards is a new day, less is a fault of the clock.
        if (lastClock >= 0 && s < lastClock - 43200) dayOffset_s += 86400;
        lastClock = s;
        values[i] = s + dayOffset_s;
        valid[i] = 1;
        isClock = true;
        continue;
      }
      texts++;
      bad.push(data[i]!);
    }
    const numbers = valid.reduce((s, v) => s + v, 0);
    if (texts > 0 && numbers > texts) {
      for (const row of bad.slice(0, 5))
        odd.push({
          code: "recording/text-for-number",
          says: `${file}, line ${row.line}, ${header}: “${(row.cells[c] ?? "").trim().slice(0, 60)}” is no number, so that cell is left out.`,
          remedy: "Correct the cell, or choose the other decimal mark.",
          where: { file, row: row.line, column: header, text: row.cells.join(" | ").slice(0, 200) },
          weight: "note",
        });
    }
    return {
      header,
      role: null,
      unit: isClock ? "s" : (kind?.unit ?? null),
      why: "",
      values,
      valid,
      writtenStep: 10 ** -decimals * (kind?.factor ?? 1),
    };
  });
  return columns;
}

const names: [ColumnRole, RegExp][] = [
  ["time", /^(time|t|elapsed|timestamp|zeit|clock|seconds)\b|time|^t[_ ]|engine_run/i],
  ["across", /across|lateral|(^|[_ ])lat([_ ]?(acc|g)|$)|accel?[_ ]?y|^ay(\b|_)|quer/i],
  ["along", /along|longitudinal|(^|[_ ])long([_ ]?(acc|g)|$)|accel?[_ ]?x|^ax(\b|_)|l(ä|ae)ngs/i],
  ["speed", /speed|geschwindigkeit|velocity/i],
  ["flow", /flow|burn[_ ]?rate|durchfluss/i],
  ["supply", /supply|battery|vbat|versorgung|module_voltage/i],
  ["marker", /marker|pour[_ ]?(no|number|index)|^step$|^mark$/i],
  [
    "reading",
    /sender|reading|sensor|level|signal|fuel_tank|anzeige|geber|messwert|(^|[_ ])(volt|ohm|adc|raw|counts?)/i,
  ],
  ["volume", /volume|litre|liter|added|poured|pour|fuel|gallon|us[ _]?gal|menge|eingef|total|fill|kg$/i],
];

/** By hand first, then by name, then by unit, then by behaviour. Each role is given once. */
export function assignRoles(columns: Column[], kind: SourceFile["kind"], by: FileReading | null): void {
  const taken = new Set<ColumnRole>();
  const give = (column: Column, role: ColumnRole, why: string) => {
    column.role = role;
    column.why = why;
    taken.add(role);
  };
  for (const [role, header] of Object.entries(by?.columns ?? {}) as [ColumnRole, string][]) {
    const column = columns.find((c) => c.header === header) ?? columns[Number(header) - 1];
    if (column) give(column, role, "by hand");
  }
  const usable = columns.filter((c) => c.valid.some((v) => v === 1));
  const byUnit: Partial<Record<string, ColumnRole>> = {
    L: "volume",
    USgal: "volume",
    impgal: "volume",
    kg: "volume",
    V: "reading",
    ohm: "reading",
    count: "reading",
    s: "time",
    "km/h": "speed",
    "L/h": "flow",
  };
  for (const [role, pattern] of names) {
    if (taken.has(role)) continue;
    const fits = usable.filter((c) => c.role === null && pattern.test(c.header));
    // A unit that says otherwise outweighs a name: "fuel (V)" is a reading.
    const found =
      fits.find((c) => c.unit !== null && byUnit[c.unit] === role) ??
      fits.find((c) => c.unit === null || byUnit[c.unit] === undefined || role === "supply");
    if (found) give(found, role, found.unit ? "by name and unit" : "by name");
  }
  for (const column of usable) {
    const role = column.unit ? byUnit[column.unit] : undefined;
    if (column.role === null && role && !taken.has(role)) give(column, role, "by unit");
  }
  const free = () => usable.filter((c) => c.role === null);
  if (kind === "drive") {
    if (!taken.has("time")) {
      const rising = free().find((c) => risesSteadily(c));
      if (rising) give(rising, "time", "by behaviour: it only rises");
    }
    if (!taken.has("reading")) {
      const first = free()[0];
      if (first) give(first, "reading", "by behaviour: the first column that is left");
    }
    return;
  }
  // A fill run needs volume and reading; with two nameless columns the one that stands first is the volume.
  if (!taken.has("volume") && !taken.has("time")) {
    const first = free()[0];
    if (first && (free().length > 1 || taken.has("reading"))) give(first, "volume", "by behaviour: the first column");
  }
  if (!taken.has("reading")) {
    const next = free()[0];
    if (next) give(next, "reading", "by behaviour: the column that is left");
  }
}

function risesSteadily(column: Column): boolean {
  let last = Number.NEGATIVE_INFINITY;
  let falls = 0;
  let n = 0;
  for (let i = 0; i < column.values.length; i++) {
    if (!column.valid[i]) continue;
    if (column.values[i]! < last) falls++;
    last = column.values[i]!;
    n++;
  }
  return n > 2 && falls <= 0.01 * n;
}

/** Volumes that only rise are counted up; volumes that do not are pours. A column of nearly equal values is pours. */
export function guessEntered(column: Column): "added" | "cumulative" {
  const values = [...column.values].filter((_, i) => column.valid[i]);
  let rises = 0;
  for (let i = 1; i < values.length; i++) if (values[i]! > values[i - 1]!) rises++;
  return values.length > 1 && rises >= 0.7 * (values.length - 1) ? "cumulative" : "added";
}
