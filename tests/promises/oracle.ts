/** Oracle: the least error that any time constant and deadband reach at the wanted steadiness, same table, same drive. */
import { type Device, runDevice } from "./replay";
import { countChanges, rms } from "./score";

export interface Oracle {
  timeConstant_s: number;
  deadband_L: number;
  rms_L: number;
  /** RMS of the device as typed over the best possible; above 1 also where the typed one is steadier than wanted. */
  ratio: number;
  /**
   * The same with the mean error of the unsmoothed reading on this drive taken off both: a course that turns one way or a curve that reads low
   * there cancels the lag of a filter that is far too slow, which no one could choose beforehand.
   */
  ratioWithoutMean: number;
}

/**
 * Tries a fine grid on the fresh drive itself, which no one can know beforehand: a bound, and no rival.
 * @param truth_L what the display should show, in its base, one value a device cycle.
 * @returns null when no pair on the grid is steady enough.
 */
export function bestPossible(
  device: Device,
  reading: Float64Array,
  truth_L: Float64Array,
  wanted: { rate_Hz: number; reversalsPerMinute: number },
): Oracle | null {
  const minutes = reading.length / wanted.rate_Hz / 60;
  const step = device.displayStep_L;
  const deadbands = [0, 0.1, 0.2, 0.3, 0.4, 0.49, 0.6, 0.75, 1, 1.3, 1.7, 2.2, 3].map((f) => f * step);
  const unsmoothed_L = runDevice({ ...device, factor: 1, deadband_L: 0 }, reading).smoothed_L;
  const mean_L = unsmoothed_L.reduce((sum, v, i) => sum + v - truth_L[i]!, 0) / unsmoothed_L.length;
  const errorOf = (shown: Float64Array, less_L = 0) => rms(shown.map((v, i) => v - truth_L[i]! - less_L));
  const typed = runDevice(device, reading).shown_L;
  let best: Pick<Oracle, "timeConstant_s" | "deadband_L" | "rms_L"> | null = null;
  let withoutMean = Number.POSITIVE_INFINITY;
  // A time constant costs one pass of the filter; deadband and rounding then follow on its output.
  for (let timeConstant_s = 0.5; timeConstant_s <= 300; timeConstant_s *= 1.17) {
    const { smoothed_L } = runDevice(
      { ...device, factor: 1 - Math.exp(-1 / (wanted.rate_Hz * timeConstant_s)), deadband_L: 0 },
      reading,
    );
    for (const deadband_L of deadbands) {
      const shown = dragged(smoothed_L, deadband_L, step);
      if (countChanges(shown).reversals / minutes > wanted.reversalsPerMinute) continue;
      const rms_L = errorOf(shown);
      withoutMean = Math.min(withoutMean, errorOf(shown, mean_L));
      if (best === null || rms_L < best.rms_L) best = { timeConstant_s, deadband_L, rms_L };
    }
  }
  return (
    best && { ...best, ratio: errorOf(typed) / best.rms_L, ratioWithoutMean: errorOf(typed, mean_L) / withoutMean }
  );
}

/** Deadband of the play kind, then the displayed step. */
function dragged(smoothed_L: Float64Array, d: number, step: number): Float64Array {
  const out = new Float64Array(smoothed_L.length);
  let held = smoothed_L[0]!;
  for (let i = 0; i < out.length; i++) {
    const v = smoothed_L[i]!;
    held = Math.min(v + d, Math.max(v - d, held));
    out[i] = Math.round(held / step) * step;
  }
  return out;
}
