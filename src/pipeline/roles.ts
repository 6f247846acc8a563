/** Roles: which column is the volume, the reading, the time; by hand, then by name, by unit, by behaviour. */
import type { ColumnRole, FileReading } from "./choices";
import type { Column, SourceFile } from "./recording";

const names: [ColumnRole, RegExp][] = [
  [
    "time",
    /^(time|t|elapsed|timestamp|zeit|clock|seconds|uhrzeit|datum)\b|time|^t[_ ]|zeit|engine_run|^(s|ms|sec|date)$/i,
  ],
  ["across", /across|lateral|(^|[_ ])lat([_ ]?(acc|g)|$)|acc(el)?[_ ]?y|^ay(\b|_)|quer/i],
  ["along", /along|longitudinal|(^|[_ ])long([_ ]?(acc|g)|$)|acc(el)?[_ ]?x|^ax(\b|_)|l(ä|ae)ngs/i],
  ["speed", /speed|geschwindigkeit|velocity/i],
  ["flow", /flow|burn[_ ]?rate|durchfluss|verbrauch/i],
  ["supply", /supply|battery|vbat|versorgung|module_voltage/i],
  ["marker", /marker|^pouring$|button|^event|pour[_ ]?(no|number|index)|^step$|^mark$/i],
  [
    "reading",
    /sender|reading|sensor|level|signal|fuel_tank|^output$|anzeige|geber|messwert|spannung|widerstand|(^|[_ ])(volt|ohm|adc|raw|counts?)/i,
  ],
  [
    "volume",
    /volume|litre|liter|added|poured|pour|fuel|gallon|us[ _]?gal|imp[ _]?gal|menge|eingef|total|fill|kg$|(^|[_ ])(l|gal)$/i,
  ],
];

/** Names of channels that are neither a fuel sender nor a volume, however much else fits. */
const otherChannel =
  /temp|rpm|trim|press|throttle|coolant|\boil|humid|pedal|load|lambda|\bo2\b|altitude|latitude|gps|ratio|equiv/i;

const roleOfUnit: Partial<Record<string, ColumnRole>> = {
  L: "volume",
  USgal: "volume",
  impgal: "volume",
  gal: "volume",
  kg: "volume",
  V: "reading",
  ohm: "reading",
  count: "reading",
  s: "time",
  "km/h": "speed",
  "L/h": "flow",
  "gal/h": "flow",
  "kg/h": "flow",
};
export const unitsOf: Record<ColumnRole, ReadonlySet<string>> = {
  volume: new Set(["L", "USgal", "impgal", "gal", "kg", "percent"]),
  reading: new Set(["V", "ohm", "count", "percent"]),
  time: new Set(["s"]),
  across: new Set(["g"]),
  along: new Set(["g"]),
  speed: new Set(["km/h"]),
  flow: new Set(["L/h", "gal/h", "kg/h"]),
  supply: new Set(["V"]),
  marker: new Set(["count"]),
};

/** The role that a column's name alone speaks of; null where it speaks of none. */
export function roleByName(column: Column, kind: SourceFile["kind"]): ColumnRole | null {
  const alone: Column = { ...column, role: null, unit: null, valid: new Uint8Array([1]) };
  assignRoles([alone], kind, null);
  return alone.why.startsWith("by name") ? alone.role : null;
}

/**
 * Gives each role once. A role that is set by hand to "" is given to no column.
 * @returns the roles set by hand whose column the file does not have.
 */
