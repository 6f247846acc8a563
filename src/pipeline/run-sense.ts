/** Sense of a run: does its reading rise or fall as fuel is added, and does one run go against the others? */
import type { FillRun } from "./fill-run";

/** Whether readings rise with the steps: middle of the later half against that of the earlier. A slip of the decimal mark, ten times all others, must not turn the tank round. */
export function senseOf(readings: number[]): 1 | -1 {
  const half = Math.ceil(readings.length / 2);
  const [early, late] = [readings.slice(0, half), readings.slice(-half)];
  const apart = middleOf(late) - middleOf(early) || sumOf(late) - sumOf(early);
  return apart >= 0 ? 1 : -1;
}

/** A run whose readings travel as far, the other way. Few steps may be all slips, and are left to the search for odd ones. */
export function goesAgainst(run: FillRun, sense: 1 | -1, travel: number): boolean {
  const readings = [...run.steps].sort((a, b) => a.volume_L - b.volume_L).map((s) => s.reading);
  const far = Math.max(...readings) - Math.min(...readings) > travel / 2;
  return readings.length >= 4 && far && senseOf(readings) !== sense;
}

function middleOf(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
}

const sumOf = (values: number[]) => values.reduce((s, v) => s + v, 0);
