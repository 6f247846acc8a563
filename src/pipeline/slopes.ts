/** Slopes of the reading along the volume, and how much a tank may bend. */

/** Size of a kink: a change of slope, in mean slopes. Named default, no source. */
export const kinkSpread = 1;

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
