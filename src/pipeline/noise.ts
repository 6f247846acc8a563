/** Noise: how large and how slow is the slosh? Trend off, Welch spectrum, slosh peak, tilt, floor, spikes, dropouts. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { lowPass, smoothingFactor } from "../math/filter";
import { differenceNoise, sameLevelNoise } from "../math/floor-noise";
import { bandVariance, powerBelow, type Spectrum, welch } from "../math/spectrum";
import { tankMode_Hz } from "../math/tank-mode";
import { type VolumeByReading, volumeAt } from "./curve";
import { type DriveLog, MARK } from "./drive-log";
import type { Job } from "./job";

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
  tiltStandard_L_per_g: number | null;
  tiltSd_L: number | null;
  /** Mean error on a course with a net turning direction, litres; no filter removes it. */
  turningBias_L: number | null;
  floorSd: number;
  spikes: number;
  dropouts: number;
  byLevel: {
    from_L: number;
    to_L: number;
    seconds: number;
    sd: number;
    sd_L: number;
    sloshFrequency_Hz: number | null;
  }[];
  spectrum: { frequency_Hz: number[]; density: number[]; segments: number; segment_s: number };
}

/** How much higher than its surroundings a peak of the spectrum must stand; tuned on simulated drives without slosh. */
const peakOverSurroundings = 6;

/**
 * Describes the noise of all logs together; the longest one gives the spectrum.
 * @returns stuck `noise/no-samples` when everything is marked; cautions when the logs never leave one level.
 */
export function describeNoise(logs: DriveLog[], curve: VolumeByReading, job: Job): Answer<Noise> {
  const log = logs.reduce((a, b) => (b.duration_s > a.duration_s ? b : a));
  const cautions: Issue[] = [];
  const even = evenly(log);
  const n = even.reading.length;
  if (n < 64)
    return stuck({
      code: "noise/too-few",
      says: `${log.file} leaves ${n} good samples; a spectrum needs 64.`,
      remedy: "Bring a longer log.",
    });
  const slope = litresPerReading(curve, even);
  const detrended = detrend(even.reading, log, even.index, slope);
  const rate_Hz = log.sampleRate_Hz;
  const wanted = powerBelow(Math.min(n, Math.round(60 * rate_Hz)));
  const length = Math.max(32, wanted > n / 3 && n >= 128 ? powerBelow(n / 3) : wanted);
  const spectrum = welch(detrended, rate_Hz, length);
  const total = variance(detrended);
  const refresh = log.refreshRate_Hz;
  const peak = findPeak(spectrum, Math.min(refresh, rate_Hz));
  const nyquist = rate_Hz / 2;
  const [low, high] = peak
    ? [peak.frequency_Hz - 1.5 * peak.width_Hz, peak.frequency_Hz + 1.5 * peak.width_Hz]
    : [0.25, Math.min(3, nyquist)];
  const floorSd = floorOf(even, log, rate_Hz);
  const floorDensity = floorSd ** 2 / nyquist;
  const sloshVariance = peak
    ? Math.max(0, bandVariance(spectrum, Math.max(low, 0.05), high) - floorDensity * (high - Math.max(low, 0.05)))
    : 0;
  const sloshSd = Math.sqrt(sloshVariance);
  const tilt = tiltOf(log, even, detrended, slope);
  const depth_m = depthOf(job, curve, (log.from_L + log.to_L) / 2);
  if (Math.abs(log.from_L - log.to_L) < 0.1 * Math.max(log.from_L, 1))
    cautions.push({
      code: "noise/one-level",
      says: `The log stays near ${fixed(log.from_L, 0)} L; slosh at other levels differs and is taken to be like this.`,
      remedy: "Bring a log from low in the tank too.",
      weight: "note",
    });
  if (refresh < 10)
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
      totalSd_L: Math.sqrt(total) * slope,
      sloshFrequency_Hz: peak ? peak.frequency_Hz : null,
      sloshFrequencyStandard_Hz: peak
        ? Math.max(peak.width_Hz / Math.sqrt(Math.max(1, spectrum.segments)), 0.29 * (rate_Hz / length))
        : null,
      sloshWidth_Hz: peak ? peak.width_Hz : null,
      sloshSd,
      sloshSd_L: sloshSd * slope,
      sloshShare: total > 0 ? Math.min(1, sloshVariance / total) : 0,
      whyNoPeak: peak
        ? null
        : refresh < 2
          ? "the reading is refreshed too slowly to place a slosh peak"
          : "no frequency stands out of the rest",
      predictedMode_Hz:
        job.tank.length_mm !== null && depth_m !== null ? tankMode_Hz(job.tank.length_mm / 1000, depth_m) : null,
      tilt_L_per_g: tilt?.perG ?? null,
      tiltStandard_L_per_g: tilt?.standard ?? null,
      tiltSd_L: tilt?.sd_L ?? null,
      turningBias_L: tilt?.bias_L ?? null,
      floorSd,
      spikes: logs.reduce((s, l) => s + l.counts.spikes, 0),
      dropouts: logs.reduce((s, l) => s + l.counts.dropouts, 0),
      byLevel: byLevel(log, even, detrended, slope),
      spectrum: thinned(spectrum),
    },
    cautions,
  );
}