export function assignRoles(
  columns: Column[],
  kind: SourceFile["kind"],
  by: FileReading | null,
): { role: ColumnRole; header: string }[] {
  const taken = new Set<ColumnRole>();
  const missing: { role: ColumnRole; header: string }[] = [];
  const give = (column: Column, role: ColumnRole, why: string) => {
    column.role = role;
    column.why = why;
    taken.add(role);
  };
  for (const [role, header] of Object.entries(by?.columns ?? {}) as [ColumnRole, string][]) {
    const wanted = header.trim();
    if (wanted === "") {
      taken.add(role);
      continue;
    }
    const column =
      columns.find((c) => c.header === wanted) ??
      columns.find((c) => c.header.toLowerCase() === wanted.toLowerCase()) ??
      (/^\d+$/.test(wanted) ? columns[Number(wanted) - 1] : undefined);
    if (column) {
      give(column, role, "by hand");
      // "level (mm)" as the reading: its unit is none that a reading has, so nothing is said about it.
      if (column.unit !== null && !unitsOf[role].has(column.unit)) column.unit = null;
    } else missing.push({ role, header: wanted });
  }
  const usable = columns.filter((c) => c.valid.some((v) => v === 1));
  const free = () => usable.filter((c) => c.role === null);
  for (const [role, pattern] of names) {
    if (taken.has(role)) continue;
    // A unit that says otherwise outweighs a name: "fuel (V)" is a reading.
    const fits = free().filter(
      (c) =>
        pattern.test(c.header) &&
        (c.unit === null || unitsOf[role].has(c.unit)) &&
        !((role === "reading" || role === "volume") && otherChannel.test(c.header)),
    );
    const found = fits.find((c) => c.unit !== null) ?? fits[0];
    if (found) give(found, role, found.unit ? "by name and unit" : "by name");
  }
  for (const column of free()) {
    const role = column.unit ? roleOfUnit[column.unit] : undefined;
    if (role && !taken.has(role) && !otherChannel.test(column.header)) give(column, role, "by unit");
  }
  const plausible = (role: ColumnRole) =>
    free().filter((c) => (c.unit === null || unitsOf[role].has(c.unit)) && !otherChannel.test(c.header));
  if (kind === "drive") {
    if (!taken.has("time")) {
      const rising = plausible("time").find(risesSteadily);
      if (rising) give(rising, "time", "by behaviour: it only rises");
    }
    // Nothing is poured on a drive: what is called "Fuel" and has no unit of volume is what the sender reads.
    const fuel = columns.find((c) => c.role === "volume" && c.unit === null && c.why === "by name");
    if (!taken.has("reading") && fuel) {
      taken.delete("volume");
      give(fuel, "reading", "by name: in a drive log");
    }
    if (!taken.has("reading")) {
      const first = firstThatMoves(moreThanRowNumbers(plausible("reading"), 1));
      if (first) give(first, "reading", "by behaviour: the first column that is left and moves");
    }
    return missing;
  }
  // Nobody pours hundreds of times in equal steps: a long column that rises evenly is a clock.
  if (!taken.has("volume") && !taken.has("time")) {
    const clock = plausible("time").find((c) => c.values.length > 200 && risesEvenly(c));
    if (clock) give(clock, "time", "by behaviour: it rises in equal steps");
  }
  // A fill run needs volume and reading; of two nameless columns the one that stands first is the volume.
  if (!taken.has("volume") && !taken.has("time")) {
    const [first, second] = moreThanRowNumbers(plausible("volume"), taken.has("reading") ? 1 : 2);
    if (first && (second !== undefined || taken.has("reading")))
      give(first, "volume", "by behaviour: the first column that is left");
  }
  if (!taken.has("reading")) {
    const next = firstThatMoves(moreThanRowNumbers(plausible("reading"), 1));
    if (next) give(next, "reading", "by behaviour: the column that is left");
  }
  return missing;
}

/** A sender moves: a column that never does is taken only where there is no other. */
function firstThatMoves(columns: Column[]): Column | undefined {
  const moves = (c: Column) => {
    const first = c.values.find((v) => !Number.isNaN(v));
    return c.values.some((v) => !Number.isNaN(v) && v !== first);
  };
  return columns.find(moves) ?? columns[0];
}

