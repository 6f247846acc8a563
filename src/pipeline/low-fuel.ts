/** Low fuel: when does the light come on? Warning and clear points from the reserve, the risk, lag, deadband and delay. */
import type { Answer } from "../answer";
import type { Choices } from "./choices";
import type { Curve } from "./curve";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";
import type { Noise } from "./noise";
import type { Trial } from "./trial";

export interface LowFuel {
  reserve_L: number;
  warnAtUsable_L: number;
  clearAtUsable_L: number | null;
  delay_s: number;
  falseAlarmsPerHour: number | null;
  /** True volume above which an alarm counts as false, usable litres. */
  falseAbove_L: number;
  parts: { part: string; value_L: number; why: string }[];
  recommendedWarnAt_L: number;
  overridden: boolean;
  risk: number;
  /** The log reached low levels, or the noise was carried over from higher ones. */
  evidence: "drive-log-low" | "drive-log-higher" | "fill-run";
}

export function setWarning(
  _curve: Curve,
  _display: Display | null,
  _noise: Noise | null,
  _trial: Trial | null,
  _logs: DriveLog[] | null,
  _job: Job,
  _choice: Choices["lowFuel"],
): Answer<LowFuel> {
  throw new Error("not written yet");
}