interface Even {
  reading: Float64Array;
  /** Row of the log behind each sample. */
  index: Int32Array;
}

/** Good samples on the log's own clock; a marked one is replaced by the mean of its good neighbours so that the clock stays even. */
function evenly(log: DriveLog): Even {
  const { reading, mark } = log.columns;
  const bad = MARK.spike | MARK.dropout | MARK.blank | MARK.notYetAnswered;
  let from = 0;
  while (from < reading.length && (mark[from]! & bad) !== 0) from++;
  const out = reading.slice(from);
  const index = Int32Array.from(out, (_, i) => i + from);
  for (let i = 0; i < out.length; i++) {
    if ((mark[i + from]! & bad) === 0) continue;
    let next = i;
    while (next < out.length && (mark[next + from]! & bad) !== 0) next++;
    const a = out[i - 1] ?? 0;
    const b = next < out.length ? out[next]! : a;
    for (let k = i; k < next; k++) out[k] = a + ((b - a) * (k - i + 1)) / (next - i + 1);
    i = next;
  }
  return { reading: out, index };
}

/** Litres per reading unit at the log's middle level. */
function litresPerReading(curve: VolumeByReading, even: Even): number {
  const sorted = Float64Array.from(even.reading).sort();
  const middle = sorted[sorted.length >> 1]!;
  const span = curve.grid[curve.grid.length - 1]!.reading - curve.grid[0]!.reading;
  const d = 0.05 * span;
  return Math.abs(volumeAt(curve, middle + d) - volumeAt(curve, middle - d)) / (2 * d);
}

/** Takes off the burn trend, turned back into the reading's unit, and a slow mean. */
function detrend(reading: Float64Array, log: DriveLog, index: Int32Array, slope: number): Float64Array {
  const trend = log.columns.trend_L;
  let mean = 0;
  const sense = senseOf(reading, log, index);
  const out = reading.map((v, i) => (slope > 0 ? v - (sense * (trend[index[i]!]! - trend[index[0]!]!)) / slope : v));
  for (const v of out) mean += v;
  mean /= out.length;
  for (let i = 0; i < out.length; i++) out[i]! -= mean;
  return out;
}

/** +1 if reading and volume rise together. */
function senseOf(reading: Float64Array, log: DriveLog, index: Int32Array): number {
  let s = 0;
  const v = log.columns.volume_L;
  for (let i = 1; i < reading.length; i += 7) s += (reading[i]! - reading[0]!) * (v[index[i]!]! - v[index[0]!]!) || 0;
  return s >= 0 ? 1 : -1;
}

function variance(x: Float64Array): number {
  let s = 0;
  for (const v of x) s += v * v;
  return s / Math.max(1, x.length - 1);
}

