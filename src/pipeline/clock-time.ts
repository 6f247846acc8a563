/** Clock times and dates as loggers write them. */

export interface ClockTime {
  /** Seconds of the day (or of the hour, for `m:ss.f`). */
  seconds: number;
  /** Digits behind the seconds. */
  decimals: number;
  /** The date as written, or null. */
  date: string | null;
}

const pattern =
  /^(?:(\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4})[T\s,]\s*)?(\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([ap]m)?\s*(?:Z|[+-]\d{2}:?\d{2})?$/i;
const minutesPattern = /^(\d{1,3}):(\d{2}[.,]\d+)$/;

/** A time of day with or without a date before it, `h:mm`, `h:mm:ss` or `h:mm:ss.f`; `m:ss.f` too. @returns null for anything else. */
export function clockOf(cell: string): ClockTime | null {
  if (!cell.includes(":")) return null;
  const text = cell.trim();
  const short = minutesPattern.exec(text);
  if (short)
    return {
      seconds: Number(short[1]) * 60 + Number(short[2]!.replace(",", ".")),
      decimals: short[2]!.length - 3,
      date: null,
    };
  const found = pattern.exec(text);
  if (!found) return null;
  let hours = Number(found[2]);
  const half = found[5]?.toLowerCase();
  if (half && hours >= 1 && hours <= 12) hours = (hours % 12) + (half === "pm" ? 12 : 0);
  const seconds = hours * 3600 + Number(found[3]) * 60 + Number((found[4] ?? "0").replace(",", "."));
  return { seconds, decimals: Math.max(0, (found[4]?.length ?? 0) - 3), date: found[1] ?? null };
}

/**
 * Days from the first of these dates to each. Year first, or day first with points; with strokes the order (day or month first) that
 * makes the dates lie closest together, day first on a tie.
 */
export function daysBetween(dates: string[]): number[] {
  const dayOf = (date: string, monthFirst: boolean): number => {
    const [a, b, c] = date.split(/[-/.]/).map(Number) as [number, number, number];
    if (a > 31) return Date.UTC(a, b - 1, c) / 86_400_000;
    const year = c < 100 ? 2000 + c : c;
    const [day, month] = monthFirst ? [b, a] : [a, b];
    return month > 12 ? Number.NaN : Date.UTC(year, month - 1, day) / 86_400_000;
  };
  const spanOf = (days: number[]) => Math.max(...days) - Math.min(...days);
  const dayFirst = dates.map((d) => dayOf(d, false));
  const monthFirst = dates.map((d) => dayOf(d, true));
  const points = dates.every((d) => d.includes("."));
  const days =
    points || !(spanOf(monthFirst) < spanOf(dayFirst) || dayFirst.some(Number.isNaN)) ? dayFirst : monthFirst;
  return days.map((d) => d - days[0]!);
}

/** A clock without a date starts again at midnight: half a day backwards is a new day, less is a fault of the clock. */
export function acrossMidnight(values: Float64Array): void {
  let days = 0;
  let last = Number.NaN;
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    if (Number.isNaN(v)) continue;
    if (v < last - 43_200) days++;
    last = v;
    values[i] = v + 86_400 * days;
  }
}
