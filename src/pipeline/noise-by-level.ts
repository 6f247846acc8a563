/** How much the reading moves at each level that the logs went through: in the reading's own unit, and in litres by the curve there. */
import { powerBelow, welch } from "../math/spectrum";
import type { VolumeByReading } from "./curve-types";
import { columnsOf, lookUpOne } from "./device-table";
import type { DriveLog } from "./drive-log";
import { type Even, unfit } from "./even-samples";
import { findPeak } from "./slosh-peak";

export interface LevelNoise {
  from_L: number;
  to_L: number;
  seconds: number;
  /** Standard deviation about the burn trend: reading's unit. */
  sd: number;
  /** The same in litres, each reading taken through the curve: where the tank is narrow a volt is few of them. */
  sd_L: number;
  /** Standard uncertainty of `sd_L` from how stretches of the log differ; null where there are too few. */
  sdStandard_L: number | null;
  sloshFrequency_Hz: number | null;
}

/** One log with its good samples, and those with the burn taken off. */
export interface LevelLog {
  log: DriveLog;
  even: Even;
  /** Reading's unit, burn trend and mean off. */
  detrended: Float64Array;
  /** Litres by the curve, burn trend off. */
  moved_L: Float64Array;
}

/** What each good reading of a log is worth by the curve, less the burn trend: litres. */
export function movedLitres(log: DriveLog, even: Even, curve: VolumeByReading): Float64Array {
  const { trend_L, volume_L, mark } = log.columns;
  const table = columnsOf(curve.grid);
  const moved_L = new Float64Array(even.reading.length);
  for (let i = 0; i < moved_L.length; i++) {
    const row = i + even.first;
    // Another reading stands in the place of a marked one: the litres of all others were looked up with the log.
    const litres = (mark[row]! & unfit) !== 0 ? lookUpOne(table, even.reading[i]!) : volume_L[row]!;
    moved_L[i] = litres - trend_L[row]!;
  }
  return moved_L;
}

/** Most levels, and the least litres and seconds that make one. Named defaults, no source. */
const mostLevels = 5;
const least_L = 3;
const least_s = 10;
/** Length of a stretch that is held against the others, and the fewest of them. Named defaults, no source. */
const stretch_s = 20;
const fewestStretches = 4;

/**
 * @param logs all of them: each level is told by whichever log went through it.
 * @param sloshes false where no slosh peak stands out of the whole: then none is looked for at a level.
 * @returns from the lowest level up; a level at which no log stayed for ten seconds is left out.
 */
export function noiseByLevel(logs: LevelLog[], sloshes: boolean): LevelNoise[] {
  const low = Math.min(...logs.map(({ log }) => Math.min(log.from_L, log.to_L)));
  const high = Math.max(...logs.map(({ log }) => Math.max(log.from_L, log.to_L)));
  const levels = Math.max(1, Math.min(mostLevels, Math.floor((high - low) / least_L)));
  const width = (high - low) / levels || 1;
  const levelOf = (trend_L: number) => Math.max(0, Math.min(levels - 1, Math.floor((trend_L - low) / width)));
  const apart = logs.map((log) => partedBy(log, levels, levelOf));
  const found: (LevelNoise | null)[] = Array.from({ length: levels }, (_, level) => {
    let seconds = 0;
    const reading = pooled();
    const litres = pooled();
    const stretches: number[] = [];
    let longest: { part: Float64Array; log: DriveLog } | null = null;
    for (const [k, { log }] of logs.entries()) {
      const { detrended: mine, moved_L: mine_L } = apart[k]![level]!;
      const n = mine.length;
      if (n < least_s * log.sampleRate_Hz) continue;
      seconds += n / log.sampleRate_Hz;
      reading.add(mine);
      const mean_L = litres.add(mine_L);
      stretches.push(...meanSquares(mine_L, mean_L, Math.round(stretch_s * log.sampleRate_Hz)));
      if (!longest || n > longest.part.length) longest = { part: mine, log };
    }
    if (!longest) return null;
    const length = powerBelow(Math.min(longest.part.length / 2, Math.round(40 * longest.log.sampleRate_Hz)));
    const peak =
      sloshes && length >= 64
        ? findPeak(welch(longest.part, longest.log.sampleRate_Hz, length), longest.log.refreshRate_Hz)
        : null;
    const sd_L = litres.sd();
    return {
      from_L: low + level * width,
      to_L: low + (level + 1) * width,
      seconds,
      sd: reading.sd(),
      sd_L,
      sdStandard_L: standardOfRoot(stretches, sd_L),
      sloshFrequency_Hz: peak?.frequency_Hz ?? null,
    };
  });
  return found.filter((l) => l !== null);
}

/** The samples of each level by themselves, in their order. */
function partedBy({ log, even, detrended, moved_L }: LevelLog, levels: number, levelOf: (trend_L: number) => number) {
  const { trend_L } = log.columns;
  const at = new Uint8Array(detrended.length);
  const counts = new Int32Array(levels);
  for (let i = 0; i < at.length; i++) {
    const level = levelOf(trend_L[i + even.first]!);
    at[i] = level;
    counts[level]!++;
  }
  const parts = Array.from(counts, (n) => ({ detrended: new Float64Array(n), moved_L: new Float64Array(n) }));
  const next = new Int32Array(levels);
  for (let i = 0; i < at.length; i++) {
    const level = at[i]!;
    const part = parts[level]!;
    const n = next[level]!++;
    part.detrended[n] = detrended[i]!;
    part.moved_L[n] = moved_L[i]!;
  }
  return parts;
}

/** Squares about each part's own mean, put together. */
function pooled() {
  let squares = 0;
  let freedom = 0;
  return {
    /** @returns the part's mean. */
    add(values: Float64Array): number {
      let mean = 0;
      for (let i = 0; i < values.length; i++) mean += values[i]!;
      mean /= values.length;
      for (let i = 0; i < values.length; i++) squares += (values[i]! - mean) ** 2;
      freedom += values.length - 1;
      return mean;
    },
    sd: () => Math.sqrt(squares / Math.max(1, freedom)),
  };
}

/** Mean square about `mean` of each whole stretch. */
function meanSquares(values: Float64Array, mean: number, length: number): number[] {
  const out: number[] = [];
  for (let from = 0; from + length <= values.length; from += length) {
    let sum = 0;
    for (let i = from; i < from + length; i++) sum += (values[i]! - mean) ** 2;
    out.push(sum / length);
  }
  return out;
}

/** Standard uncertainty of a root of a mean of mean squares: that of the mean over twice the root (law of propagation). */
function standardOfRoot(squares: number[], root: number): number | null {
  const n = squares.length;
  if (n < fewestStretches || !(root > 0)) return null;
  const mean = squares.reduce((s, v) => s + v, 0) / n;
  const variance = squares.reduce((s, v) => s + (v - mean) ** 2, 0) / (n - 1);
  return Math.sqrt(variance / n) / (2 * root);
}

/** The levels at which the volume moves least and most, where they differ by more than chance would have it (95 %); else null. */
export function apartByLevel(levels: LevelNoise[]): { least: LevelNoise; most: LevelNoise } | null {
  if (levels.length < 2) return null;
  const most = levels.reduce((a, b) => (b.sd_L > a.sd_L ? b : a));
  const least = levels.reduce((a, b) => (b.sd_L < a.sd_L ? b : a));
  const apart = most.sd_L - least.sd_L;
  return apart > 1.96 * Math.hypot(most.sdStandard_L ?? apart, least.sdStandard_L ?? apart) ? { least, most } : null;
}
