/** Noise: how large and how slow is the slosh? Trend off, Welch spectrum, slosh peak, tilt, floor, spikes, dropouts. */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { differenceNoise, sameLevelNoise } from "../math/floor-noise";
import { heapNoise } from "../math/heap-noise";
import { bandVariance, powerBelow, type Spectrum, welch } from "../math/spectrum";
import { tankMode_Hz } from "../math/tank-mode";
import { say } from "../said";
import type { CurveDoubt } from "./curve-doubt";
import type { VolumeByReading } from "./curve-types";
import { type DriveLog, MARK } from "./drive-log";
import { type EvenScale, evenScale } from "./end-motion";
import { detrend, type Even, evenly, litresPerReading, unfit } from "./even-samples";
import type { Job } from "./job";
import { litresTo } from "./litres";
import { type LevelLog, type LevelNoise, movedLitres, noiseByLevel } from "./noise-by-level";
import { findPeak, type ThinnedSpectrum, thinned } from "./slosh-peak";
import { tiltOf } from "./tilt";

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

/**
 * Describes the noise of all logs together; the longest one gives the spectrum.
 * @param doubt how well the curve is known; null for a table found in a device.
 * @returns stuck `noise/no-samples` when everything is marked; cautions when the logs never leave one level.
 */
export function describeNoise(
  logs: DriveLog[],
  curve: VolumeByReading,
  job: Pick<Job, "tank" | "circuit">,
  doubt: CurveDoubt | null = null,
): Answer<Noise> {
  const log = logs.reduce((a, b) => (b.duration_s > a.duration_s ? b : a));
  const cautions: Issue[] = [];
  const even = evenly(log);
  const n = even.reading.length;
  if (n < 64)
    return stuck({
      code: "noise/too-few",
      says: `${log.file} leaves ${n} good readings; to find the slosh takes 64.`,
      remedy: "Bring a longer log.",
    });
  const slope = litresPerReading(curve, even);
  const detrended = detrend(even, log, slope);
  const rate_Hz = log.sampleRate_Hz;
  const wanted = powerBelow(Math.min(n, Math.round(60 * rate_Hz)));
  const length = Math.max(32, wanted > n / 3 && n >= 128 ? powerBelow(n / 3) : wanted);
  const spectrum = welch(detrended, rate_Hz, length);
  const total = variance(detrended);
  const moved_L = movedLitres(log, even, curve);
  // Over the whole of the motion, as the curve bends under it: what is said in litres of one log goes together.
  const perReading_L = total > 0 ? Math.sqrt(aboutMean(moved_L) / total) : slope;
  const refresh = log.refreshRate_Hz;
  const depth_m = depthOf(job, curve, (log.from_L + log.to_L) / 2);
  // A swing that is quicker than half the refreshing looks like a slower one: then no peak can be trusted to stand where it is.
  const folds = Math.min(refresh, rate_Hz) < 2 * fastestSlosh_Hz(job, depth_m);
  const standing = folds ? null : findPeak(spectrum, Math.min(refresh, rate_Hz));
  const floorSd = floorOf(even, log, rate_Hz, evenScale(curve, job));
  const standingVariance = standing ? varianceUnder(standing, spectrum, floorSd ** 2 / (rate_Hz / 2)) : 0;
  const top_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const matters = standingVariance >= leastShare * total || Math.sqrt(standingVariance) * slope >= leastPart * top_L;
  const peak = matters ? standing : null;
  const sloshVariance = peak ? standingVariance : 0;
  const sloshSd = Math.sqrt(sloshVariance);
  const tilt = tiltOf(log, even, moved_L, doubt);
  const spikesSd = spikesOf(log, even);
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
      byLevel: noiseByLevel(
        logs.flatMap((l) => (l === log ? [{ log, even, detrended, moved_L }] : levelLog(l, curve))),
        peak !== null,
      ),
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

/** Root mean square distance of the marked readings from what stands in their place, over all rows. */
function spikesOf(log: DriveLog, even: Even): number {
  const { reading, mark } = log.columns;
  let squares = 0;
  for (let i = 0; i < even.reading.length; i++)
    if ((mark[i + even.first]! & (MARK.spike | MARK.dropout)) !== 0)
      squares += (reading[i + even.first]! - even.reading[i]!) ** 2;
  return Math.sqrt(squares / Math.max(1, even.reading.length));
}

/** Another log, ready to be told by level; none where it leaves too little. */
function levelLog(log: DriveLog, curve: VolumeByReading): LevelLog[] {
  const even = evenly(log);
  if (even.reading.length < 64) return [];
  const detrended = detrend(even, log, litresPerReading(curve, even));
  return [{ log, even, detrended, moved_L: movedLitres(log, even, curve) }];
}

/** Variance about the mean; the numbers stay as they are. */
function aboutMean(x: Float64Array): number {
  const mean = x.reduce((s, v) => s + v, 0) / x.length;
  return x.reduce((s, v) => s + (v - mean) ** 2, 0) / x.length;
}

function variance(x: Float64Array): number {
  let s = 0;
  for (const v of x) s += v * v;
  return s / Math.max(1, x.length - 1);
}

/**
 * Electrical and rounding floor of one sample: the least of five estimates, since motion can only add to each. From second
 * and third differences, from the upper end of the spectrum, and for a sender that goes in steps from neighbours on one level and from how sharp
 * the heaps of its readings stand; all at the rate at which the value is really refreshed.
 */
function floorOf(even: Even, log: DriveLog, rate_Hz: number, scale: EvenScale): number {
  const every = Math.max(1, Math.round(rate_Hz / log.refreshRate_Hz));
  const { mark } = log.columns;
  const all = new Float64Array(Math.ceil(even.reading.length / every));
  let n = 0;
  for (let i = every >> 1; i < even.reading.length; i += every)
    if ((mark[i + even.first]! & unfit) === 0) all[n++] = even.reading[i]!;
  const fresh = all.subarray(0, n);
  if (n < 32) return 0;
  const estimates = [differenceNoise(fresh, 2), differenceNoise(fresh, 3)];
  const half = rate_Hz / every / 2;
  const s = welch(fresh, 2 * half, Math.min(256, powerBelow(fresh.length)));
  const top = Array.from(s.density)
    .filter((_, k) => s.frequency_Hz[k]! >= 0.75 * half && s.frequency_Hz[k]! <= 0.98 * half)
    .sort((a, b) => a - b);
  if (top.length > 0) estimates.push(Math.sqrt(top[top.length >> 1]! * half));
  const step = smallestStep(fresh);
  // A converter as coarse as the noise makes a gap of its own: then pairs on one level say nothing.
  const level = sameLevelNoise(fresh);
  if (level > step) estimates.push(level);
  const along = 1e-3 * step;
  estimates.push(
    heapNoise(
      fresh.map((r) => scale.to(r)),
      fresh.map((r) => (scale.to(r + along) - scale.to(r - along)) / (2 * along)),
      step,
    ),
  );
  // On a coarse converter most neighbours are alike, and a difference can be nothing at all, or what doubles leave of it: rounding alone
  // then makes the floor, step/√12.
  const rounding = step / Math.sqrt(12);
  return Math.max(rounding, Math.min(...estimates));
}

/** Least distance between two different readings that follow each other. */
function smallestStep(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const d = Math.abs(values[i]! - values[i - 1]!);
    if (d > 1e-9 && d < least) least = d;
  }
  return Number.isFinite(least) ? least : 0;
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