/** Names of columns that number rows, runs or who measured, and measure nothing. */
const numbering =
  /^(no|nr|id|#|index|row|line|run|sample|subject|specimen|test|trial|replicate|repeat|batch|group|item|lauf|zeile|probe)[ _.]*(no|nr|id|#|number)?\.?$/i;

/** Where there are more columns than are needed, those that number are left out: by their name, or because they count the rows, if need be anew in each set. */
function moreThanRowNumbers(columns: Column[], needed: number): Column[] {
  const countsRows = ({ values }: Column) =>
    (values[0] === 0 || values[0] === 1) &&
    values.every((v, i) => i === 0 || v === values[i - 1]! + 1 || (v === values[0] && values[i - 1]! > v));
  const numbers = (c: Column) => numbering.test(c.header.trim()) && c.values.every((v) => !(v % 1 !== 0));
  const others = columns.filter((c) => !countsRows(c) && !numbers(c));
  return others.length >= needed ? others : columns;
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

function risesEvenly(column: Column): boolean {
  const { values } = column;
  const step = (values[values.length - 1]! - values[0]!) / (values.length - 1);
  if (!(step > 0)) return false;
  let uneven = 0;
  for (let i = 1; i < values.length; i++) if (!(Math.abs(values[i]! - values[i - 1]! - step) <= 0.2 * step)) uneven++;
  return uneven <= 0.02 * values.length;
}

/** Spread of amounts as a part of their middle one: mean distance from the median over the median. */
function spreadOf(amounts: number[]): number {
  const sorted = [...amounts].sort((a, b) => a - b);
  const middle = sorted[sorted.length >> 1] ?? 0;
  const distance = amounts.reduce((s, a) => s + Math.abs(a - middle), 0) / Math.max(1, amounts.length);
  return Math.abs(middle) > 0 ? distance / Math.abs(middle) : Number.POSITIVE_INFINITY;
}

/**
 * Are volumes added with each pour, or counted up? By the column's name, else by behaviour: what rises, or falls, through six rows or more is a
 * count (sorted by chance: one in 720); nearly equal amounts are pours unless the steps between them are more alike still; what
 * never falls is a count; what falls once in ten rows or less is a count with a slip, if its steps are the more alike.
 * (Common practice, no source; the bounds are our own.)
 * @returns `sure` false where the other reading is nearly as good and the user should be asked.
 */
export function guessEntered(column: Column, recorded: boolean): { as: "added" | "cumulative"; sure: boolean } {
  const known = (as: "added" | "cumulative") => ({ as, sure: true });
  const likely = (as: "added" | "cumulative") => ({ as, sure: false });
  if (/added|each|per[_ ]pour/i.test(column.header)) return known("added");
  if (/total|cumul|counted|summe|gesamt/i.test(column.header)) return known("cumulative");
  const values = [...column.values].filter((_, i) => column.valid[i]);
  const steps = values.slice(1).map((v, i) => v - values[i]!);
  const falls = steps.filter((d) => d < 0).length;
  // Every row of a recording repeats the amount until the next pour: only a count stays or rises through all of it.
  // Lone amounts among blanks are judged as on a sheet.
  // What falls back to 0 each time, and stands there for most of it, is written in the moment of a pour.
  const zeros = values.reduce((sum, v) => sum + (v === 0 ? 1 : 0), 0);
  const momentary = falls >= 2 && zeros > 0.5 * values.length && steps.every((d, i) => d >= 0 || values[i + 1] === 0);
  if (recorded && momentary) return known("added");
  if (recorded && values.length > 0.5 * column.values.length)
    return known(falls <= 0.01 * steps.length ? "cumulative" : "added");
  const pours = values[0] === 0 ? values.slice(1) : values;
  // With one pour both are the same.
  if (pours.length < 2) return known("added");
  // A count from an empty tank grows manifold; pours that happen to grow from row to row do not.
  if (pours.length >= 6 && steps.every((d) => d > 0) && pours[pours.length - 1]! >= 2.5 * pours[0]!)
    return known("cumulative");
  // And so does what is left in a tank that is emptied, the other way round.
  if (values.length >= 6 && steps.every((d) => d < 0) && values[0]! >= 2.5 * values[values.length - 1]!)
    return known("cumulative");
  const alike = spreadOf(pours);
  const alikeSteps = spreadOf(steps);
  if (alike < 0.15 && !(alikeSteps < alike)) return pours.length >= 4 || falls > 0 ? known("added") : likely("added");
  if (falls === 0) return alikeSteps < 0.5 * alike ? known("cumulative") : likely("cumulative");
  return likely(falls <= 0.1 * steps.length && alikeSteps < alike ? "cumulative" : "added");
}
