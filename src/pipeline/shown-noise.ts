/** What is left of the motion after smoothing, as the warning and the range see it: spread in litres and rate of rises. */
import type { Display } from "./display";
import type { Noise } from "./noise";
import type { Trial } from "./trial";

export interface ShownNoise {
  /** Standard deviation of the shown volume about its own trend, litres. */
  sd_L: number;
  /** Upward crossings of its mean a second: half of the reversals, each being one turn. */
  rate_Hz: number;
}

/** From the replay where there is one, else from the display's own count; null without a drive log. */
export function shownNoise(display: Display | null, noise: Noise | null, trial: Trial | null): ShownNoise | null {
  if (!display || !noise) return null;
  const source = trial ?? null;
  const sd_L = source
    ? Math.sqrt(Math.max(0, source.rmsError_L ** 2 - source.meanError_L ** 2))
    : Math.sqrt(Math.max(0, display.rmsError_L ** 2 - (display.lag_L + display.deadband_L) ** 2));
  const reversals = source ? source.reversalsPerMinute : display.reversalsPerMinute;
  return { sd_L, rate_Hz: Math.max(reversals, 0.05) / 120 };
}