/** The peak that stands highest over its surroundings, in the range where tanks slosh; none above a quarter of the refresh rate. */
function findPeak(s: Spectrum, refresh_Hz: number): { frequency_Hz: number; width_Hz: number } | null {
  const width = s.frequency_Hz[1]!;
  const most = Math.min(5, refresh_Hz / 2.2);
  const smooth = s.density.map((_, k) => {
    let sum = 0;
    let n = 0;
    for (let j = Math.max(1, k - 1); j <= Math.min(s.density.length - 1, k + 1); j++) {
      sum += s.density[j]!;
      n++;
    }
    return sum / n;
  });
  let best = -1;
  let bestRatio = 0;
  for (let k = 2; k < smooth.length - 1; k++) {
    const f = s.frequency_Hz[k]!;
    if (f < 0.25 || f > most) continue;
    if (!(smooth[k]! >= smooth[k - 1]! && smooth[k]! >= smooth[k + 1]!)) continue;
    // Surroundings on both sides, half an octave to a whole one away: a slope down from low frequencies is no peak.
    const side = (a: number, b: number) => {
      const part = Array.from(smooth)
        .filter((_, j) => s.frequency_Hz[j]! >= a && s.frequency_Hz[j]! <= b)
        .sort((p, q) => p - q);
      return part.length ? part[part.length >> 1]! : Number.POSITIVE_INFINITY;
    };
    const below = side(Math.max(width, f * 0.45), f * 0.72);
    const above = side(f * 1.4, Math.min(f * 2.2, s.frequency_Hz[s.frequency_Hz.length - 1]!));
    const around = Math.max(below, Number.isFinite(above) ? above : below);
    const ratio = smooth[k]! / around;
    if (ratio > bestRatio) [bestRatio, best] = [ratio, k];
  }
  const scatter = 1 + 2.5 / Math.sqrt(s.segments);
  if (best < 0 || bestRatio < Math.max(2.2, (peakOverSurroundings / 3) * scatter)) return null;
  const half = smooth[best]! / 2;
  let a = best;
  let b = best;
  while (a > 1 && smooth[a - 1]! > half) a--;
  while (b < smooth.length - 2 && smooth[b + 1]! > half) b++;
  // Centre of gravity between the half-power points: finer than one bin.
  let weight = 0;
  let sum = 0;
  for (let k = a; k <= b; k++) {
    weight += s.density[k]!;
    sum += s.density[k]! * s.frequency_Hz[k]!;
  }
  return { frequency_Hz: sum / weight, width_Hz: Math.max(width, (b - a + 1) * width) };
}

/**
 * Electrical and rounding floor of one sample: the least of four estimates, since motion can only add to each. From second
 * and third differences, from the upper end of the spectrum, and from neighbours on one level of a sender that goes in steps; all at
 * the rate at which the value is really refreshed.
 */
function floorOf(even: Even, log: DriveLog, rate_Hz: number): number {
  const every = Math.max(1, Math.round(rate_Hz / log.refreshRate_Hz));
  const { mark } = log.columns;
  const bad = MARK.spike | MARK.dropout | MARK.blank | MARK.notYetAnswered;
  const fresh: number[] = [];
  for (let i = every >> 1; i < even.reading.length; i += every)
    if ((mark[even.index[i]!]! & bad) === 0) fresh.push(even.reading[i]!);
  if (fresh.length < 32) return 0;
  const estimates = [differenceNoise(fresh, 2), differenceNoise(fresh, 3)];
  const half = rate_Hz / every / 2;
  const s = welch(Float64Array.from(fresh), 2 * half, Math.min(256, powerBelow(fresh.length)));
  const top = Array.from(s.density)
    .filter((_, k) => s.frequency_Hz[k]! >= 0.75 * half && s.frequency_Hz[k]! <= 0.98 * half)
    .sort((a, b) => a - b);
  if (top.length > 0) estimates.push(Math.sqrt(top[top.length >> 1]! * half));
  // A converter as coarse as the noise makes a gap of its own: then pairs on one level say nothing.
  const level = sameLevelNoise(fresh);
  if (level > smallestStep(fresh)) estimates.push(level);
  // On a coarse converter most neighbours are alike and a difference can be nothing at all: that says nothing.
  const found = estimates.filter((e) => e > 0);
  return found.length > 0 ? Math.min(...found) : 0;
}

/** Least distance between two different readings that follow each other. */
function smallestStep(values: number[]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const d = Math.abs(values[i]! - values[i - 1]!);
    if (d > 1e-9 && d < least) least = d;
  }
  return Number.isFinite(least) ? least : 0;
}

