/** Slopes of the reading along the volume, and how much a tank may bend. */
import type { Pace } from "../math/smoothing";

/** Size of a kink where the slope is the mean one: a change of slope, in mean slopes. Named default, no source. */
const kinkSpread = 1;

/**
 * Size of a kink at a place of this slope. A surface that changes at once by so many percent changes a steep slope by more (as in `paceAt`); a
 * slope that seems flat is held for the mean one, since the bend itself may have made it so.
 */
export const kinkSpreadAt = (slope: number): number => kinkSpread * Math.max(1, Math.min(4, slope));

/**
 * How fast the slope wanders between two points. A tank's surface changes by so many percent for each centimetre of height, alike
 * at every height; the slope of the height along the volume is one over the surface, so that its variance grows as the cube of the
 * slope (d log A = r dW over dh = s dv gives ds = s · r · √s dW; derived here). On tuning seeds 1–200 the readings of the jobs
 * as they truly were are exp(1.7) times likelier for it on average.
 */
export const paceAt = (slope: number, next: number): number => {
  const s = Math.max(0.3, Math.min(4, Math.sqrt(slope * next)));
  return s * s * s;
};

/** Chords from point to point are taken up to so many; of more points each spans so many that about so many chords fill the run. */
const chords = 60;

/** Points that a chord spans: 1 under 120 points. Where it is more, two neighbours are too close for their difference to say anything. */
export const chordSpan = (points: number): number => Math.max(1, Math.floor(points / chords));

/**
 * Slope near each point: the middle one of four slopes around it, so that one step off does not make it; never level. In a run of 120
 * points and more each of the four spans several of them: between close neighbours the reading's noise is all that is seen.
 */
export function slopesOf(x: number[], y: number[]): number[] {
  const n = x.length;
  const span = chordSpan(n);
  // Beside a fill run a drain falls; where several runs stand in a row, no chord spans two of them.
  const way = x[n - 1]! >= x[0]! ? 1 : -1;
  const around = new Float64Array(4);
  return x.map((_, i) => {
    let size = 0;
    for (let k = i - 2 * span; k < i + 2 * span; k += span) {
      if (k < 0 || k + span >= n) continue;
      const dx = x[k + span]! - x[k]!;
      if (!(way * dx > 0)) continue;
      // Put into its place among those before it, which rise.
      const slope = (y[k + span]! - y[k]!) / dx;
      let at = size++;
      for (; at > 0 && around[at - 1]! > slope; at--) around[at] = around[at - 1]!;
      around[at] = slope;
    }
    if (size === 0) return 0.05;
    const upper = around[size >> 1]!;
    const middle = size % 2 === 1 ? upper : (around[size / 2 - 1]! + upper) / 2;
    return Math.max(0.05, middle || 0);
  });
}

/** The pace between each two neighbours in place, for points in any order. */
export function paceAlong(x: number[], slopes: number[]): Pace {
  const order = x.map((_, i) => i).sort((a, b) => x[a]! - x[b]!);
  return {
    to: order.slice(1).map((i) => x[i]!),
    value: order.slice(1).map((i, k) => paceAt(slopes[order[k]!]!, slopes[i]!)),
  };
}

/** Slope at a place: along the line between those of its neighbours, points in any order. */
export function slopeAt(x: number[], slopes: number[], at: number): number {
  let [below, above] = [-1, -1];
  for (let i = 0; i < x.length; i++) {
    if (x[i]! <= at && (below < 0 || x[i]! > x[below]!)) below = i;
    if (x[i]! >= at && (above < 0 || x[i]! < x[above]!)) above = i;
  }
  if (below < 0 || above < 0) return slopes[Math.max(below, above)] ?? 1;
  const share = x[above]! > x[below]! ? (at - x[below]!) / (x[above]! - x[below]!) : 0;
  return slopes[below]! + share * (slopes[above]! - slopes[below]!);
}
