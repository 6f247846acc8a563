/** The rows typed so far as a run: a fill counts up from its start, a drain counts down from its full tank, as beside a fill run. */
import type { FillRun, FixedSteps, Step } from "./fill-run";
import type { Job } from "./job";
import { findDeadZones, findFixedSteps } from "./sender-marks";
import { typedStep } from "./typed-steps";

/** One row of the sheet: litres of this pour or draw alone (0 for the first) and the reading after it. */
export interface PourRow {
  added_L: number;
  reading: number;
}

/** Poured into the tank, or drawn out of a full one. */
export type RunKind = "fill" | "drain";

export interface RunSoFar {
  run: FillRun;
  /** Which way the reading goes as the tank fills. */
  sense: 1 | -1;
  /** Litres poured or drawn in all, and whether so much that the sender may stand on the stop at the end of the run. */
  total_L: number;
  nearEnd: boolean;
  /** The usual pour or draw, litres. */
  usual_L: number;
  fixedSteps: FixedSteps | null;
}

/** Rows that are looked back on: more cost time and tell hardly more of the last ones. */
const mostRows = 60;
/** From this share of the capacity on the sender may stand on its stop (named default, no source). */
const nearTheEnd = 0.85;
/** A reading that is off its stop has moved by so much of the largest move (named default, no source). */
const hardly = 0.35;
/** Rows of which the largest move is taken: the foot of a tank moves the reading several times as far (named default, no source). */
const upperRows = 8;

/** @returns null where under four rows have a reading, the last row has none, or an amount is less than nothing. */
export function runSoFar(rows: PourRow[], job: Job, readingStep: number, kind: RunKind): RunSoFar | null {
  const counted = stepsOf(rows, readingStep).slice(-mostRows);
  const last = counted[counted.length - 1];
  if (!last || last.index !== rows.length - 1 || counted.length < 4) return null;
  if (counted.some((s) => !(s.added_L >= 0))) return null;
  const total_L = last.volume_L;
  const drain = kind === "drain";
  const amounts = counted.map((s) => s.added_L).filter((a) => a > 0);
  const usual_L = job.pour.size_L ?? amounts.sort((a, b) => a - b)[amounts.length >> 1];
  if (usual_L === undefined) return null;
  const stated_L = (drain ? job.drain.errorPerDraw_L : null) ?? job.pour.errorPerPour_L;
  const capacity_L = job.tank.capacity_L;
  const nearEnd = capacity_L !== null && total_L > nearTheEnd * capacity_L;
  const steps = drain ? counted.map((s) => ({ ...s, volume_L: total_L - s.volume_L })) : counted;
  const end = steps[steps.length - 1]!;
  // A drain goes on until nothing more comes: a small last draw is what was left, and its amount speaks of no slip of the pen.
  if (drain && (nearEnd || (capacity_L === null && end.added_L < usual_L))) end.added_L = 0;
  const run: FillRun = {
    file: "",
    kind: "typed",
    direction: kind,
    steps,
    pourStandard_L: stated_L ?? 0.01 * usual_L,
    // Over 0 says that a drain counts down. How many pours stand behind its full mark moves all its steps alike.
    fillPours: drain ? 1 : 0,
    runningTotal: job.pour.runningTotal,
    trace: null,
  };
  const rises = end.reading >= steps[0]!.reading;
  const sense = rises === drain ? -1 : 1;
  // What the sender shows of itself is looked for from empty to full.
  const upward = drain ? { ...run, steps: [...steps].reverse() } : run;
  const fixedSteps = findFixedSteps(upward, job, readingStep);
  if (drain && !fixedSteps) for (const s of onFullStop(steps)) s.atStop = "full";
  // Two rows alike in the middle of a tank are no stop.
  if (!fixedSteps)
    for (const zone of findDeadZones(upward, sense, readingStep))
      if (nearEnd || zone.end === (drain ? "full" : "empty"))
        for (const s of steps) if (zone.steps.includes(s.index)) s.atStop = zone.end;
  return { run, sense, total_L, nearEnd, usual_L, fixedSteps };
}

/**
 * First rows of a drain over which the reading hardly moves: the float of a full tank stands on its stop, often over several draws. They are told by
 * what the reading moves once it is free; one row alone may be on its way.
 */
function onFullStop(steps: Step[]): Step[] {
  const first = steps[0]!.reading;
  const largest = Math.max(...steps.slice(1, upperRows).map((s, i) => Math.abs(s.reading - steps[i]!.reading)));
  const left = steps.findIndex((s) => Math.abs(s.reading - first) > hardly * largest);
  return left > 1 ? steps.slice(0, left) : [];
}

/** Rows with a reading as steps; a row without one is poured all the same. */
function stepsOf(rows: PourRow[], readingStep: number): Step[] {
  const steps: Step[] = [];
  let volume_L = 0;
  rows.forEach((row, index) => {
    if (Number.isFinite(row.added_L)) volume_L += row.added_L;
    if (!Number.isFinite(row.reading)) return;
    const before = steps[steps.length - 1];
    const added_L = volume_L - (before?.volume_L ?? volume_L);
    steps.push(typedStep(index, volume_L, added_L, row.reading, readingStep, index + 1));
  });
  return steps;
}
