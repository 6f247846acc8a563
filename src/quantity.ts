/**
 * Quantity: a figure that is read, as plain data: its value, its unit and how it is rounded. Its text is made from these, here alone, so
 * that the same figure can be written in another unit. Stages reckon in litres, and so does the published analysis.
 */
import { decimalsFor, decimalsOfStep, fixed, plusMinus } from "./format";

const nbsp = "\u00a0";

/** How a number is rounded; said of the number in the quantity's own unit, for volumes in litres. */
export type Rounding =
  /** Measured: so many significant figures, and no more decimals than told; what is smaller than those and not nothing says so. */
  | { by: "figures"; figures: number; mostDecimals?: number }
  /** `set`: typed into a device. `beside`: the larger of two that stand side by side, so that both have the same decimals in every unit. */
  | { by: "decimals"; decimals: number; set?: true; beside?: number }
  /** To its half-width's two figures, which stands behind it. */
  | { by: "half-width" }
  /** Set or asked for, not measured: no noughts behind. */
  | { by: "set"; figures: number }
  /** Litres that are set: to a tenth from 1 L on, two figures under it. No gauge holds a hundredth of a litre. */
  | { by: "tenth" }
  /** As it was stated, to its last digit. */
  | { by: "stated" };

export interface Quantity {
  /** Where the very number stands in the published analysis (e.g. `display.timeConstant_s`). */
  path: string | null;
  value: number;
  /** Half-width of its interval, in the unit of the text. */
  halfWidth?: number;
  /** Of the text. */
  unit: string;
  /** Null where the text is no plain number and is the same in every unit: `1.5 h`, `more than 99 %`. */
  rounding: Rounding | null;
  /** Written form, e.g. `7.9 ± 1.3 L`; no-break spaces inside. Made by `quantityOf`. */
  text: string;
  /** Written in front of the number and behind its unit. */
  before?: string;
  after?: string;
  /** Without its unit: the next figure has it. */
  bare?: true;
  /** The text gives the size alone: the words beside it say which way (“2.7 L low”). */
  sizeOnly?: true;
  /** The text is in a larger unit, of which one holds so many of the value's: seconds written as minutes, litres as gallons. */
  times?: number;
  /** The very digits that are typed, in the device's own unit. */
  asTyped?: true;
  /** What the job states in litres where its unit is no gallon; `whole`: what the percent are of. */
  stated?: "field" | "whole";
  /** Published with plain spaces in it. */
  plainSpaces?: true;
}

type Spec = Omit<Quantity, "text" | "rounding"> & { rounding: Rounding };

/** @returns the quantity with its text in its own unit. */
export const quantityOf = (spec: Spec): Quantity => ({ ...spec, text: written(spec) });

/** A quantity whose words are its own, in every unit the same. */
export const inWords = (path: string | null, value: number, unit: string, text: string, times?: number): Quantity => ({
  path,
  value,
  unit,
  rounding: null,
  ...(times === undefined ? {} : { times }),
  text,
});

/** The unit that volumes are written in. */
export interface VolumeWords {
  /** Written sign of the unit. */
  sign: string;
  /** Litres in one of it. */
  litres: number;
  /** Numbers that are set carry their litres in brackets: the device takes litres, the job does not. */
  litresInBrackets: boolean;
}

export const inLitres: VolumeWords = { sign: "L", litres: 1, litresInBrackets: false };
export const volumeUnitSigns = {
  L: "L",
  USgal: `US${nbsp}gal`,
  impgal: `imp${nbsp}gal`,
  kg: "kg",
  percent: "% of the tank",
} as const;

const isGallon = (volume: VolumeWords) =>
  volume.sign === volumeUnitSigns.USgal || volume.sign === volumeUnitSigns.impgal;
const isPercent = (volume: VolumeWords) => volume.sign === volumeUnitSigns.percent;

/** The unit that volumes are stated in: gallons. Kilograms and percent stand on the density and the capacity that are stated: those are in litres. */
export const statedIn = (volume: VolumeWords): VolumeWords => (isGallon(volume) ? volume : inLitres);

/** A quantity in litres, or litres an hour or a second, in another unit: from its value, to as many figures as it has in litres. All others as they are. */
export function quantityInUnit(q: Quantity, volume: VolumeWords): Quantity {
  const per = perTime[q.unit];
  if (volume.litres === 1 || per === undefined || q.rounding === null || q.asTyped) return q;
  if (q.stated === "field" && !isGallon(volume)) return q;
  if (q.stated === "whole" && isPercent(volume)) return q;
  const inUnit: Spec = {
    ...q,
    rounding: q.rounding,
    unit: volume.sign + (isPercent(volume) ? per.inWords : per.sign),
    times: volume.litres,
    ...(q.halfWidth === undefined ? {} : { halfWidth: q.halfWidth / volume.litres }),
  };
  const brackets = volume.litresInBrackets && isSet(q.rounding) && !q.bare;
  return {
    ...inUnit,
    text: written(inUnit, figuresOf(q, q.rounding), brackets ? ` (${number(q, q.rounding)}${nbsp}${q.unit})` : ""),
  };
}

