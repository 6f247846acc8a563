/** Conformity of one measured value with limits (JCGM 106:2012). */
import { normalProbability, normalQuantile } from "./distributions";

/** Chance that the true value lies within the limits; a limit left out does not bind. @param standard its standard uncertainty, normal. */
export function conformityProbability(
  value: number,
  standard: number,
  limits: { lower?: number; upper?: number },
): number {
  const { lower = Number.NEGATIVE_INFINITY, upper = Number.POSITIVE_INFINITY } = limits;
  if (!(standard > 0)) return value >= lower && value <= upper ? 1 : 0;
  // Each side from its own tail, so that a chance near 0 keeps its digits.
  return value > (Math.max(lower, -1e300) + Math.min(upper, 1e300)) / 2
    ? normalProbability((upper - value) / standard) - normalProbability((lower - value) / standard)
    : normalProbability((value - lower) / standard) - normalProbability((value - upper) / standard);
}

/** Guard band in the unit of the value: how far inside one limit a value must lie to conform with this probability. */
export const guardBand = (standard: number, probability: number): number => normalQuantile(probability) * standard;
