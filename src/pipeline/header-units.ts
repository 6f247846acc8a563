/** Units as they are written in headers and units rows: what kind of quantity, its canonical unit, the factor to it. */
import {
  KG_PER_POUND,
  KM_PER_MILE,
  LITRES_PER_IMPGAL,
  LITRES_PER_M3,
  LITRES_PER_USGAL,
  STANDARD_GRAVITY,
} from "../units";

export interface HeaderUnit {
  kind: "time" | "volume" | "reading" | "acceleration" | "speed" | "flow" | "other";
  /**
   * Canonical: `s`, `L`, `USgal`, `impgal`, `gal` (which gallon is not said), `kg`, `V`, `ohm`, `count`, `percent`, `g`, `km/h`, `L/h`,
   * `gal/h` (which gallon is not said), `kg/h`;
   * for other kinds as written.
   */
  unit: string;
  /** Values times this are in the canonical unit. */
  factor: number;
}

const of = (kind: HeaderUnit["kind"], unit: string, factor: number, ...names: string[]): [string, HeaderUnit][] =>
  names.map((name) => [name, { kind, unit, factor }]);

/** Written without blanks, points and capitals, `per` as a stroke. */
const known = new Map<string, HeaderUnit>([
  ...of("time", "s", 1, "s", "sec", "secs", "second", "seconds", "sekunden", "sek"),
  ...of("time", "s", 1e-3, "ms", "msec", "msecs", "millisecond", "milliseconds", "millisekunden", "millis"),
  ...of("time", "s", 1e-6, "us", "µs", "μs", "microseconds"),
  ...of("time", "s", 60, "min", "mins", "minute", "minutes", "minuten"),
  ...of("time", "s", 3600, "h", "hr", "hrs", "hour", "hours", "stunden"),
  ...of("volume", "L", 1, "l", "ltr", "litre", "litres", "liter", "liters", "litern"),
  ...of("volume", "L", 1e-3, "ml", "millilitre", "millilitres", "milliliter", "milliliters", "cm3", "cc"),
  ...of("volume", "L", LITRES_PER_M3, "m3"),
  ...of("volume", "USgal", 1, "usgal", "usgallon", "usgallons", "usg", "galus", "gallonus", "gallonsus"),
  ...of("volume", "impgal", 1, "impgal", "impgallon", "impgallons", "imperialgallon", "imperialgallons", "galimp"),
  ...of("volume", "impgal", 1, "ukgal", "ukgallon", "ukgallons", "galuk"),
  ...of("volume", "gal", 1, "gal", "gals", "gallon", "gallons"),
  ...of("volume", "kg", 1, "kg", "kgs", "kilogram", "kilograms", "kilogramm"),
  ...of("reading", "V", 1, "v", "volt", "volts", "vdc"),
  ...of("reading", "V", 1e-3, "mv", "millivolt", "millivolts"),
  ...of("reading", "ohm", 1, "ohm", "ohms"),
  ...of("reading", "ohm", 1000, "kohm", "kohms"),
  ...of("reading", "count", 1, "count", "counts", "cts", "adc", "lsb", "digits", "raw"),
  ...of("reading", "percent", 1, "%", "percent", "pct", "prozent"),
  ...of("acceleration", "g", 1, "g"),
  ...of("acceleration", "g", 1e-3, "mg"),
  ...of(
    "acceleration",
    "g",
    1 / STANDARD_GRAVITY,
    "m/s2",
    "m/s^2",
    "m/s/s",
    "ms-2",
    "mps2",
    "ms2",
    "ms^2",
    "m/sec2",
    "m/sec^2",
    "m/s**2",
  ),
  ...of("speed", "km/h", 1, "km/h", "kmh", "kph", "km/hr"),
  ...of("speed", "km/h", KM_PER_MILE, "mph", "mi/h"),
  ...of("speed", "km/h", 3.6, "m/s", "mps"),
  ...of(
    "flow",
    "L/h",
    1,
    "l/h",
    "l/hr",
    "l/hour",
    "litre/h",
    "litres/h",
    "liter/h",
    "liters/h",
    "litres/hour",
    "liters/hour",
    "lph",
    "lh",
  ),
  ...of("flow", "L/h", 60, "l/min", "litres/min", "liters/min", "lpm"),
  ...of("flow", "L/h", 3600, "l/s"),
  ...of("flow", "L/h", 0.06, "ml/min", "cc/min", "ccm/min", "cm3/min", "mlpm"),
  ...of("flow", "L/h", 3.6, "ml/s", "cc/s", "cm3/s"),
  ...of("flow", "L/h", 1e-3, "ml/h", "cc/h", "cm3/h"),
  ...of("flow", "L/h", LITRES_PER_USGAL, "usgal/h", "usgal/hr", "usgal/hour", "usgph", "galus/h"),
  ...of("flow", "L/h", LITRES_PER_IMPGAL, "impgal/h", "impgal/hr", "impgal/hour", "impgph", "galimp/h"),
  ...of("flow", "L/h", LITRES_PER_IMPGAL, "ukgal/h", "ukgal/hr", "galuk/h"),
  ...of("flow", "gal/h", 1, "gal/h", "gal/hr", "gal/hour", "gallon/h", "gallons/h", "gallons/hour", "gph", "galph"),
  ...of("flow", "kg/h", 1, "kg/h", "kg/hr", "kg/hour", "kgph"),
  ...of("flow", "kg/h", 3.6, "g/s"),
  ...of("flow", "kg/h", 0.06, "g/min"),
  ...of("flow", "kg/h", KG_PER_POUND, "lb/h", "lb/hr", "lbs/h", "lbs/hr", "pph"),
  ...of("other", "°C", 1, "°c", "degc", "celsius", "c"),
  ...of("other", "°F", 1, "°f", "degf"),
  ...of("other", "rpm", 1, "rpm", "1/min"),
  ...of("other", "bar", 1, "bar", "mbar", "kpa", "psi", "pa", "hpa"),
  ...of("other", "mm", 1, "mm", "cm", "m", "in"),
  ...of("other", "A", 1, "a", "ma"),
  ...of("other", "Hz", 1, "hz"),
  ...of("other", "deg", 1, "°", "deg", "rad", "deg/s", "rad/s", "°/s"),
]);

