/** A figure set into a sentence: the number, where it stands in the analysis, and its written form. */
import { fixed, setText } from "../../format";
import { inWords, type Quantity, quantityOf, type Rounding } from "../../quantity";
import type { ReadingUnit } from "../job";

/** Written sign of a reading's unit. */
export const unitSign = (unit: ReadingUnit): string => (unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V");

/** Three significant figures unless told; litres never finer than any tank can be read. */
export const quantity = (path: string | null, value: number, unit: string, digits = 3): Quantity =>
  quantityOf({ path, value, unit, rounding: measured(unit, digits) });

const measured = (unit: string, figures: number): Rounding =>
  unit === "L" ? { by: "figures", figures, mostDecimals: 2 } : { by: "figures", figures };

/** Litres to two figures: errors, deviations and intervals. */
export const litres = (path: string | null, value: number): Quantity => quantity(path, value, "L", 2);

/** The size of a quantity; the words beside it say which way. */
export const sizeOf = (q: Quantity): Quantity => again(q, { sizeOnly: true });

/** As far off as that at most: `± 1.2 L`. */
export const within = (q: Quantity, before = ""): Quantity => again(q, { before: `${before}±\u00a0` });

/** The first of two that share a unit: written with the second one. */
export const withoutUnit = (q: Quantity): Quantity => again(q, { bare: true });

/** What percent are of: stays in litres where the job's unit is percent. */
export const whole = (q: Quantity): Quantity => again(q, { stated: "whole" });

const again = (q: Quantity, more: Omit<Partial<Quantity>, "text" | "rounding">): Quantity =>
  q.rounding ? quantityOf({ ...q, rounding: q.rounding, ...more }) : q;

/** A number that is set, as it is typed. */
export const setting = (path: string | null, value: number, unit: string, digits = 3): Quantity =>
  quantityOf({ path, value, unit, rounding: { by: "set", figures: digits } });

/** Litres that are set or asked for: to a tenth from 1 L on, without noughts behind. */
export const litresSet = (path: string | null, value: number): Quantity =>
  quantityOf({ path, value, unit: "L", rounding: { by: "tenth" } });

/** Readings that are set, side by side: both to the same decimals. */
export function settings(unit: string, pairs: [path: string, value: number][]): Quantity[] {
  const decimals = Math.max(...pairs.map(([, v]) => setText(v, "").split(".")[1]?.length ?? 0));
  return pairs.map(([path, value]) => counted(path, value, decimals, unit));
}

/** Events a minute or an hour: one decimal while they are few; what is rarer than that and not nothing says so. */
export const rate = (path: string | null, value: number): Quantity => inWords(path, value, "", rateText(value));
export const rateText = (value: number): string =>
  value === 0 ? "0" : value < 0.05 ? "less than 0.1" : fixed(value, value < 9.95 ? 1 : 0);

/** Seconds as one says them: minutes from two minutes on, hours from two hours on. `times`: seconds in the unit written. */
export function duration(path: string | null, value_s: number): Quantity {
  const [unit, times] =
    value_s > 7200 ? (["h", 3600] as const) : value_s > 120 ? (["min", 60] as const) : (["s", 1] as const);
  return quantityOf({ path, value: value_s, unit, times, rounding: { by: "figures", figures: 2 } });
}

export const quantityWith = (path: string | null, value: number, halfWidth: number, unit: string): Quantity =>
  halfWidth > 0
    ? quantityOf({ path, value, halfWidth, unit, rounding: { by: "half-width" } })
    : quantity(path, value, unit);

/** A number with so many decimals: rates and counts. */
export const counted = (path: string | null, value: number, decimals: number, unit = ""): Quantity =>
  quantityOf({ path, value, unit, rounding: { by: "decimals", decimals } });

/** Two volumes side by side: to the same decimals in every unit. */
export function litresPair(
  decimals: number,
  first: [path: string | null, value: number],
  second: [path: string | null, value: number],
): [Quantity, Quantity] {
  const beside = Math.max(Math.abs(first[1]), Math.abs(second[1]));
  const one = ([path, value]: [string | null, number]) =>
    quantityOf({ path, value, unit: "L", rounding: { by: "decimals", decimals, beside } });
  return [one(first), one(second)];
}

/** A share in percent. */
export const percent = (path: string | null, share: number, decimals = 1): Quantity =>
  inWords(path, share, "", percentText(share, decimals));

/** What is not certain is not called 100 %, nor what is possible 0 %. */
const percentText = (share: number, decimals: number): string => {
  const step = 10 ** -decimals;
  if (share < 1 && 100 * share > 100 - step / 2) return `more than ${fixed(100 - step, decimals)}\u00a0%`;
  if (share > 0 && 100 * share < step / 2) return `less than ${fixed(step, decimals)}\u00a0%`;
  return `${fixed(100 * share, decimals)}\u00a0%`;
};

/**
 * A share counted from thousands of draws: none of them, or all, is no certainty. Of 3,000 draws or more it is then under a tenth of a percent, or
 * over all but one (95 %, rule of three).
 */
export const drawn = (path: string | null, share: number, decimals: number): Quantity =>
  share === 0 || share === 1
    ? inWords(path, share, "", share === 0 ? "less than 0.1\u00a0%" : "more than 99.9\u00a0%")
    : percent(path, share, decimals);

/** How sure an interval is, as it was asked for: 99.5 % is never written as 100 %. */
export const coverageText = (share: number): string => `${Number((100 * share).toFixed(2))}\u00a0%`;
export const coverage = (path: string | null, share: number): Quantity => inWords(path, share, "", coverageText(share));
