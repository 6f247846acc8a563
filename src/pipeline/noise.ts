/** Noise: how large and how slow is the slosh? Trend off, Welch spectrum, slosh peak, tilt, floor, spikes, dropouts. */

import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import { bandVariance, type Spectrum } from "../math/spectrum";
import { tankMode_Hz } from "../math/tank-mode";
import { say } from "../said";
import type { VolumeByReading } from "./curve-types";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";
import { litresTo } from "./litres";
import type { LogMotion } from "./log-motion";
import { type LevelNoise, noiseByLevel } from "./noise-by-level";
import { findPeak, type ThinnedSpectrum, thinned } from "./slosh-peak";

/** Slosh: the peak's band. Tilt: what goes with sustained acceleration. Floor: electrical, and rounding. Rest: other motion and what the trend leaves. */
export type NoisePart = "slosh" | "tilt" | "floor" | "rest";

export interface Noise {
  sampleRate_Hz: number;
  refreshRate_Hz: number;
  /** Standard deviations in the reading's unit, and litres at the log's middle level. */
  totalSd: number;
  totalSd_L: number;
  /** Null when no peak stands out, or the reading is refreshed too slowly to place one. */
  sloshFrequency_Hz: number | null;
  sloshFrequencyStandard_Hz: number | null;
  sloshWidth_Hz: number | null;
  sloshSd: number;
  sloshSd_L: number;
  sloshShare: number;
  whyNoPeak: string | null;
  /** Rectangular-tank mode for this level, if length and depth are stated. */
  predictedMode_Hz: number | null;
  tilt_L_per_g: number | null;
  /** Null too where no acceleration was logged. */
  whyNoTilt: string | null;
  /** Along or across the vehicle; and how far off the middle of a box of the stated length and width a sender would stand that leans so much, millimetres. */
  tiltAxis: "along" | "across" | null;
  tiltOffset_mm: number | null;
  /** Half of the 95 % interval over 1.96. */
  tiltStandard_L_per_g: number | null;
  tiltSd_L: number | null;
  /** Mean error on a course with a net turning direction, litres; no filter removes it. */
  turningBias_L: number | null;
  turningBiasStandard_L: number | null;
  /** Why a mean sideways acceleration was not taken for turns that go one way; null where it was, or there is none. */
  whyNoTurning: string | null;
  floorSd: number;
  spikes: number;
  dropouts: number;
  /** What the variance of the reading is made of; the shares add up to 1. */
  split: { part: NoisePart; share: number; sd: number; sd_L: number }[];
  /** Root mean square of what spikes and dropouts put on top of that, over the whole log: reading's unit and litres. */
  spikesSd: number;
  spikesSd_L: number;
  byLevel: LevelNoise[];
  spectrum: ThinnedSpectrum;
}

/**
 * A peak that holds less than this share of the variance, and moves the reading by less than this part of the tank (one standard deviation), is no
 * slosh to speak of, however sharp it stands. Named defaults, no source.
 */
const leastShare = 0.03;
const leastPart = 0.005;

/** A peak that a shorter log does not show says nothing of the slosh: no frequency can stand out of so few swings. Methods, part 7. */
const leastForPeak_s = 60;

/**
 * Describes the noise of all logs together; the longest one gives the spectrum.
 * @param floorSd of one sample, the reading's unit.
 * @returns never stuck; cautions when the logs never leave one level, and when the reading is refreshed seldom.
 */
