/** Ends: how much is kept back at each end? Margins from the level-crossing rate of the filtered noise, checked by replay. */
import type { Answer } from "../answer";
import type { Choices } from "./choices";
import type { Curve } from "./curve";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import type { Noise } from "./noise";

export interface EndMargin {
  /** The reading at which the device is told that this end is reached. */
  reading: number;
  margin: number;
  hidden_L: number;
  flickersPerHour: number;
  parts: { part: string; value: number; why: string }[];
  evidence: "drive-log" | "fill-run";
  recommendedMargin: number;
  overridden: boolean;
}

export interface Ends {
  empty: EndMargin;
  full: EndMargin;
  /** Filtered noise that the margins stand on, reading unit. */
  filteredSd: number;
}

export function setEnds(
  _curve: Curve,
  _fillRuns: FillRuns,
  _noise: Noise | null,
  _display: Display | null,
  _logs: DriveLog[] | null,
  _job: Job,
  _choice: Choices["ends"],
): Answer<Ends> {
  throw new Error("not written yet");
}
