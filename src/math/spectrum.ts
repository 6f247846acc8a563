/** Welch spectrum: Hann windows, half overlap, mean taken off each (Welch 1967). FFT by the fft.js library. */
import FFT from "fft.js";

export interface Spectrum {
  frequency_Hz: Float64Array;
  /** One-sided power density, unit² per hertz. */
  density: Float64Array;
  segments: number;
  segment_s: number;
}

/**
 * @param values evenly sampled, finite.
 * @param rate_Hz samples a second. @param length samples a segment, a power of two, at most the record's length.
 * @throws if the record is shorter than a segment.
 */
export function welch(values: Float64Array, rate_Hz: number, length: number): Spectrum {
  if (values.length < length) throw new Error(`welch: needs ${length} samples, got ${values.length}`);
  const fft = new FFT(length);
  const window = Float64Array.from({ length }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / length));
  const power = window.reduce((s, w) => s + w * w, 0);
  const half = length / 2;
  const density = new Float64Array(half + 1);
  const input = new Array<number>(length);
  const out = fft.createComplexArray();
  let segments = 0;
  for (let from = 0; from + length <= values.length; from += half) {
    let mean = 0;
    for (let i = 0; i < length; i++) mean += values[from + i]!;
    mean /= length;
    for (let i = 0; i < length; i++) input[i] = (values[from + i]! - mean) * window[i]!;
    fft.realTransform(out, input);
    for (let k = 0; k <= half; k++) density[k]! += out[2 * k]! ** 2 + out[2 * k + 1]! ** 2;
    segments++;
  }
  for (let k = 0; k <= half; k++) density[k]! *= (k === 0 || k === half ? 1 : 2) / (segments * rate_Hz * power);
  return {
    frequency_Hz: Float64Array.from({ length: half + 1 }, (_, k) => (k * rate_Hz) / length),
    density,
    segments,
    segment_s: length / rate_Hz,
  };
}

/** Largest power of two that is at most n. */
export const powerBelow = (n: number): number => 2 ** Math.floor(Math.log2(Math.max(1, n)));

/** Variance between two frequencies (trapezoids would smear the edges: whole bins are added). */
export function bandVariance(s: Pick<Spectrum, "frequency_Hz" | "density">, from_Hz: number, to_Hz: number): number {
  const width = s.frequency_Hz[1]! - s.frequency_Hz[0]!;
  let sum = 0;
  for (let k = 0; k < s.density.length; k++)
    if (s.frequency_Hz[k]! >= from_Hz && s.frequency_Hz[k]! < to_Hz) sum += s.density[k]! * width;
  return sum;
}
