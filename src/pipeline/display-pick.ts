/** Display, picked: of all pairs that were weighed, which holds the display as still as wanted at the least error? */

import type { Order } from "./device-model";
import { firstCalm } from "./display-ends";
import type { Weighed } from "./display-weigh";

/**
 * Turns back while the level passes from one digit to the next, as a share of the flickers an hour wanted at an end: an hour near an end
 * holds a pass or two. And how much more error that calm may cost. Named defaults, no source.
 */
const calmPass = 0.5;
const calmCost = 1.4;
/** Share of the wanted flickers an hour that motion carried to an end may make: room for the count's own spread. Named default, no source. */
const carriedCalm = 0.5;

/**
 * Widest deadband, as a share of a displayed step, where the volume is smoothed: it stands inside an end by what the end row cuts off, and only
 * what the deadband leaves of half a step is there to hold it. Named default, no source.
 */
const widestBehind = 0.25;

export interface Wanted {
  displayReversalsPerMinute: number;
  endFlickersPerHour: number;
  maxLag_s: number | null;
}

export interface Picked {
  recommended: Weighed;
  /** Whether the wanted steadiness and the lag limit are both met; where not, the nearest to either. */
  met: boolean;
  steady: Weighed | null;
  quick: Weighed | null;
}

/**
 * @param grid every pair. @param seen those that the logs can speak for, not empty.
 * @param carriedToEnds flickers an hour at the worse end, of the motion carried there; null where the ends are not known.
 */
export function pickPair(
  grid: Weighed[],
  seen: Weighed[],
  wanted: Wanted,
  step_L: number,
  carriedToEnds: ((pair: Weighed) => number) | null,
  order: Order = "reading-then-table",
): Picked {
  // A pair may be asked for twice, and carrying it costs a few passes over the log.
  const flickersAtEnds = carriedToEnds && once(carriedToEnds);
  const isQuick = (g: Weighed) => wanted.maxLag_s === null || g.timeConstant_s <= wanted.maxLag_s;
  const isSteady = (g: Weighed) => g.upper <= wanted.displayReversalsPerMinute;
  // A deadband over half a displayed step would keep the display from ever showing its ends: only where nothing else is steady.
  const narrow = seen.filter((g) => g.deadband_L < 0.499 * step_L);
  const steady = (narrow.some((g) => isSteady(g) && isQuick(g)) ? narrow : seen).filter(isSteady);
  const quick = seen.filter(isQuick);
  const both = steady.filter(isQuick);
  const met = both.length > 0;
  const quickestSteady =
    steady.length > 0 ? steady.reduce((a, b) => (b.timeConstant_s < a.timeConstant_s ? b : a)) : null;
  const recommended = met
    ? (leastBehind() ?? leastError(both, wanted, flickersAtEnds))
    : (quickestSteady ?? steadiest(quick.length > 0 ? quick : grid));
  return { recommended, met, steady: quickestSteady, quick: quick.length > 0 ? steadiest(quick) : null };

  /** Behind a table: with a deadband that leaves room to come to the ends, unless they would flicker for it. */
  function leastBehind(): Weighed | null {
    const narrowest = order === "table-then-filter" ? both.filter((g) => g.deadband_L <= widestBehind * step_L) : [];
    const least = narrowest.length > 0 ? leastError(narrowest, wanted, flickersAtEnds) : null;
    return least && flickersAtEnds && flickersAtEnds(least) > wanted.endFlickersPerHour ? null : least;
  }
}

/** Least error expected, among those that are calm where the level passes an end. */
function leastError(list: Weighed[], wanted: Wanted, flickersAtEnds: ((pair: Weighed) => number) | null): Weighed {
  const least = Math.min(...list.map((g) => g.expected_L));
  const affordable = list.filter((g) => g.expected_L <= calmCost * least);
  // Where none is calm enough, those nearest to it.
  const calm = Math.max(
    calmPass * wanted.endFlickersPerHour,
    1.25 * Math.min(...affordable.map((g) => g.perPass)) + 0.02,
  );
  const byError = affordable.filter((g) => g.perPass <= calm).sort((a, b) => a.expected_L - b.expected_L);
  return flickersAtEnds && wanted.endFlickersPerHour > 0
    ? firstCalm(byError, flickersAtEnds, carriedCalm * wanted.endFlickersPerHour)
    : byError[0]!;
}

const steadiest = (list: Weighed[]): Weighed =>
  list.reduce((a, b) => (b.upper < a.upper || (b.upper === a.upper && b.rmsError_L < a.rmsError_L) ? b : a));

function once(of: (pair: Weighed) => number): (pair: Weighed) => number {
  const known = new Map<Weighed, number>();
  return (pair) => {
    const value = known.get(pair) ?? of(pair);
    known.set(pair, value);
    return value;
  };
}
