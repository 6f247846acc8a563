/** A figure set into a sentence: the number, where it stands in the analysis, and its written form. */
import { fixed, plusMinus, withUnit } from "../../format";
import type { ReadingUnit } from "../job";
import type { Quantity } from "./finding";

/** Written sign of a reading's unit. */
export const unitSign = (unit: ReadingUnit): string => (unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V");

/** Three significant figures unless told. */
export const quantity = (path: string | null, value: number, unit: string, digits = 3): Quantity => ({
  path,
  value,
  unit,
  text: withUnit(value, unit, digits),
});

/** Litres to two figures: errors, deviations and intervals. */
export const litres = (path: string | null, value: number): Quantity => quantity(path, value, "L", 2);

export const quantityWith = (path: string | null, value: number, halfWidth: number, unit: string): Quantity =>
  halfWidth > 0
    ? { path, value, halfWidth, unit, text: plusMinus(value, halfWidth, unit) }
    : quantity(path, value, unit);

/** A number with so many decimals: rates and counts. */
export const counted = (path: string | null, value: number, decimals: number, unit = ""): Quantity => ({
  path,
  value,
  unit,
  text: `${fixed(value, decimals)}${unit ? `\u00a0${unit}` : ""}`,
});
