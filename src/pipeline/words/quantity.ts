/** A figure set into a sentence: the number, where it stands in the analysis, and its written form. */
import { decimalsFor, fixed, plusMinus, setText, withUnit } from "../../format";
import type { ReadingUnit } from "../job";
import type { Quantity } from "./finding";

/** Written sign of a reading's unit. */
export const unitSign = (unit: ReadingUnit): string => (unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V");

/** Three significant figures unless told; litres never finer than any tank can be read. */
export const quantity = (path: string | null, value: number, unit: string, digits = 3): Quantity => ({
  path,
  value,
  unit,
  text: unit === "L" ? litresText(value, digits) : withUnit(value, unit, digits),
});

/** Litres to so many figures, two decimals at most; what is smaller and not nothing says so. */
export const litresText = (value: number, digits = 2): string =>
  value !== 0 && Math.abs(value) < 0.005
    ? "less than 0.01\u00a0L"
    : `${fixed(value, Math.min(2, decimalsFor(value, digits)))}\u00a0L`;

/** Litres to two figures: errors, deviations and intervals. */
export const litres = (path: string | null, value: number): Quantity => quantity(path, value, "L", 2);

/** A number that is set, as it is typed. */
export const setting = (path: string | null, value: number, unit: string, digits = 3): Quantity => ({
  path,
  value,
  unit,
  text: setText(value, unit, digits),
  isSet: true,
});

/** Litres that are set or asked for: to a tenth from 1 L on, without noughts behind. No gauge holds a hundredth of a litre. */
export const litresSetText = (value: number): string =>
  Math.abs(value) < 1 ? setText(value, "L", 2) : `${fixed(value, 1).replace(/\.0$/, "")}\u00a0L`;
export const litresSet = (path: string | null, value: number): Quantity => ({
  path,
  value,
  unit: "L",
  text: litresSetText(value),
  isSet: true,
});

/** Readings that are set, side by side: both to the same decimals. */
export function settings(unit: string, pairs: [path: string, value: number][]): Quantity[] {
  const decimals = Math.max(...pairs.map(([, v]) => setText(v, "").split(".")[1]?.length ?? 0));
  return pairs.map(([path, value]) => counted(path, value, decimals, unit));
}

/** Events a minute or an hour: one decimal while they are few; what is rarer than that and not nothing says so. */
export const rate = (path: string | null, value: number): Quantity => ({
  path,
  value,
  unit: "",
  text: rateText(value),
});
export const rateText = (value: number): string =>
  value === 0 ? "0" : value < 0.05 ? "less than 0.1" : fixed(value, value < 9.95 ? 1 : 0);

/** Seconds as one says them: minutes from two minutes on, hours from two hours on. `times`: seconds in the unit written. */
export function duration(path: string | null, value_s: number): Quantity {
  const [unit, times] =
    value_s > 7200 ? (["h", 3600] as const) : value_s > 120 ? (["min", 60] as const) : (["s", 1] as const);
  return { path, value: value_s, unit, times, text: withUnit(value_s / times, unit, 2) };
}

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

/** Litres without their unit: the first of two that share one. */
export const bareLitres = (path: string | null, value: number, decimals: number): Quantity => ({
  ...counted(path, value, decimals),
  unit: "L",
});

/** The first of two that share a unit: written with the second one. */
export const withoutUnit = (q: Quantity): Quantity => ({ ...q, text: q.text.replace(/\u00a0\S+$/, "") });

/** A share in percent. */
export const percent = (path: string | null, share: number, decimals = 1): Quantity => ({
  ...counted(path, share, 3),
  text: percentText(share, decimals),
});

/** What is not certain is not called 100 %, nor what is possible 0 %. */
const percentText = (share: number, decimals: number): string => {
  const step = 10 ** -decimals;
  if (share < 1 && 100 * share > 100 - step / 2) return `more than ${fixed(100 - step, decimals)}\u00a0%`;
  if (share > 0 && 100 * share < step / 2) return `less than ${fixed(step, decimals)}\u00a0%`;
  return `${fixed(100 * share, decimals)}\u00a0%`;
};

/** How sure an interval is, as it was asked for: 99.5 % is never written as 100 %. */
export const coverageText = (share: number): string => `${Number((100 * share).toFixed(2))}\u00a0%`;
export const coverage = (path: string | null, share: number): Quantity => ({
  path,
  value: share,
  unit: "",
  text: coverageText(share),
});
