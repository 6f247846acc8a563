/** Table: which numbers go into the device? Cut after the ends are moved in, searched on the device's own rounded lattice. */
import type { Answer } from "../answer";
import type { Choices } from "./choices";
import type { Curve } from "./curve";
import type { Ends } from "./ends";
import type { Job } from "./job";

export interface TableRow {
  /** In the curve's reading unit and litres since the start. */
  reading: number;
  volume_L: number;
  /** The very digits to type, in the device's units, step and base (usable or since start). */
  typedReading: string;
  typedVolume: string;
}

export interface Table {
  rows: TableRow[];
  readingUnit: "V" | "mV" | "ohm" | "count";
  volumeUnit: "L" | "USgal" | "impgal" | "percent";
  base: "usable" | "since-start";
  /** Largest and RMS distance from the curve between the ends, litres, rounding included. */
  error_L: number;
  rms_L: number;
  errorAt: number;
  /** Best error for each number of points, for the figure. */
  byPoints: { points: number; error_L: number }[];
  twoPoint: { rows: TableRow[]; error_L: number; rms_L: number };
  /** The table with the sheet as written, beside it; null when nothing was treated. */
  asWritten: { rows: TableRow[]; error_L: number } | null;
  recommendedPoints: number;
  overridden: boolean;
}

export function cutTable(_curve: Curve, _ends: Ends, _job: Job, _choice: Choices["table"]): Answer<Table> {
  throw new Error("not written yet");
}