/** A unit as written; null if it is none that is known. */
export function unitOf(text: string): HeaderUnit | null {
  const plain = text
    .normalize("NFKC")
    .toLowerCase()
    .replace(/[\u03c9\u2126]/g, "ohm")
    .replace(/(^|[\s_])per[\s_]/g, "/")
    .replace(/[\s_.]/g, "");
  return known.get(plain) ?? null;
}

/** The few words that a long log repeats in every cell; they are looked up once. */
const seen = new Map<string, HeaderUnit | null>();
const mostSeen = 1000;

/** A unit as it stands behind a number in a cell; grams where the column speaks of a volume. */
export function unitInCell(written: string, header: string): HeaderUnit | null {
  let unit = seen.get(written);
  if (unit === undefined) {
    unit = unitOf(written);
    if (seen.size < mostSeen) seen.set(written, unit);
  }
  return unit?.unit === "g" && /^\s*g\s*$/i.test(written) && volumeLike.test(header) ? grams : unit;
}

const grams: HeaderUnit = { kind: "volume", unit: "kg", factor: 1e-3 };
const timeLike = /time|elapsed|zeit|clock|stamp|dauer|duration/i;
const volumeLike = /volume|added|pour|fuel|fill|total|menge|mass|weight|masse|gewicht/i;

/**
 * The unit in a header: inside brackets, or its last words behind an underscore, blank or comma, or the whole of it; else
 * an unmistakable one before them ("kg added").
 * `min` and `h` are times only where the name speaks of time (else a minimum, a height); `g` behind a volume's name is grams.
 */
export function unitInHeader(header: string): HeaderUnit | null {
  const name = header.trim();
  // "gallons (US) added": which gallon stands in the bracket, and us alone is no microsecond there.
  const which = /\bgal(?:lon)?s?\b[\s_,]*[[(]\s*(us|u\.s\.|imp|imp\.|imperial|uk)\s*[\])]/i.exec(name)?.[1];
  if (which) return unitOf(`${/^u\.?s/i.test(which) ? "us" : "imp"} gal`);
  // The last bracket that holds a unit: "poured (kg) net".
  for (const bracket of [...name.matchAll(/[[(<{]\s*([^\])>}]*?)\s*[\])>}]/g)].reverse()) {
    const inside = checked(bracket[1]!, name, true);
    if (inside) return inside;
  }
  const bare = name
    .replace(/[[(<{][^\])>}]*[\])>}]/g, " ")
    .replace(/[\s_]+per[\s_]+/gi, "/")
    .trim();
  const words = bare.split(/[\s_,;:]+|(?<=\w)-(?=[A-Za-z])/).filter((w) => w !== "");
  for (const take of [2, 1]) {
    if (words.length < take) continue;
    const found = checked(words.slice(-take).join(" "), name);
    if (found) return found;
  }
  // The standards' way of a quantity over its unit: "Zeit/s", "U / V".
  const over = /^[\p{L}\s_]+\/\s*([^/\s]+)$/u.exec(bare);
  return (over ? checked(over[1]!, name) : null) ?? unitBefore(words);
}

/** A word of its own for a unit of volume, reading or percent, wherever it stands: "kg added", "US gal in total", "% filled". */
function unitBefore(words: string[]): HeaderUnit | null {
  for (const take of [2, 1])
    for (let from = 0; from + take < words.length; from++) {
      const written = words.slice(from, from + take).join(" ");
      const found = /^([lvg]|raw|adc|lsb|digits|count|cc)$/i.test(written) ? null : unitOf(written);
      if (found?.kind === "volume" || found?.kind === "reading") return found;
    }
  return null;
}

function checked(written: string, name: string, inBrackets = false): HeaderUnit | null {
  const found = unitOf(written);
  if (!found) return null;
  const text = written.trim().toLowerCase();
  // "sender_a" is the first of two, not amperes.
  if (!inBrackets && /^(a|c|m|in)$/.test(text)) return null;
  const alone = text === name.trim().toLowerCase();
  if (found.kind === "time" && /^(min|h|m)$/.test(text) && !alone && !timeLike.test(name)) return null;
  if (text === "g" && volumeLike.test(name)) return grams;
  return found;
}