const perTime: Record<string, { sign: string; inWords: string } | undefined> = {
  L: { sign: "", inWords: "" },
  "L/h": { sign: "/h", inWords: " an hour" },
  "L a second": { sign: " a second", inWords: " a second" },
};

const isSet = (rounding: Rounding) =>
  rounding.by === "set" || rounding.by === "tenth" || (rounding.by === "decimals" && rounding.set === true);

/** @param figures as many as the number has in litres, where it is written in another unit. */
function written(q: Spec, figures?: number, beside = ""): string {
  const digits = figures === undefined ? number(q, q.rounding) : numberInUnit(q, q.rounding, figures);
  return `${q.before ?? ""}${digits}${q.unit && !q.bare ? nbsp + q.unit : ""}${beside}${q.after ?? ""}`;
}

const amountIn = (q: Pick<Quantity, "value" | "sizeOnly" | "times">): number =>
  (q.sizeOnly ? Math.abs(q.value) : q.value) / (q.times ?? 1);

/** In the unit that its rounding is said of. */
function number(q: Omit<Spec, "rounding">, rounding: Rounding): string {
  const value = amountIn(q);
  switch (rounding.by) {
    case "half-width":
      return plusMinus(value, q.halfWidth!, "");
    case "figures":
      return measured(value, rounding.figures, rounding.mostDecimals);
    case "stated":
      return String(value);
    default:
      return fixed(value, decimalsIn(value, rounding));
  }
}

/** In another unit than that. */
function numberInUnit(q: Omit<Spec, "rounding">, rounding: Rounding, figures: number): string {
  const value = amountIn(q);
  if (rounding.by === "half-width") return plusMinus(value, q.halfWidth!, "");
  if (rounding.by === "stated") return String(asStated(value));
  if (isSet(rounding)) return fixed(value, needed(value, decimalsFor(value, isRound(value) ? 3 : figures)));
  if (rounding.by === "decimals" && rounding.beside !== undefined && value !== 0)
    return fixed(value, Math.min(2, decimalsFor(rounding.beside / (q.times ?? 1), figures)));
  return measured(value, figures, 2);
}

function measured(value: number, figures: number, mostDecimals?: number): string {
  if (mostDecimals === undefined) return fixed(value, decimalsFor(value, figures));
  const least = 10 ** -mostDecimals;
  return value !== 0 && Math.abs(value) < least / 2
    ? `less than ${fixed(least, mostDecimals)}`
    : fixed(value, Math.min(mostDecimals, decimalsFor(value, figures)));
}

/** Decimals that a number is written with. */
function decimalsIn(value: number, rounding: Rounding): number {
  switch (rounding.by) {
    case "decimals":
      return rounding.decimals;
    case "figures":
      return Math.min(rounding.mostDecimals ?? Number.POSITIVE_INFINITY, decimalsFor(value, rounding.figures));
    case "set":
      return needed(value, decimalsFor(value, rounding.figures));
    case "tenth":
      return Math.abs(value) < 1 ? needed(value, decimalsFor(value, 2)) : needed(value, 1);
    case "half-width":
    case "stated":
      return decimalsOfStep(value);
  }
}

/** Of so many decimals, those that are no noughts at the end. */
function needed(value: number, decimals: number): number {
  let d = Math.min(100, decimals);
  while (d > 0 && Number(value.toFixed(d)) === Number(value.toFixed(d - 1))) d--;
  return d;
}

/** Significant figures that it shows in litres; two at least, or 6 L would be 2 US gal. */
function figuresOf(q: Quantity, rounding: Rounding): number {
  const value = (rounding.by === "decimals" && rounding.beside) || Math.abs(amountIn(q));
  const decimals = decimalsIn(value, rounding);
  const shown = Number(value.toFixed(Math.min(100, decimals)));
  return shown > 0 ? Math.max(2, decimals + Math.floor(Math.log10(shown)) + 1) : 2;
}

/** So stated in the unit itself: what is left after three figures is but the arithmetic. */
const isRound = (value: number): boolean => Math.abs(value - Number(value.toPrecision(3))) <= 1e-6 * Math.abs(value);

/** What is stated in a unit, from what is kept in litres: as it was typed, else to four figures. */
export const asStated = (value: number): number => {
  // Four decimals hold what is typed; more are left over from litres.
  const whole = Number(value.toFixed(4));
  return Math.abs(value - whole) <= 1e-9 * Math.abs(value) ? whole : Number(value.toPrecision(4));
};