/** Regression of the detrended volume on smoothed along and across accelerations: litres per g, and the bias of a net turning direction. */
function tiltOf(
  log: DriveLog,
  even: Even,
  detrended: Float64Array,
  slope: number,
): { perG: number; standard: number; sd_L: number; bias_L: number | null } | null {
  const { along_g, across_g } = log.columns;
  if (!along_g && !across_g) return null;
  const n = detrended.length;
  const alpha = smoothingFactor(2, 1 / log.sampleRate_Hz);
  const smooth = (channel: Float64Array | null) =>
    channel
      ? lowPass(
          Float64Array.from(even.index, (i) => (Number.isNaN(channel[i]!) ? 0 : channel[i]!)),
          alpha,
        )
      : null;
  const channels = [smooth(along_g), smooth(across_g)].filter((c) => c !== null);
  const sense = senseOf(even.reading, log, even.index);
  const y = lowPass(
    detrended.map((v) => v * slope * sense),
    alpha,
  );
  // Normal equations are safe for two centred columns.
  const mean = (v: Float64Array) => v.reduce((s, x) => s + x, 0) / n;
  const centred = channels.map((c) => {
    const m = mean(c);
    return { m, v: c.map((x) => x - m) };
  });
  const my = mean(y);
  const fits = centred.map(({ m, v }) => {
    let xx = 0;
    let xy = 0;
    for (let i = 0; i < n; i++) {
      xx += v[i]! * v[i]!;
      xy += v[i]! * (y[i]! - my);
    }
    const b = xx > 0 ? xy / xx : 0;
    let rest = 0;
    for (let i = 0; i < n; i++) rest += (y[i]! - my - b * v[i]!) ** 2;
    // Neighbouring samples are alike over some ten seconds of smoothing and manoeuvre: so many are independent.
    const independent = Math.max(4, n / (10 * log.sampleRate_Hz));
    return {
      b,
      standard: Math.sqrt(rest / n / Math.max(1e-12, (xx / n) * independent)),
      sd_L: Math.abs(b) * Math.sqrt(xx / n),
      bias: b * m,
      // A mean that chance alone could leave is no turning direction.
      leans: leansOneWay(v, m, log.sampleRate_Hz),
    };
  });
  const best = fits.reduce((a, f) => (f.sd_L > a.sd_L ? f : a));
  const across = across_g ? fits[fits.length - 1]! : null;
  return {
    perG: best.b,
    standard: best.standard,
    sd_L: best.sd_L,
    bias_L: across?.leans && Math.abs(across.b) > 2 * across.standard ? across.bias : null,
  };
}

/**
 * Whether a mean stands out of the means of the log's parts: laps repeat, so that the parts agree although single corners scatter widely.
 * Student's t over four to eight parts of 150 s or more, 99 % two-sided (tables of the t distribution).
 */
function leansOneWay(centred: Float64Array, mean: number, rate_Hz: number): boolean {
  const limits: Record<number, number> = { 4: 5.84, 5: 4.6, 6: 4.03, 7: 3.71, 8: 3.5 };
  const parts = Math.min(8, Math.floor(centred.length / rate_Hz / 150));
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

/** Depth of liquid at a level, taking the tank as a box: only for the predicted mode. */
function depthOf(job: Job, curve: VolumeByReading, volume_L: number): number | null {
  const { depth_mm, capacity_L } = job.tank;
  if (depth_mm === null) return null;
  const full = capacity_L ?? Math.max(...curve.grid.map((g) => g.volume_L));
  return (depth_mm / 1000) * Math.max(0.05, Math.min(1, volume_L / full));
}

function byLevel(log: DriveLog, even: Even, detrended: Float64Array, slope: number): Noise["byLevel"] {
  const trend = log.columns.trend_L;
  const low = Math.min(log.from_L, log.to_L);
  const high = Math.max(log.from_L, log.to_L);
  const bins = high - low > 6 ? 3 : 1;
  const width = (high - low) / bins || 1;
  return Array.from({ length: bins }, (_, b) => {
    const part = detrended.filter(
      (__, i) => Math.min(bins - 1, Math.floor((trend[even.index[i]!]! - low) / width)) === b,
    );
    const sd = Math.sqrt(variance(part));
    const length = powerBelow(Math.min(part.length / 2, Math.round(40 * log.sampleRate_Hz)));
    const peak =
      length >= 64 ? findPeak(welch(Float64Array.from(part), log.sampleRate_Hz, length), log.refreshRate_Hz) : null;
    return {
      from_L: low + b * width,
      to_L: low + (b + 1) * width,
      seconds: part.length / log.sampleRate_Hz,
      sd,
      sd_L: sd * slope,
      sloshFrequency_Hz: peak?.frequency_Hz ?? null,
    };
  });
}

/** For the figure: about 400 bins, evenly on a log axis. */
function thinned(s: Spectrum): Noise["spectrum"] {
  const keep: number[] = [];
  let next = 0;
  for (let k = 1; k < s.density.length; k++) {
    const position = Math.log(s.frequency_Hz[k]! / s.frequency_Hz[1]!);
    if (position >= next) {
      keep.push(k);
      next = position + 0.015;
    }
  }
  return {
    frequency_Hz: keep.map((k) => s.frequency_Hz[k]!),
    density: keep.map((k) => s.density[k]!),
    segments: s.segments,
    segment_s: s.segment_s,
  };
}
