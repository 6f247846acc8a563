/** One plain fill run written in any dialect: what a logger or a spreadsheet may make of the same measurement. */
import fc from "fast-check";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../../src/units";

export interface PlainRun {
  volumes_L: number[];
  readings: number[];
}

export const density_kg_per_L = 0.745;
export const capacity_L = 64;

const volumeUnits = {
  L: { perLitre: 1, names: ["L", "litres", "l"] },
  USgal: { perLitre: 1 / LITRES_PER_USGAL, names: ["USgal", "US gal", "us_gal"] },
  impgal: { perLitre: 1 / LITRES_PER_IMPGAL, names: ["impgal", "imp gal"] },
  kg: { perLitre: density_kg_per_L, names: ["kg"] },
  percent: { perLitre: 100 / capacity_L, names: ["%", "percent"] },
} as const;
const readingUnits = {
  V: { per: 1, names: ["V", "volts"], digits: 4, canonical: 1, unit: "V" },
  mV: { per: 1000, names: ["mV"], digits: 1, canonical: 1e-3, unit: "V" },
  ohm: { per: 60, names: ["ohm", "Ω", "Ohms"], digits: 2, canonical: 1, unit: "ohm" },
  count: { per: 819.2, names: ["counts", "adc"], digits: 0, canonical: 1, unit: "count" },
} as const;

export const anyDialect = fc
  .record({
    delimiter: fc.constantFrom(",", ";", "\t", "|", " "),
    decimal: fc.constantFrom(".", ","),
    encoding: fc.constantFrom(
      "utf-8",
      "utf-8 marked",
      "utf-16le marked",
      "utf-16be marked",
      "utf-16le",
      "utf-16be",
      "windows-1252",
    ),
    end: fc.constantFrom("\n", "\r\n", "\r"),
    lastEnd: fc.boolean(),
    time: fc.constantFrom("none", "s", "ms", "clock", "midnight", "dated"),
    reading: fc.constantFrom("V", "mV", "ohm", "count"),
    volume: fc.constantFrom("L", "USgal", "impgal", "kg", "percent"),
    name: fc.nat(2),
    place: fc.constantFrom("suffix", "brackets", "units row", "cells"),
    /** Between a number and its unit, where that stands in the cells. */
    gap: fc.constantFrom("", " ", "\u00a0"),
    added: fc.boolean(),
    falling: fc.boolean(),
    volumeFirst: fc.boolean(),
    trailing: fc.boolean(),
    quoted: fc.boolean(),
    blankColumn: fc.boolean(),
    preamble: fc.nat(12),
    blankLines: fc.boolean(),
    remark: fc.boolean(),
  })
  .filter((d) => d.delimiter !== d.decimal);
export type AnyDialect = typeof anyDialect extends fc.Arbitrary<infer T> ? T : never;

export const anyRun: fc.Arbitrary<PlainRun> = fc
  .array(fc.tuple(fc.integer({ min: 300, max: 500 }), fc.integer({ min: 800, max: 3000 })), {
    minLength: 7,
    maxLength: 14,
  })
  // Pours that only ever grow read as a count as well: uneven ones are asked about then, which a test of its own holds.
  .filter((pours) => pours.some(([pour], i) => i > 0 && pour <= pours[i - 1]![0]))
  .map((pours) => {
    let volume = 0;
    let reading = 3000;
    const run: PlainRun = { volumes_L: [0], readings: [reading / 1e4] };
    for (const [pour, rise] of pours) {
      volume += pour;
      reading += rise;
      run.volumes_L.push(volume / 100);
      run.readings.push(reading / 1e4);
    }
    return run;
  });

