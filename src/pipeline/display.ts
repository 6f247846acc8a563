/** Display: what holds the reading still, and at what delay? Time constant and deadband together, by replay of the log. */
import type { Answer } from "../answer";
import type { Choices } from "./choices";
import type { Circuit } from "./circuit";
import type { Curve } from "./curve";
import type { DriveLog } from "./drive-log";
import type { Feature, Job } from "./job";
import type { Noise } from "./noise";

export interface DisplaySetting {
  timeConstant_s: number;
  deadband_L: number;
  /** Lag in litres at the log's burn, and seconds to show 90 % of a refuel. */
  lag_L: number;
  refuel90_s: number;
  reversalsPerMinute: number;
  /** Half-width of the 95 % interval of that count. */
  reversalsHalfWidth: number;
  digitChangesPerMinute: number;
  rmsError_L: number;
}

export interface Display extends DisplaySetting {
  smoothingFactor: number;
  rate_Hz: number;
  cutoff_Hz: number;
  deadbandKind: "play" | "jump";
  /** In the unit and step in which the device asks. */
  asked: {
    smoothing: number;
    smoothingUnit: "seconds" | "factor" | "cutoff" | "samples" | "none";
    deadband: number;
    deadbandUnit: "L" | "percent" | "V";
  };
  order: "reading-then-table" | "table-then-filter";
  uses: Feature[];
  /** Steadiness of the bare reading and of a 1 s filter, for comparison. */
  bare: { reversalsPerMinute: number; digitChangesPerMinute: number };
  oneSecond: { reversalsPerMinute: number; digitChangesPerMinute: number };
  /** The whole trade: one line a deadband. */
  trade: {
    deadband_L: number;
    points: { timeConstant_s: number; reversalsPerMinute: number; digitChangesPerMinute: number; lag_L: number }[];
  }[];
  /** Deadbands offered with the least smoothing that each needs (null: none in the device's range does it). */
  options: { deadband_L: number; timeConstant_s: number | null }[];
  recommended: DisplaySetting;
  overridden: boolean;
  /** Whether the wanted steadiness and the lag limit are both met. */
  met: boolean;
  nearest: { steady: DisplaySetting | null; quick: DisplaySetting | null } | null;
}

export function chooseDisplay(
  _logs: DriveLog[],
  _noise: Noise,
  _curve: Curve,
  _circuit: Circuit | null,
  _job: Job,
  _choice: Choices["display"],
): Answer<Display> {
  throw new Error("not written yet");
}
