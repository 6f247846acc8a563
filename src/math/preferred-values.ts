/** Preferred values of resistors: series E24 and E96 (IEC 60063:2015). */

/** E24 is historical: eight of its values are not the rounded powers. */
export const E24 = [
  1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2,
  9.1,
];
/** E96 is 10^(k/96) rounded to three digits for every k. */
export const E96 = Array.from({ length: 96 }, (_, k) => Math.round(100 * 10 ** (k / 96)) / 100);

export type Series = "E24" | "E96";

/** All values of the series from `low` to `high`, both positive, rising. */
export function preferredBetween(low: number, high: number, series: Series): number[] {
  if (!(low > 0 && high >= low)) throw new Error(`preferredBetween: needs 0 < low <= high, got ${low} and ${high}`);
  const values: number[] = [];
  for (let decade = Math.floor(Math.log10(low)); 10 ** decade <= high; decade++)
    for (const v of series === "E24" ? E24 : E96) {
      const value = Number((v * 10 ** decade).toPrecision(3));
      if (value >= low * (1 - 1e-12) && value <= high * (1 + 1e-12)) values.push(value);
    }
  return values;
}

/** The value of the series nearest to `x` by ratio. */
export function nearestPreferred(x: number, series: Series): number {
  return preferredBetween(x / 1.2, x * 1.2, series).reduce((best, v) =>
    Math.abs(Math.log(v / x)) < Math.abs(Math.log(best / x)) ? v : best,
  );
}
