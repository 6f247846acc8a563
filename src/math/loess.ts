/** Locally weighted straight lines (LOESS): a curve without a model, for the eye and as a witness beside a fitted one. */
import { leastSquares } from "./least-squares";

/** Tricube weight of a distance as a share of the window's reach. */
export const tricube = (share: number): number => (share < 1 ? (1 - Math.abs(share) ** 3) ** 3 : 0);

/**
 * Value at `at` of a straight line through the `window` nearest points, weighted by tricube of their distance.
 * @returns the weighted mean where fewer than two different x carry weight.
 * @throws if the window is larger than the number of points or smaller than 2.
 * @see Cleveland 1979; NIST/SEMATECH e-Handbook, 4.1.4.4.
 */
export function loess(x: number[], y: number[], window: number, at: number): number {
  const n = x.length;
  if (!(window >= 2 && window <= n)) throw new Error(`loess: a window of ${window} for ${n} points`);
  const order = x.map((_, i) => i).sort((i, j) => Math.abs(x[i]! - at) - Math.abs(x[j]! - at));
  const near = order.slice(0, window);
  const reach = Math.abs(x[near[window - 1]!]! - at);
  const used = near.flatMap((i) => {
    const weight = reach > 0 ? tricube(Math.abs(x[i]! - at) / reach) : 1;
    return weight > 0 ? [{ x: x[i]! - at, y: y[i]!, weight }] : [];
  });
  const whole = used.reduce((s, p) => s + p.weight, 0);
  const centre = used.reduce((s, p) => s + p.weight * p.x, 0) / whole;
  if (used.length < 2 || used.every((p) => Math.abs(p.x - centre) <= 1e-12 * (reach || 1)))
    return used.reduce((s, p) => s + p.weight * p.y, 0) / whole;
  const fit = leastSquares(
    [used.map(() => 1), used.map((p) => p.x)],
    used.map((p) => p.y),
    used.map((p) => 1 / Math.sqrt(p.weight)),
  );
  return fit.coefficients[0]!;
}