/** Bytes of the file, and how far the written digits may lie from the plain run. */
export function writeDialect(run: PlainRun, d: AnyDialect) {
  const volumeUnit = volumeUnits[d.volume as "L"];
  const readingUnit = readingUnits[d.reading as "V"];
  const isBlank = d.delimiter === " ";
  const number = (x: number, digits: number) => x.toFixed(digits).replace(".", d.decimal);
  const volumes = d.added ? run.volumes_L.map((v, i) => (i === 0 ? 0 : v - run.volumes_L[i - 1]!)) : run.volumes_L;
  const readings = d.falling ? run.readings.map((r) => 5 - r) : run.readings;
  const n = volumes.length;
  const clock = (s: number) =>
    [Math.floor(s / 3600) % 24, Math.floor(s / 60) % 60, s % 60].map((x) => String(x).padStart(2, "0")).join(":");
  const start_s = d.time === "midnight" || d.time === "dated" ? 86_400 - 150 : 36_000;
  const times = Array.from({ length: n }, (_, i) => {
    const s = start_s + 40 * i;
    if (d.time === "s") return number(40 * i, 1);
    if (d.time === "ms") return String(40_000 * i);
    if (d.time === "dated") return `2026-0${s < 86_400 ? "2-28" : "3-01"}T${clock(s)}`;
    return clock(s);
  });
  const named = (name: string, unit: string | null): [string, string] => {
    const sound = isBlank ? unit?.replaceAll(" ", "") : unit;
    // Where blanks part the columns a column without a unit needs a sign in the units row.
    if (!sound) return [name, isBlank && d.place === "units row" ? "-" : ""];
    if (d.place === "cells") return [name, ""];
    if (d.place === "units row") return [name, sound];
    return [d.place === "brackets" ? `${name}${isBlank ? "" : " "}[${sound}]` : `${name}_${sound}`, ""];
  };
  const written = (cells: string[], unit: string | null) =>
    d.place === "cells" && unit ? cells.map((c) => `${c}${d.gap}${isBlank ? unit.replaceAll(" ", "") : unit}`) : cells;
  const pick = <T>(names: readonly T[]) => names[d.name % names.length]!;
  const single = d.encoding === "windows-1252";
  const readingName: string = pick<string>(readingUnit.names);
  const readingWord = single && readingName === "Ω" ? "ohm" : readingName;
  const timeUnit = d.time === "s" || d.time === "ms" ? d.time : null;
  const column = {
    volume: {
      head: named(single ? "eingef\u00fcllt" : "volume", pick(volumeUnit.names)),
      cells: written(
        volumes.map((v) => number(v * volumeUnit.perLitre, 3)),
        pick<string>(volumeUnit.names),
      ),
    },
    reading: {
      head: named("sender", readingWord),
      cells: written(
        readings.map((r) => number(r * readingUnit.per, readingUnit.digits)),
        readingWord,
      ),
    },
    time: { head: named("time", timeUnit), cells: written(times, timeUnit) },
    empty: { head: ["spare", ""], cells: times.map(() => "") },
    remark: { head: ["remark", ""], cells: times.map((_, i) => (i === 2 ? "hose_moved" : "")) },
  };
  const order = [
    ...(d.time === "none" ? [] : [column.time]),
    ...(d.volumeFirst ? [column.volume, column.reading] : [column.reading, column.volume]),
    // Blank cells have no place of their own where blanks part the columns.
    ...(d.blankColumn && !isBlank ? [column.empty] : []),
    ...(d.remark && !isBlank ? [column.remark] : []),
  ];
  const cell = (text: string) =>
    text.includes(d.delimiter) || (d.quoted && text !== "" && !isBlank) ? `"${text}"` : text;
  const line = (cells: string[]) => cells.map(cell).join(d.delimiter) + (d.trailing ? d.delimiter : "");
  const lines = [
    ...["Logger of the yard", "", "Sample rate: slow", "Operator=nobody", "Serial: A12"].slice(0, d.preamble),
    ...Array.from({ length: Math.max(0, d.preamble - 5) }, (_, i) => `Note ${i}`),
    line(order.map((c) => c.head[0]!)),
    ...(order.some((c) => c.head[1] !== "") ? [line(order.map((c) => c.head[1]!))] : []),
  ];
  const firstLine = lines.length + 1;
  const lineOfRow: number[] = [];
  for (let i = 0; i < n; i++) {
    if (d.blankLines && i === 3) lines.push("");
    lineOfRow.push(lines.length + 1);
    lines.push(line(order.map((c) => c.cells[i]!)));
  }
  const text = lines.join(d.end) + (d.lastEnd ? d.end : "");
  return {
    bytes: encode(text, d.encoding),
    text,
    firstLine,
    lineOfRow,
    /** Half a written step of each, in litres and in the canonical reading unit. */
    volumeRounding_L: 0.0005 / volumeUnit.perLitre,
    readingRounding: 0.5 * 10 ** -readingUnit.digits * readingUnit.canonical,
    readings: readings.map((r) => r * readingUnit.per * readingUnit.canonical),
    readingUnit: readingUnit.unit,
    time_s: Array.from({ length: n }, (_, i) => 40 * i),
  };
}

function encode(text: string, encoding: string): Uint8Array {
  if (encoding.startsWith("utf-8"))
    return new TextEncoder().encode((encoding.endsWith("marked") ? "\ufeff" : "") + text);
  if (encoding === "windows-1252") return Uint8Array.from(text, (c) => c.charCodeAt(0));
  const units = [...(encoding.endsWith("marked") ? "\ufeff" : ""), ...text].map((c) => c.charCodeAt(0));
  const little = encoding.startsWith("utf-16le");
  return Uint8Array.from(units.flatMap((u) => (little ? [u & 255, u >> 8] : [u >> 8, u & 255])));
}
