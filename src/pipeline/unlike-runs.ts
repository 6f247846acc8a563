/** Runs that cannot be of one sender in one tank: a column taken for another, or volumes read the other way. Told before anything is pooled. */
import type { Issue } from "../answer";
import { withUnit } from "../format";
import { type Said, say } from "../said";
import type { FillRun } from "./fill-run";
import type { ReadingUnit } from "./job";
import { litresOf } from "./litres";
import type { UsableRun } from "./run-steps";
import { byColumn, mendedBy } from "./ways";

/** Between two runs of one tank the same litres move the reading alike; so many times as far is another column (named default, no source). */
const mostTimes = 2;
/** Litres that both cover, as a share of what the longer run covers, and how much of its travel the reading must move there (named default, no source). */
const leastCommon = 1 / 3;
/** Runs that read over so much of the same range went over about the same level (named default, no source). */
const sameRange = 0.8;

/**
 * Over the litres that both cover the reading must move the same way and about as far, and over the same readings the litres must be about as many.
 * @returns null where the runs agree so far.
 */
export function unlikeRuns(usable: UsableRun[], unit: ReadingUnit): Issue | null {
  for (const [i, a] of usable.entries())
    for (const b of usable.slice(i + 1)) {
      if (!movesApart(a, b) && !countsApart(a.run, b.run)) continue;
      return {
        code: "several-runs/unlike",
        says: say`${told(b.run, unit)}, where ${told(a.run, unit)}: these are not the same sender and the same litres.`,
        ...mendedBy(
          byColumn("reading"),
          (way) =>
            `Choose the column of its readings ${way}, look how its volumes are counted, or take that run out: until then the curve is drawn through both.`,
        ),
        where: { file: b.run.file },
        weight: "doubtful",
      };
    }
  return null;
}

function movesApart(a: UsableRun, b: UsableRun): boolean {
  const [first, second] = [a.steps, b.steps];
  if (first.length < 3 || second.length < 3) return false;
  const from = Math.max(first[0]!.volume_L, second[0]!.volume_L);
  const to = Math.min(first.at(-1)!.volume_L, second.at(-1)!.volume_L);
  const wider = Math.max(...[first, second].map((s) => s.at(-1)!.volume_L - s[0]!.volume_L));
  if (!(to - from >= leastCommon * wider)) return false;
  const moves = [a, b].map(({ curve }) => (curve.at(to) ?? Number.NaN) - (curve.at(from) ?? Number.NaN));
  const spans = [a, b].map(({ run }) => width(rangesOf(run).reading));
  // Where neither moves much, a stop or a dead zone is as likely.
  if (!(Math.max(...moves.map(Math.abs)) >= leastCommon * Math.max(...spans))) return false;
  return moves[0]! * moves[1]! <= 0 || timesApart(moves[0]!, moves[1]!) > mostTimes;
}

function countsApart(a: FillRun, b: FillRun): boolean {
  const [first, second] = [rangesOf(a), rangesOf(b)];
  const both = Math.min(first.reading[1], second.reading[1]) - Math.max(first.reading[0], second.reading[0]);
  const wider = Math.max(width(first.reading), width(second.reading));
  return both >= sameRange * wider && timesApart(width(first.volume), width(second.volume)) > mostTimes;
}

const timesApart = (a: number, b: number): number =>
  Math.max(Math.abs(a), Math.abs(b)) / Math.max(Math.min(Math.abs(a), Math.abs(b)), Number.MIN_VALUE);

type Range = [number, number];
const width = ([from, to]: Range): number => to - from;
const rangeOf = (values: number[]): Range => [Math.min(...values), Math.max(...values)];
const rangesOf = (run: FillRun): { reading: Range; volume: Range } => ({
  reading: rangeOf(run.steps.map((s) => s.reading)),
  volume: rangeOf(run.steps.map((s) => s.volume_L)),
});

/** What one run was read as, in the order of the sheet: its steps, its litres, and the readings that it began and ended with. */
export function readAs(run: FillRun, unit: ReadingUnit): Said {
  const sign = unit === "ohm" ? "Ω" : unit === "count" ? "counts" : unit;
  const rises = run.steps[0]!.volume_L <= run.steps.at(-1)!.volume_L;
  // A drain run that stands alone is kept turned round.
  const inOrder = run.direction === "drain" && rises ? [...run.steps].reverse() : run.steps;
  return say`${run.steps.length} steps, ${litresOf(width(rangesOf(run).volume), 3)} in all, from ${withUnit(inOrder[0]!.reading, sign)} to ${withUnit(inOrder.at(-1)!.reading, sign)}`;
}

const told = (run: FillRun, unit: ReadingUnit): Said => say`${run.file} has ${readAs(run, unit)}`;
