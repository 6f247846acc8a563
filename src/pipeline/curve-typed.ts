/** A shape with knots that somebody typed: they stay where they are; more may be looked for beside them, and pieces held flat. */
import { whitener } from "../math/breakpoints";
import { fitLocked } from "../math/locked-knots";
import type { Choices } from "./choices";
import { type Points, rate } from "./curve-candidates";
import type { CandidateFit } from "./curve-types";

/** Half-width of a 95 % interval in standard errors. */
const z = 1.96;

/** Whether anything was typed that asks for pieces of one's own. */
export const asksForPieces = ({ knots, free, flat }: Choices["curve"]): boolean =>
  knots !== null || (free ?? 0) > 0 || (flat?.length ?? 0) > 0;

/**
 * Knots beyond the readings are left out; flat pieces are counted from 1 at the lowest reading, between the typed knots.
 * @returns null if the points cannot carry the pieces.
 */
export function fitTyped(
  points: Points,
  choice: Pick<Choices["curve"], "knots" | "free" | "flat">,
): CandidateFit | null {
  const { reading, volume_L } = points;
  const low = Math.min(...reading);
  const high = Math.max(...reading);
  const locked = [...new Set(choice.knots ?? [])].filter((k) => k > low && k < high).sort((a, b) => a - b);
  const n = reading.length;
  const free = choice.free ?? 0;
  const flat = [...new Set(choice.flat ?? [])].map((p) => p - 1);
  if (n < locked.length + 2 || flat.some((p) => p < 0 || p > locked.length)) return null;
  const l = whitener(points.covariance, n);
  const fit = fitLocked(reading, volume_L, l, { locked, free, flat });
  if (!fit) return null;
  const found = fit.knots.map(({ at, locked: stays, lower, upper }) => ({
    reading: at,
    standardError: stays ? 0 : (upper - lower) / (2 * z),
    lower,
    upper,
  }));
  const looked = found.filter((_, i) => !fit.knots[i]!.locked);
  const rated = rate(
    "piecewise",
    nameOf(locked.length, free, flat.length),
    points,
    l,
    { sse: fit.sse, fitted: fit.fitted, leverage: null },
    Object.fromEntries([
      ["start_L", fit.start],
      ...fit.slopes.map((slope, i) => [`slope${i + 1}_L`, slope] as [string, number]),
    ]),
    1 + fit.slopes.filter((slope) => slope !== 0).length,
    looked,
    fit.value,
  );
  // The knots themselves are among the points, so that no corner is cut when the candidate is drawn or used.
  const drawn = [...rated.points.map((p) => p.reading), ...found.map((k) => k.reading)].sort((a, b) => a - b);
  return { ...rated, breakpoints: found, points: drawn.map((r) => ({ reading: r, volume_L: fit.value(r) })) };
}

function nameOf(locked: number, free: number, flat: number): string {
  const knots = locked > 0 ? "straight pieces between typed kinks" : "straight pieces";
  const more = free > 0 ? `, ${free === 1 ? "one more kink" : `${free} more kinks`} where they fit best` : "";
  return `${knots}${more}${flat > 0 ? `, ${flat === 1 ? "one piece" : `${flat} pieces`} held flat` : ""}`;
}
