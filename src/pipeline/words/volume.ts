/**
 * Volume: the unit that volumes are written in. Stages reckon in litres and the published analysis stays in litres; what is read is written
 * in the unit of the job. What is typed into the device keeps the device's own unit, and where that is the litre, numbers that are set have it in brackets.
 */
import type { Figure, Mark, Panel, Series } from "../../figure/figure";
import { decimalsFor, fixed, plusMinus, setText } from "../../format";
import { litresPer } from "../../units";
import type { Job } from "../job";
import type { Beside, Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { litres, litresSet, setting } from "./quantity";

const nbsp = "\u00a0";

export interface VolumeWords {
  /** Written sign of the unit. */
  sign: string;
  /** Litres in one of it. */
  litres: number;
  /** Numbers that are set carry their litres in brackets: the device takes litres, the job does not. */
  litresInBrackets: boolean;
}

export const inLitres: VolumeWords = { sign: "L", litres: 1, litresInBrackets: false };

const signs = { L: "L", USgal: `US${nbsp}gal`, impgal: `imp${nbsp}gal`, kg: "kg", percent: "% of the tank" } as const;

/** @returns litres where the job states no unit, or not what its unit needs (density for kilograms, capacity for percent), or is not there. */
export function volumeWordsOf(job: Pick<Job, "volumeUnit" | "pour" | "tank" | "device"> | null): VolumeWords {
  if (!job?.volumeUnit || job.volumeUnit === "L") return inLitres;
  const litres = litresPer(job.volumeUnit, {
    density_kg_per_L: job.pour.density_kg_per_L,
    capacity_L: job.tank.capacity_L,
  });
  if (litres === null) return inLitres;
  return {
    sign: signs[job.volumeUnit],
    litres,
    litresInBrackets: job.device.tableVolumeUnit === "L" || job.device.displayUnit === "L",
  };
}

/** The unit that volumes are stated in: gallons. Kilograms and percent stand on the density and the capacity that are stated: those are in litres. */
export const statedIn = (volume: VolumeWords): VolumeWords =>
  volume.sign === signs.USgal || volume.sign === signs.impgal ? volume : inLitres;

/** So stated in the unit itself: what is left after three figures is but the arithmetic. */
const isRound = (value: number): boolean => Math.abs(value - Number(value.toPrecision(3))) <= 1e-6 * Math.abs(value);

/** What is typed in the unit, from what is kept in litres: as it was typed, else to four figures. */
export const inVolume = (value_L: number | null, volume: VolumeWords): number | null =>
  value_L === null || volume.litres === 1 ? value_L : typed(value_L / volume.litres);

/** Four decimals hold what is typed; more are left over from litres. */
const typed = (value: number): number => {
  const whole = Number(value.toFixed(4));
  return Math.abs(value - whole) <= 1e-9 * Math.abs(value) ? whole : Number(value.toPrecision(4));
};

/** Litres that were found, as a figure writes them: just as a sentence does. */
export const volumeText = (value_L: number, volume: VolumeWords): string =>
  quantityInUnit(litres(null, value_L), volume).text;

/** Litres that are set or asked for. @param digits significant figures; a tenth of a litre unless told. */
export const volumeSetText = (value_L: number, volume: VolumeWords, digits?: number): string =>
  quantityInUnit(digits === undefined ? litresSet(null, value_L) : setting(null, value_L, "L", digits), volume).text;

/** A number in litres, and all around it, as a sentence has it: sign, how many figures, unit. */
const written = /^(.*?)(less than )?(\u2212?)(\d+(?:\.\d+)?)(\u00a0L(?:\/h)?)?(?!\d)(.*)$/s;

/** A quantity in litres, or litres an hour, in another unit: from its value, to as many figures as its text has. All others as they are. */
export function quantityInUnit(q: Quantity, volume: VolumeWords): Quantity {
  if (volume.litres === 1 || (q.unit !== "L" && q.unit !== "L/h") || q.asTyped) return q;
  // What the tank holds is what the percent are of.
  if (volume.sign === signs.percent && q.path?.endsWith("capacity_L")) return q;
  const parts = written.exec(q.text);
  if (!parts) return q;
  const [, before = "", , minus = "", number = "", unit = "", after = ""] = parts;
  const value = Math.abs(q.value) / volume.litres;
  const whole = q.unit === "L" ? volume.sign : anHour(volume);
  const sign = unit ? whole : "";
  const rest = { ...q, unit: whole, times: volume.litres };
  if (q.halfWidth !== undefined && q.halfWidth > 0)
    return {
      ...rest,
      halfWidth: q.halfWidth / volume.litres,
      text: before + minus + plusMinus(value, q.halfWidth / volume.litres, whole) + afterUnit(after),
    };
  const figures = Math.max(2, number.replace(".", "").replace(/^0+/, "").length);
  if (q.isSet) {
    const text = setText(value, sign, isRound(value) ? 3 : figures);
    const litres = volume.litresInBrackets && unit ? ` (${number}${unit})` : "";
    return { ...rest, text: before + minus + text + litres + after };
  }
  const text =
    value !== 0 && value < 0.005
      ? `less than 0.01${sign ? nbsp + sign : ""}`
      : `${minus}${fixed(value, Math.min(2, decimalsFor(value, figures)))}${sign ? nbsp + sign : ""}`;
  return { ...rest, text: before + text + after };
}

const anHour = (volume: VolumeWords): string =>
  volume.sign === signs.percent ? `${volume.sign} an hour` : `${volume.sign}/h`;

/** What follows a `7.9 ± 1.3 L` once it is written anew: the ± and its unit are gone with it. */
const afterUnit = (after: string): string => after.replace(/^.*?\u00a0L(?:\/h)?/s, "");

const phrasesIn = (phrases: Phrase[], volume: VolumeWords): Phrase[] =>
  phrases.map((p) => (typeof p === "string" ? p : quantityInUnit(p, volume)));

/** All phrases of a head row, a sentence or a condition in the unit. */
export const phrasesInUnit = phrasesIn;

export function findingInUnit(finding: Finding, volume: VolumeWords): Finding {
  if (volume.litres === 1) return finding;
  const of = (phrases: Phrase[]) => phrasesIn(phrases, volume);
  return {
    ...finding,
    sentence: of(finding.sentence),
    ...(finding.further ? { further: of(finding.further) } : {}),
    short: of(finding.short),
    condition: of(finding.condition),
    ...(finding.beside ? { beside: besideIn(finding.beside, of) } : {}),
  };
}

const besideIn = (beside: Beside, of: (phrases: Phrase[]) => Phrase[]): Beside => ({
  ...beside,
  rows: beside.rows.map((r) => ({ ...r, yours: of(r.yours), recommended: of(r.recommended) })),
  after: of(beside.after),
});

export const workingInUnit = (lines: WorkingLine[], volume: VolumeWords): WorkingLine[] =>
  volume.litres === 1 ? lines : lines.map((l) => ({ ...l, figures: phrasesIn(l.figures, volume) }));

/** A figure with its axes in litres drawn in the unit, and its table with it. Its words are written in the unit already. */
export function figureInUnit(figure: Figure, volume: VolumeWords): Figure {
  if (volume.litres === 1) return figure;
  const by = (v: number) => v / volume.litres;
  const same = (v: number) => v;
  const x = figure.x.unit === "L" ? by : same;
  const litresColumn = figure.table.columns.map((c) => c.endsWith(", L"));
  return {
    ...figure,
    x: axisIn(figure.x, volume),
    panels: figure.panels.map((panel): Panel => {
      const y = panel.y.unit === "L" ? by : same;
      return {
        ...panel,
        y: axisIn(panel.y, volume),
        series: panel.series.map((s) => seriesIn(s, x, y)),
        marks: panel.marks.map((m) => markIn(m, x, y)),
        ...(panel.picks ? { picks: panel.picks.map((p) => ({ ...p, x: x(p.x), y: y(p.y) })) } : {}),
      };
    }),
    table: {
      columns: figure.table.columns.map((c, k) => (litresColumn[k] ? `${c.slice(0, -1)}${volume.sign}` : c)),
      rows: figure.table.rows.map((row) =>
        row.map((cell, k) => (litresColumn[k] && typeof cell === "number" ? by(cell) : cell)),
      ),
    },
  };
}

const axisIn = (axis: Figure["x"], volume: VolumeWords): Figure["x"] =>
  axis.unit === "L"
    ? {
        ...axis,
        unit: volume.sign,
        from: axis.from === null ? null : axis.from / volume.litres,
        to: axis.to === null ? null : axis.to / volume.litres,
      }
    : axis;

type Scale = (v: number) => number;

function seriesIn(s: Series, x: Scale, y: Scale): Series {
  switch (s.kind) {
    case "line":
      return { ...s, x: s.x.map(x), y: s.y.map(y) };
    case "points":
      return {
        ...s,
        x: s.x.map(x),
        y: s.y.map(y),
        ...(s.lower ? { lower: s.lower.map(y) } : {}),
        ...(s.upper ? { upper: s.upper.map(y) } : {}),
      };
    case "band":
      return { ...s, x: s.x.map(x), lower: s.lower.map(y), upper: s.upper.map(y) };
    case "rug":
      return { ...s, x: s.x.map(x) };
  }
}

function markIn(m: Mark, x: Scale, y: Scale): Mark {
  switch (m.kind) {
    case "gap":
      return { ...m, x: x(m.x), from: y(m.from), to: y(m.to) };
    case "gap-x":
      return { ...m, y: y(m.y), from: x(m.from), to: x(m.to) };
    case "vertical":
      return { ...m, x: x(m.x) };
    case "horizontal":
      return { ...m, y: y(m.y) };
    case "region":
      return { ...m, from: x(m.from), to: x(m.to) };
    case "text":
      return { ...m, x: x(m.x), y: y(m.y) };
  }
}
