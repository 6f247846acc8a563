/** Circuit: does the circuit show the whole travel? Divider, span, bend, heat, fault limits, the error of one reading. */
import type { Answer } from "../answer";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";

export interface PullUpOption {
  pullUpOhms: number;
  series: "E24" | "E96";
  spanVolts: number;
  bend_fraction: number;
  senderHeat_W: number;
  shortCircuit_A: number;
  /** Worst over the range: litres that the stated reading noise means. */
  worstNoise_L: number | null;
}

export interface Circuit {
  kind: "pull-up" | "converter" | "none";
  emptyVolts: number | null;
  fullVolts: number | null;
  spanVolts: number | null;
  /** Largest error of a straight line through both ends: fraction of the span, litres, and where. */
  twoPointBend_fraction: number | null;
  twoPointBend_L: number | null;
  bendAt_ohm: number | null;
  senderHeat_W: number | null;
  shortCircuit_A: number | null;
  bestPullUps: PullUpOption[];
  /** Readings outside are believed to be faults, in the reading's unit. */
  faultLow: number | null;
  faultHigh: number | null;
  faultLowVolts: number | null;
  faultHighVolts: number | null;
  /** What one reading may be wrong by, part by part (standard uncertainties). `cancels`: constant, so inside the curve. */
  budget: {
    part: string;
    standard_V: number;
    standard_ohm: number | null;
    standard_L: number | null;
    cancels: boolean;
  }[];
  /** Measured ends against prediction. */
  measured: { emptyVolts: number; fullVolts: number; signature: string; says: string } | null;
  gaugeMatch: {
    fits: boolean;
    reversed: boolean;
    seriesOhms: number | null;
    parallelOhms: number | null;
    watts: number | null;
    middleOff_fraction: number | null;
    says: string;
  } | null;
  runningShift: null;
}

/** @returns stuck `circuit/not-stated` when the job names neither sender resistances nor a pull-up nor a fill run. */
export function checkCircuit(_job: Job, _fillRuns: FillRuns | null): Answer<Circuit> {
  throw new Error("not written yet");
}
