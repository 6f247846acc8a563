/**
 * Figure: a plot described once as plain data. Drawn at once as static SVG (page, print, report, command line) and
 * handed to the interactive plotter when that has arrived. Knows nothing of fuel.
 */

/** What a mark or line stands for; the drawing decides colour, dash and shape, never colour alone. */
export type Role =
  | "curve" // what was found: firm line
  | "compare" // common practice beside it: dashed
  | "other" // other candidates: grey, dashed or dotted
  | "raw" // raw record: thin grey
  | "smoothed"
  | "shown" // what the display shows: ink, in steps
  | "limit" // the user's wanted limit
  | "floor" // what nothing can beat
  | "truth";

export type PointRole = "accepted" | "suspect" | "set-aside" | "chosen" | "written" | "plain";

export interface Axis {
  /** What is on it, e.g. "litres in the tank". */
  label: string;
  unit: string;
  scale: "linear" | "log";
  /** Domain; null: from the data, with a little room. */
  from: number | null;
  to: number | null;
}

export interface LineSeries {
  kind: "line";
  role: Role;
  name: string;
  x: number[];
  y: number[];
  /** Draw as steps (a digit holds until it changes). */
  stepped?: boolean;
  /** Direct label at the end of the line, or null for none. */
  label: string | null;
}

export interface PointSeries {
  kind: "points";
  role: PointRole;
  name: string;
  x: number[];
  y: number[];
  /** Bars to these bounds, if any. */
  lower?: number[];
  upper?: number[];
  labels?: (string | null)[];
}

export interface BandSeries {
  kind: "band";
  name: string;
  x: number[];
  lower: number[];
  upper: number[];
  label: string | null;
}

/** Strokes on one level, one for each event (changes of a digit). */
export interface RugSeries {
  kind: "rug";
  role: Role;
  name: string;
  x: number[];
  label: string;
}

export type Series = LineSeries | PointSeries | BandSeries | RugSeries;

/** A remark drawn into the figure: a gap worth naming is a dimension line with its number. */
export type Mark =
  | { kind: "gap"; x: number; from: number; to: number; text: string }
  | { kind: "gap-x"; y: number; from: number; to: number; text: string }
  | { kind: "vertical"; x: number; text: string; role: Role }
  | { kind: "horizontal"; y: number; text: string; role: Role }
  | { kind: "region"; from: number; to: number; text: string }
  | { kind: "text"; x: number; y: number; text: string };

export interface Panel {
  y: Axis;
  series: Series[];
  marks: Mark[];
  /** Places that can be taken by a press, and what taking one would do: on the page only, never the only way. */
  picks?: { x: number; y: number; says: string }[];
  /** Share of the figure's height. */
  share: number;
}

export interface Figure {
  id: string;
  /** The finding in one sentence: stands over the figure and is read out. */
  finding: string;
  x: Axis;
  /** Panels under each other on the same x axis (residuals under the curve). */
  panels: Panel[];
  /** Key under the figure: what each shape means. `nth`: which of the panel's lines with this role, from 0, where each has a stroke of its own. */
  key: { role: PointRole | Role | "band"; text: string; nth?: number }[];
  /** The data as a table, for a screen reader and for copying. */
  table: { columns: string[]; rows: (string | number | null)[][] };
}
