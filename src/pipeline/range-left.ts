/** Range left: how wrong can it be? Law of propagation first, then Monte Carlo; median and equal tails. */
import type { Answer } from "../answer";
import type { Curve } from "./curve";
import type { Display } from "./display";
import type { Job } from "./job";
import type { LowFuel } from "./low-fuel";
import type { Noise } from "./noise";
import type { Trial } from "./trial";

export interface RangeLeft {
  /** At the moment the warning shows. */
  usable_L: number;
  usableLower_L: number;
  usableUpper_L: number;
  range: number;
  rangeLower: number;
  rangeUpper: number;
  unit: "km" | "mi" | "h" | "lap" | "L";
  /** Law of propagation beside it. */
  propagation: { range: number; standard: number; lower: number; upper: number };
  holdBack_L: number;
  holdBack: number;
  budget: { part: string; standard_L: number | null; share: number }[];
  improvements: { what: string; rangeHalfWidth: number }[];
  trials: number;
}

export function rangeLeft(
  _curve: Curve,
  _lowFuel: LowFuel,
  _display: Display | null,
  _noise: Noise | null,
  _trial: Trial | null,
  _job: Job,
  _seed: number,
): Answer<RangeLeft> {
  throw new Error("not written yet");
}
