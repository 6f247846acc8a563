/** Slosh peak: which frequency stands out of a spectrum, and how wide is it? */
import type { Spectrum } from "../math/spectrum";

/** How much higher than its surroundings a peak of the spectrum must stand; tuned on simulated drives without slosh. */
const peakOverSurroundings = 6;

/** Share of the peak's height above which it is its top; tuned on simulated drives with two modes near each other. */
const topShare = 0.8;

/** The peak that stands highest over its surroundings, in the range where tanks slosh; none above a quarter of the refresh rate. */
export function findPeak(s: Spectrum, refresh_Hz: number): { frequency_Hz: number; width_Hz: number } | null {
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
      const from = Math.max(0, Math.floor(a / width) - 1);
      const part = smooth
        .slice(from, Math.ceil(b / width) + 2)
        .filter((_, j) => s.frequency_Hz[from + j]! >= a && s.frequency_Hz[from + j]! <= b)
        .sort();
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
  const [from, to] = above(smooth, best, 0.5);
  // Centre of gravity of the top alone: finer than one bin, and two modes that have grown together at half height do not pull it between them.
  const [left, right] = above(smooth, best, topShare);
  let weight = 0;
  let sum = 0;
  for (let k = left; k <= right; k++) {
    weight += smooth[k]!;
    sum += smooth[k]! * s.frequency_Hz[k]!;
  }
  return { frequency_Hz: sum / weight, width_Hz: Math.max(width, (to - from + 1) * width) };
}

/** First and last bin around a peak that stand above a share of its height. */
function above(density: Float64Array, peak: number, share: number): [number, number] {
  const least = share * density[peak]!;
  let from = peak;
  let to = peak;
  while (from > 1 && density[from - 1]! > least) from--;
  while (to < density.length - 2 && density[to + 1]! > least) to++;
  return [from, to];
}

export interface ThinnedSpectrum {
  frequency_Hz: number[];
  density: number[];
  segments: number;
  segment_s: number;
}

/** For the figure: about 400 bins, evenly on a log axis. */
export function thinned(s: Spectrum): ThinnedSpectrum {
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
