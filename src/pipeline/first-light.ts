/**
 * The moment the light first comes on: what the device compares with the warning, and what lies between that figure and the litres in the tank.
 * Warning and range left both take it from here, so that they speak of one moment.
 *
 * What is compared is taken to be the inner value, behind smoothing and deadband, before it is rounded for the display. A device that compares the
 * rounded figure that it shows lights half a displayed step earlier: what is promised of the reserve then holds all the more, which a promise
 * reckoned by the shown figure would not in a device of the first kind. Either way the light comes on at a known figure, so the displayed step is
 * no uncertainty of that moment.
 */
import { firstPassage } from "../math/first-passage";
import type { Display } from "./display";
import type { Job } from "./job";
import type { Noise } from "./noise";
import { turningShare } from "./tilt";
import type { Trial } from "./trial";

/** Confirming delay where the display itself is quick. Named default, no source. */
const quick = { timeConstant_s: 5, delay_s: 3 };

export interface FirstLight {
  /** Which value the device is taken to compare with the warning. */
  compares: "inner-value";
  /** What the inner value stands high, litres: lag of the smoothing, deadband, confirming delay, a course that turns. */
  lag_L: number;
  deadband_L: number;
  delay_L: number;
  turning_L: number;
  /** By how much the motion that is left lights it early, mean, litres (methods of this project, part 9). */
  early_L: number;
  /** Standard deviation of that, and standard uncertainty of `turning_L`. */
  motionStandard_L: number;
  turningStandard_L: number;
  /** Half a displayed step: so much earlier a device lights that compares the rounded figure that it shows. */
  halfStep_L: number;
}

/** Seconds for which the light waits, where the device can and the display is quick. */
export const confirmingDelay_s = (display: Display | null, job: Pick<Job, "device">): number =>
  display && job.device.warning.canDelay && display.timeConstant_s < quick.timeConstant_s ? quick.delay_s : 0;

/** @param burn_L_per_s 0 where nothing tells it. @param step_L litres in one displayed step. */
export function firstLight(
  display: Display | null,
  noise: Pick<Noise, "turningBias_L" | "turningBiasStandard_L"> | null,
  trial: Pick<Trial, "smoothedSd_L"> | null,
  job: Pick<Job, "device">,
  burn_L_per_s: number,
  step_L: number,
): FirstLight {
  const lag_L = display ? Math.max(display.lag_L, display.timeConstant_s * burn_L_per_s) : 0;
  const turning_L = Math.max(0, noise?.turningBias_L ?? 0);
  const passage =
    display && trial && trial.smoothedSd_L > 0 && lag_L > 0
      ? firstPassage(trial.smoothedSd_L, lag_L)
      : { early: 0, spread: 0 };
  return {
    compares: "inner-value",
    lag_L,
    deadband_L: display?.deadband_L ?? 0,
    delay_L: confirmingDelay_s(display, job) * burn_L_per_s,
    turning_L,
    early_L: passage.early,
    motionStandard_L: passage.spread,
    turningStandard_L: turning_L > 0 ? (noise?.turningBiasStandard_L ?? turningShare * turning_L) : 0,
    halfStep_L: step_L / 2,
  };
}

/** What the inner value stands over the tank when the light first comes on, the curve's own part aside; litres. */
export const takenAtFirstLight_L = (light: FirstLight): number =>
  light.lag_L + light.deadband_L + light.delay_L + light.turning_L - light.early_L;
