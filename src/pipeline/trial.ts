/** Trial: would the driver trust this display? Replays the log through exactly what will be typed, as found beside it. */
import type { Answer } from "../answer";
import type { Circuit } from "./circuit";
import type { Curve } from "./curve";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Ends } from "./ends";
import type { Job } from "./job";
import type { Table } from "./table";

export interface TrialRun {
  /** Shown minus trend, litres: root mean square, mean, and worst. */
  rmsError_L: number;
  meanError_L: number;
  worstError_L: number;
  reversalsPerMinute: number;
  digitChangesPerMinute: number;
  digitChanges: number;
  emptyFlickersPerHour: number;
  fullFlickersPerHour: number;
  lag_s: number;
}

export interface Trial extends TrialRun {
  minutes: number;
  asFound: TrialRun | null;
  /** Two points with a 1 s filter: the common practice, for comparison. */
  twoPoint: TrialRun;
  bare: TrialRun;
  /** For the figure: the roughest few minutes. */
  window: {
    from_s: number;
    to_s: number;
    time_s: number[];
    raw_L: number[];
    smoothed_L: number[];
    shown_L: number[];
    trend_L: number[];
    changes: { bare_s: number[]; smoothed_s: number[]; shown_s: number[] };
  };
}

export function replayTrial(
  _logs: DriveLog[],
  _table: Table,
  _display: Display,
  _ends: Ends,
  _circuit: Circuit | null,
  _curve: Curve,
  _job: Job,
): Answer<Trial> {
  throw new Error("not written yet");
}
