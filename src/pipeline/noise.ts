/** Noise: how large and how slow is the slosh? Trend off, Welch spectrum, slosh peak, tilt, floor, spikes, dropouts. */
import type { Answer } from "../answer";
import type { Curve } from "./curve";
import type { DriveLog } from "./drive-log";
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

export function describeNoise(_logs: DriveLog[], _curve: Curve, _job: Job): Answer<Noise> {
  throw new Error("not written yet");
}
