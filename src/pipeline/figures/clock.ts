/** Clock: seconds on an axis, written as minutes where there are more than two of them. */

/** @param time_s rising, in seconds. @returns the axis's unit, and what turns seconds into it. */
export function clockOf(time_s: number[]): { unit: "s" | "min"; of: (seconds: number) => number } {
  const long = (time_s.at(-1) ?? 0) - (time_s[0] ?? 0) > 120;
  return long ? { unit: "min", of: (seconds) => seconds / 60 } : { unit: "s", of: (seconds) => seconds };
}
