/** Sheet words: what one amount of a run is called, and which way its volumes are counted. */
import type { FillRun } from "./fill-run";

type Way = Pick<FillRun, "direction" | "fillPours">;

/** One amount on the sheet: poured in, or drawn out. */
export const amountWord = ({ direction }: Pick<Way, "direction">): "pour" | "draw" =>
  direction === "drain" ? "draw" : "pour";

/** Beside a fill run a drain counts down from the full mark: a litre more drawn is a litre less at every later step. Alone it counts up from its own end. */
export const countsDown = ({ direction, fillPours }: Way): boolean => direction === "drain" && fillPours > 0;

/** Which steps a wrong amount moves. A drain alone is numbered from its end: step 6 is the sixth row from the bottom of its sheet. */
export const laterSteps = (run: Way): string =>
  run.direction === "drain" && run.fillPours === 0 ? "every step over it" : "every step from there on";

/** Whether the written volumes sit low or high where an amount is written so many litres (written minus true) off. */
export const sideOf = (amount_L: number, run: Way): "low" | "high" =>
  (countsDown(run) ? -amount_L : amount_L) < 0 ? "low" : "high";

/** No fill run is there: every litre was drawn, and counts back from the end of its run. */
export const drainsAlone = (runs: Pick<Way, "direction">[]): boolean =>
  runs.length > 0 && runs.every((r) => r.direction === "drain");
