/** Tilt: how much does the reading lean with sustained acceleration, and does the course turn one way on the whole? */
import { lowPass, smoothingFactor } from "../math/filter";
import type { DriveLog } from "./drive-log";
import { type Even, senseOf } from "./even-samples";

/** Seconds over which acceleration and volume are smoothed: what is quicker is slosh. Named default, no source. */
const sustained_s = 2;

export interface Tilt {
  /** The axis along which the sender leans more. */
  axis: "along" | "across";
  perG: number;
  standard: number;
  /** Standard deviation of the volume that goes with sustained acceleration, litres. */
  sd_L: number;
  bias_L: number | null;
  biasStandard_L: number | null;
}

/** How well a turning course's mean error is known, as a share of it: told right within half on most simulated courses. */
export const turningShare = 0.27;

/**
 * Regression of the detrended volume on smoothed along and across accelerations: litres per g, and the bias of a net turning direction.
 * @param detrended reading units. @param slope litres per reading unit. @returns null where no acceleration was logged.
 */
export function tiltOf(log: DriveLog, even: Even, detrended: Float64Array, slope: number): Tilt | null {
  const { along_g, across_g } = log.columns;
  if (!along_g && !across_g) return null;
  const n = detrended.length;
  const alpha = smoothingFactor(sustained_s, 1 / log.sampleRate_Hz);
  const smooth = (channel: Float64Array | null) => {
    if (!channel) return null;
    const out = channel.slice(even.first, even.first + n);
    for (let i = 0; i < n; i++) if (Number.isNaN(out[i]!)) out[i] = 0;
    return lowPass(out, alpha, out);
  };
  const sense = senseOf(even, log);
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) y[i] = detrended[i]! * slope * sense;
  takeMean(lowPass(y, alpha, y));
  const fitOn = (channel: Float64Array) => {
    const mean = takeMean(channel);
    // Normal equations are safe for two centred columns.
    let xx = 0;
    let xy = 0;
    for (let i = 0; i < n; i++) {
      xx += channel[i]! * channel[i]!;
      xy += channel[i]! * y[i]!;
    }
    const b = xx > 0 ? xy / xx : 0;
    let rest = 0;
    for (let i = 0; i < n; i++) rest += (y[i]! - b * channel[i]!) ** 2;
    // Neighbouring samples are alike over some ten seconds of smoothing and manoeuvre: so many are independent.
    const independent = Math.max(4, n / (10 * log.sampleRate_Hz));
    return {
      b,
      standard: Math.sqrt(rest / n / Math.max(1e-12, (xx / n) * independent)),
      sd_L: Math.abs(b) * Math.sqrt(xx / n),
      mean,
      bias: b * mean,
      // A mean that chance alone could leave is no turning direction.
      leans: leansOneWay(channel, mean, log.sampleRate_Hz),
    };
  };
  const fits = (["along", "across"] as const).flatMap((axis) => {
    const channel = smooth(axis === "along" ? along_g : across_g);
    return channel ? [{ axis, ...fitOn(channel) }] : [];
  });
  const best = fits.reduce((a, f) => (f.sd_L > a.sd_L ? f : a));
  const across = fits.find((f) => f.axis === "across") ?? null;
  const leans = across?.leans && Math.abs(across.b) > 2 * across.standard ? across : null;
  return {
    axis: best.axis,
    perG: best.b,
    standard: best.standard,
    sd_L: best.sd_L,
    bias_L: leans ? leans.bias : null,
    // The mean follows a slope that was learnt from what goes to and fro about it: the scatter alone would tell it too well.
    biasStandard_L: leans ? Math.max(Math.abs(leans.mean) * leans.standard, turningShare * Math.abs(leans.bias)) : null,
  };
}

/** Takes the mean off in place. @returns the mean. */
function takeMean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  const mean = sum / values.length;
  for (let i = 0; i < values.length; i++) values[i]! -= mean;
  return mean;
}

/**
 * Whether a mean stands out of the means of the log's parts: laps repeat, so that the parts agree although single corners scatter widely.
 * Student's t over four to eight parts of 150 s or more, 99 % two-sided (tables of the t distribution).
 */
function leansOneWay(centred: Float64Array, mean: number, rate_Hz: number): boolean {
  const limits: Record<number, number> = { 4: 5.84, 5: 4.6, 6: 4.03, 7: 3.71, 8: 3.5 };
  // Ten minutes are four parts, though the last row of such a log stands a sample short of them.
  const parts = Math.min(8, Math.floor(centred.length / rate_Hz / 150 + 0.01));
  const limit = limits[parts];
  if (limit === undefined) return false;
  const size = Math.floor(centred.length / parts);
  let squares = 0;
  for (let p = 0; p < parts; p++) {
    let sum = 0;
    for (let i = p * size; i < (p + 1) * size; i++) sum += centred[i]!;
    squares += (sum / size) ** 2;
  }
  return Math.abs(mean) > limit * Math.sqrt(squares / (parts - 1) / parts);
}
