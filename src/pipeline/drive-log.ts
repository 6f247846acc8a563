/**
 * Drive log: how does the volume move on the road?
 *
 * Takes a recording and the curve, returns readings on their own clock with every oddity marked (never removed),
 * the parts of the drive, and the burn trend.
 */
import type { Answer } from "../answer";
import type { Choices } from "./choices";
import type { Circuit } from "./circuit";
import type { Curve } from "./curve";
import type { Job } from "./job";
import type { Recording } from "./recording";

/** Bit flags of `columns.mark`. A marked sample stays in the record. */
export const MARK = { spike: 1, dropout: 2, held: 4, atEnd: 8, blank: 16, notYetAnswered: 32 } as const;

export interface DriveColumns {
  time_s: Float64Array;
  /** Reading unit of the curve; NaN where blank. */
  reading: Float64Array;
  /** Litres on the fill-day curve; NaN where blank. */
  volume_L: Float64Array;
  /** Burn trend, litres. */
  trend_L: Float64Array;
  mark: Uint8Array;
  along_g: Float64Array | null;
  across_g: Float64Array | null;
  speed_kmh: Float64Array | null;
  flow_L_per_h: Float64Array | null;
  supply_V: Float64Array | null;
}

export interface DrivePart {
  kind: "parked" | "driving" | "refuelling" | "gap";
  from_s: number;
  to_s: number;
}

export interface DriveLog {
  file: string;
  sha256: string;
  rows: number;
  duration_s: number;
  /** Rows a second by the clock (median step), how uneven it is, and how often the value really changes. */
  sampleRate_Hz: number;
  clockJitter_fraction: number;
  refreshRate_Hz: number;
  parts: DrivePart[];
  from_L: number;
  to_L: number;
  burn_L_per_h: number;
  counts: {
    spikes: number;
    dropouts: number;
    held: number;
    atEnd: number;
    blank: number;
    backwards: number;
    repeatedStamps: number;
  };
  /** Minimum and maximum per bin for the plot, at most 4,000 points, so that peaks are kept. */
  trace: { time_s: number[]; low_L: number[]; high_L: number[]; trend_L: number[] };
  /** Heavy: stays on the worker's side. */
  columns: DriveColumns;
}

export function readDrive(
  _recordings: Recording[],
  _curve: Curve,
  _circuit: Circuit | null,
  _job: Job,
  _range: Choices["driveRange"],
): Answer<DriveLog[]> {
  throw new Error("not written yet");
}
