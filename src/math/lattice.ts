/** Equal levels hidden in noisy values: how far apart do the contacts of a ladder lie? */

/**
 * Distance between equally spaced levels on [0, 1] (both ends are levels), found by likelihood; null if the values look no
 * more like levels than like a smooth sweep. Each value lies on a level with normal noise, or (1 in 10) anywhere.
 * @param values places on [0, 1]; @param noise their standard deviation, at least.
 */
export function levelSpacing(values: number[], noise: number): number | null {
  if (values.length < 4) return null;
  let best = { logLikelihood: 2, spacing: null as number | null };
  for (let levels = 4; levels <= 40; levels++)
    for (const wider of [1, 2, 4]) {
      const sd = Math.max(noise, 1e-4) * wider;
      if (sd * levels > 0.2) continue;
      let logLikelihood = -Math.log(wider);
      for (const v of values) {
        const off = v - Math.round(v * levels) / levels;
        const density = Math.exp(-0.5 * (off / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI));
        logLikelihood += Math.log((0.9 * density) / (levels + 1) + 0.1);
      }
      if (logLikelihood > best.logLikelihood) best = { logLikelihood, spacing: 1 / levels };
    }
  return best.spacing;
}