export function describeNoise(
  motion: LogMotion,
  floorSd: number,
  logs: DriveLog[],
  curve: VolumeByReading,
  job: Pick<Job, "tank">,
): Answer<Noise> {
  const { log, length, spectrum, total, perReading_L, slope, tilt, spikesSd } = motion;
  const cautions: Issue[] = [];
  const rate_Hz = log.sampleRate_Hz;
  const refresh = log.refreshRate_Hz;
  const depth_m = depthOf(job, curve, (log.from_L + log.to_L) / 2);
  // A swing that is quicker than half the refreshing looks like a slower one: then no peak can be trusted to stand where it is.
  const folds = Math.min(refresh, rate_Hz) < 2 * fastestSlosh_Hz(job, depth_m);
  const standing = folds ? null : findPeak(spectrum, Math.min(refresh, rate_Hz));
  const standingVariance = standing ? varianceUnder(standing, spectrum, floorSd ** 2 / (rate_Hz / 2)) : 0;
  const top_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const matters = standingVariance >= leastShare * total || Math.sqrt(standingVariance) * slope >= leastPart * top_L;
  const peak = matters ? standing : null;
  const sloshVariance = peak ? standingVariance : 0;
  const sloshSd = Math.sqrt(sloshVariance);
  if (Math.abs(log.from_L - log.to_L) < 0.1 * Math.max(log.from_L, 1))
    cautions.push({
      code: "noise/one-level",
      says: say`The log stays near ${litresTo(log.from_L, 0)}; slosh at other levels differs and is taken to be like this.`,
      remedy: "Bring a log from low in the tank too.",
      weight: "note",
    });
  // 9.99 is written as 10.0, and is that.
  if (refresh < 9.95)
    cautions.push({
      code: "noise/floor-at-most",
      says: `The value is refreshed ${fixed(refresh, 1)} times a second: the slosh between two values cannot be told from noise, so the floor is at most what stands here.`,
      remedy: "Log at 10 Hz or faster.",
      weight: "note",
    });
  const whyNoTurning = tilt?.whyNoTurning ?? null;
  if (whyNoTurning !== null)
    cautions.push({
      code: "noise/not-level",
      says: `Whether the course turns one way is not told: ${whyNoTurning}.`,
      remedy: "Log with the accelerometer level, and a minute on level ground before the drive.",
      weight: "holds-if",
      condition: "the course turns as much one way as the other",
    });
  return ready(
    {
      sampleRate_Hz: rate_Hz,
      refreshRate_Hz: refresh,
      totalSd: Math.sqrt(total),
      totalSd_L: Math.sqrt(total) * perReading_L,
      sloshFrequency_Hz: peak ? peak.frequency_Hz : null,
      sloshFrequencyStandard_Hz: peak
        ? Math.max(peak.width_Hz / Math.sqrt(Math.max(1, spectrum.segments)), 0.29 * (rate_Hz / length))
        : null,
      sloshWidth_Hz: peak ? peak.width_Hz : null,
      sloshSd,
      sloshSd_L: sloshSd * perReading_L,
      sloshShare: total > 0 ? Math.min(1, sloshVariance / total) : 0,
      whyNoPeak: peak
        ? null
        : folds
          ? "the reading is refreshed too slowly to tell a quick slosh from a slow one"
          : standing
            ? "what stands out is too little of the motion to matter"
            : log.duration_s < leastForPeak_s
              ? `the log lasts ${fixed(log.duration_s, 0)} s, and it takes a minute`
              : "no frequency stands out of the rest",
      predictedMode_Hz:
        job.tank.length_mm !== null && depth_m !== null ? tankMode_Hz(job.tank.length_mm / 1000, depth_m) : null,
      tilt_L_per_g: tilt?.told?.perG ?? null,
      whyNoTilt: tilt?.why ?? null,
      tiltAxis: tilt?.told?.axis ?? null,
      tiltOffset_mm: tilt?.told ? offsetOf(tilt.told.perG, job) : null,
      tiltStandard_L_per_g: tilt?.told?.standard ?? null,
      tiltSd_L: tilt?.sd_L ?? null,
      turningBias_L: tilt?.bias_L ?? null,
      turningBiasStandard_L: tilt?.biasStandard_L ?? null,
      whyNoTurning,
      floorSd,
      spikes: logs.reduce((s, l) => s + l.counts.spikes, 0),
      dropouts: logs.reduce((s, l) => s + l.counts.dropouts, 0),
      split: splitOf(
        total,
        {
          slosh: sloshVariance,
          tilt: perReading_L > 0 ? ((tilt?.sd_L ?? 0) / perReading_L) ** 2 : 0,
          floor: floorSd ** 2,
        },
        perReading_L,
      ),
      spikesSd,
      spikesSd_L: spikesSd * perReading_L,
      byLevel: noiseByLevel(motion.levels, peak !== null),
      spectrum: thinned(spectrum),
    },
    cautions,
  );
}

/** Shares of the variance; parts that together come to more than all of it (they overlap a little) are drawn in alike. */
function splitOf(
  total: number,
  parts: Record<Exclude<NoisePart, "rest">, number>,
  perReading_L: number,
): Noise["split"] {
  const sum = parts.slosh + parts.tilt + parts.floor;
  const drawnIn = sum > total && sum > 0 ? total / sum : 1;
  const variances: [NoisePart, number][] = [
    ["slosh", parts.slosh * drawnIn],
    ["tilt", parts.tilt * drawnIn],
    ["floor", parts.floor * drawnIn],
    ["rest", Math.max(0, total - sum)],
  ];
  return variances.map(([part, v]) => ({
    part,
    share: total > 0 ? v / total : 0,
    sd: Math.sqrt(v),
    sd_L: Math.sqrt(v) * perReading_L,
  }));
}

/** Variance in one and a half widths on either side of a peak, less the floor there. */
function varianceUnder(
  peak: { frequency_Hz: number; width_Hz: number },
  spectrum: Spectrum,
  floorDensity: number,
): number {
  const low = Math.max(0.05, peak.frequency_Hz - 1.5 * peak.width_Hz);
  const high = peak.frequency_Hz + 1.5 * peak.width_Hz;
  return Math.max(0, bandVariance(spectrum, low, high) - floorDensity * (high - low));
}

/**
 * The quickest slosh that must be reckoned with: the first mode along the shorter side of the stated tank, a quarter more since no tank is a box;
 * where its sides are not stated that of a deep tank of 300 mm, 1.6 Hz (the length is a named default, no source).
 */
function fastestSlosh_Hz({ tank }: Pick<Job, "tank">, depth_m: number | null): number {
  const sides = [tank.length_mm, tank.width_mm].filter((mm) => mm !== null);
  if (sides.length < 2 || depth_m === null) return tankMode_Hz(0.3, 10);
  return 1.25 * tankMode_Hz(Math.min(...sides) / 1000, depth_m);
}

/** `A·x` litres per g (methods part 7), turned round: x = litres per g over the surface of the box. */
function offsetOf(litresPerG: number, { tank }: Pick<Job, "tank">): number | null {
  if (tank.length_mm === null || tank.width_mm === null) return null;
  // 1 L is 10⁶ mm³.
  return (Math.abs(litresPerG) * 1e6) / (tank.length_mm * tank.width_mm);
}

/** Depth of liquid at a level, taking the tank as a box: only for the predicted mode. */
function depthOf(job: Pick<Job, "tank">, curve: VolumeByReading, volume_L: number): number | null {
  const { depth_mm, capacity_L } = job.tank;
  if (depth_mm === null) return null;
  const full = capacity_L ?? Math.max(...curve.grid.map((g) => g.volume_L));
  return (depth_mm / 1000) * Math.max(0.05, Math.min(1, volume_L / full));
}
