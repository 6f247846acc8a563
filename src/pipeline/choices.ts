/** Choices: everything that the technician decided by hand. Nothing here can be computed from the data. */

/** What to do with one step; the key in `Choices.steps` is `<run>:<step>`, both counted from 0. */
export interface StepChoice {
  treat: "keep" | "set-aside" | "put-in";
  /** With `put-in`: litres that the sheet is short of from this step on. */
  amount_L?: number;
  reason: string;
}

/** How the columns of one file were mapped by hand; null leaves it to the reader. Keyed by file hash. */
export interface FileReading {
  delimiter?: string;
  decimal?: "." | ",";
  encoding?: "utf-8" | "utf-16le" | "utf-16be" | "windows-1252";
  headerRow?: number | null;
  columns?: Partial<Record<ColumnRole, string>>;
  enteredAs?: "added" | "cumulative";
  units?: Partial<Record<ColumnRole, string>>;
}

export type ColumnRole = "volume" | "reading" | "time" | "across" | "along" | "speed" | "flow" | "supply" | "marker";

/** `to_s` null: to the end. */
export interface LogPart {
  from_s: number;
  to_s: number | null;
}

/** Null always means: as recommended. */
export interface Choices {
  steps: Record<string, StepChoice>;
  /** Knots stay where they are typed; `free` more are looked for beside them (0 to 2); `flat` pieces between typed knots, counted from 1. */
  curve: { shape: CurveShape | null; knots: number[] | null; free?: number; flat?: number[] };
  display: { timeConstant_s: number | null; deadband_L: number | null };
  ends: { emptyMargin: number | null; fullMargin: number | null };
  table: { points: number | null };
  lowFuel: { warnAtUsable_L: number | null };
  /** Part of a drive log that counts, in seconds from its own start, by the file's hash; all of a log that is not named. */
  driveParts: Record<string, LogPart>;
  seed: number;
}

export type CurveShape = "smooth" | "piecewise" | "divider" | "polynomial" | "line";

export const noChoices: Choices = {
  steps: {},
  curve: { shape: null, knots: null },
  display: { timeConstant_s: null, deadband_L: null },
  ends: { emptyMargin: null, fullMargin: null },
  table: { points: null },
  lowFuel: { warnAtUsable_L: null },
  driveParts: {},
  seed: 1,
};
