/** One rounding rule everywhere: an uncertainty to two significant digits, the value to the same place (JCGM 100:2008, 7.2.6). */

const nbsp = "\u00a0";
const minus = "\u2212";

/** Decimals that show `digits` significant figures of `x`; at least 0. */
export function decimalsFor(x: number, digits: number): number {
  if (!(Math.abs(x) > 0) || !Number.isFinite(x)) return 0;
  const place = Math.floor(Math.log10(Math.abs(x)));
  // 0.0996 shown to two digits is 0.100: the rounding itself may move the place.
  const rounded = Number(Math.abs(x).toPrecision(digits));
  const moved = Math.floor(Math.log10(rounded) + 1e-12);
  return Math.max(0, digits - 1 - Math.max(place, moved));
}

/** Most decimals that a number is printed with. */
const mostDecimals = 100;

/** A number with a fixed count of decimals, a true minus sign, and never a minus before a zero. */
export function fixed(x: number, decimals: number): string {
  if (!Number.isFinite(x)) return x > 0 ? "∞" : x < 0 ? `${minus}∞` : "—";
  // What is smaller than any digit that can be printed is nought.
  const text = Math.abs(x).toFixed(Math.min(mostDecimals, decimals));
  return x < 0 && Number(text) !== 0 ? minus + text : text;
}

/** Decimals for a value known to ± halfWidth. */
export const decimalsOf = (halfWidth: number): number => decimalsFor(halfWidth, 2);

/** `7.9 ± 1.3 L`, no-break spaces round the sign and before the unit. */
export function plusMinus(value: number, halfWidth: number, unit: string): string {
  const d = decimalsOf(halfWidth);
  return `${fixed(value, d)}${nbsp}±${nbsp}${fixed(halfWidth, d)}${unit ? nbsp + unit : ""}`;
}

/** `± 1.2 L`. */
export function halfWidthText(halfWidth: number, unit: string): string {
  return `±${nbsp}${fixed(halfWidth, decimalsOf(halfWidth))}${unit ? nbsp + unit : ""}`;
}

/** A value with its unit to `digits` significant figures (three unless told). */
export function withUnit(value: number, unit: string, digits = 3): string {
  return `${fixed(value, decimalsFor(value, digits))}${unit ? nbsp + unit : ""}`;
}

/** A number that is set, not measured: without the noughts that would promise digits behind it. `5.5 s`, `17 s`. */
export function setText(value: number, unit: string, digits = 3): string {
  const [number, ...sign] = withUnit(value, unit, digits).split(nbsp);
  return [number!.includes(".") ? number!.replace(/\.?0+$/, "") : number, ...sign].join(nbsp);
}

/** Decimals that a device step needs: 0.05 → 2, 1 → 0, 0.25 → 2. */
export function decimalsOfStep(step: number): number {
  for (let d = 0; d < 9; d++) if (Math.abs(step * 10 ** d - Math.round(step * 10 ** d)) < 1e-9 * 10 ** d) return d;
  return 9;
}

const units =
  "%|L|V|mV|s|min|h|Hz|mm|km|mi|kg|Ω|US gal|imp gal|US\u00a0gal|imp\u00a0gal|years?|counts|pours?|rows|steps";
const amount = new RegExp(`(\\d) (?=(?:${units})(?![\\p{L}\\d]))`, "gu");

/** Words as they stand on a sheet: a number keeps its unit, and ± its number, over the end of a line. */
export const tied = (text: string): string => text.replace(amount, `$1${nbsp}`).replace(/± (?=\d)/g, `±${nbsp}`);

/** With a large letter in front: a clause that begins a sentence. */
export const capital = (clause: string): string => clause.charAt(0).toUpperCase() + clause.slice(1);
