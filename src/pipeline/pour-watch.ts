/** Pour watch: does the row just typed fit those before it? Asked while pouring or drawing, when a slip can still be checked at the tank. */

import { fixed, withUnit } from "../format";
import { type Said, say } from "../said";
import { heldBackLeast, heldBackShare, waitFor_s } from "./device-smooths";
import type { Job } from "./job";
import { litresOfTank, litresTo } from "./litres";
import { chancesSoFar, leastRows, type PourChances, type PourRow, type RunKind, type Slip } from "./pour-chances";
import {
  kindOfSlip,
  ratioOf,
  rowWords,
  type Situation,
  type SlipKind,
  sayOfSlip,
  sayWasWithdrawn,
  sayWithdrawn,
} from "./pour-words";

export type { PourRow, RunKind } from "./pour-chances";

export type WatchCode =
  | "first"
  | "fits"
  | "hardly-moves"
  | "weighing"
  | "no-reading"
  | "odd-pour"
  | "below-nothing"
  | "stands-still"
  | "over-capacity"
  | "wait"
  | "doubt"
  | "withdrawn"
  | SlipKind;

export type WatchWeight = "fine" | "look" | "check";

export interface WatchRemark {
  code: WatchCode;
  weight: WatchWeight;
  says: Said;
  /** Row that it is about. */
  row: number;
  /** Row that cleared it; null while it stands. */
  withdrawnAt: number | null;
}

export interface RowJudgement {
  /** `check` asks to look before the next pour; `look` only remarks; `fine` says that the row fits, or that its warning was withdrawn. */
  weight: WatchWeight;
  /** What was said when the row was typed, about it and those before it. */
  remarks: WatchRemark[];
  /** Reading that the rows before led to expect, and how far this pour or draw moved it, as a share of that; null on the first rows. */
  expected: number | null;
  ratio: number | null;
  /** Share of that move that a smoothing device still holds back: exp(−wait/τ), and the same in the reading's unit. */
  leftIn: { share: number; reading: number } | null;
}

/**
 * From which chance on a row is asked about: the one just typed, the one before it, and older ones. Chosen on tuning seeds 1–999
 * (tests/promises/measure-watch.ts): 87 % of the faults of five standard errors are asked about within one further row, and 8 % of the
 * clean sheets are ever asked about. A bend of the tank looks like a slip in the last row, so that asks for more; a row that was passed
 * without a word asks for most.
 */
export const askFrom = { last: 0.7, before: 0.3, older: 0.9 };
/** A fainter doubt about the last row is remarked, and a question is withdrawn under this chance. */
const remarkFrom = 0.2;
/** Row from which on a sender without wide levels is judged. */
const usualFrom = 3;
export const withdrawUnder = 0.1;

/** What is weighed after row `at`, by it and those before it. @returns null where nothing can be told yet. */
export const weighRow = (
  rows: PourRow[],
  at: number,
  job: Job,
  readingStep: number,
  kind: RunKind = "fill",
): PourChances | null => chancesSoFar(rows.slice(0, at + 1), job, readingStep, kind);

/**
 * Judges each row by itself and those before it: what stands beside row k was said when row k was the last, but for a warning that a later
 * row cleared, which says so.
 *
 * @param chances of each row as `weighRow` gives them; undefined where it is still being weighed.
 * @param readingStep smallest step of the readings as they are written.
 * @param kind poured in, or drawn out of a full tank.
 */
export function judgeRows(
  rows: PourRow[],
  chances: (PourChances | null | undefined)[],
  job: Job,
  readingStep: number,
  kind: RunKind = "fill",
): RowJudgement[] {
  const words = rowWords[kind];
  const from = leastRows(job, kind) - 1;
  const judgements: RowJudgement[] = [];
  const open: Open = new Map();
  let saidToWait = false;
  for (let at = 0; at < rows.length; at++) {
    const remarks: WatchRemark[] = [];
    const put = (code: WatchCode, weight: WatchWeight, says: Said, row = at) => {
      const remark = { code, weight, says, row, withdrawnAt: null };
      remarks.push(remark);
      return remark;
    };
    const complete = Number.isFinite(rows[at]!.reading) && Number.isFinite(rows[at]!.added_L);
    const weighed = complete ? chances[at] : null;
    if (!complete) put("no-reading", "look", "This row is not complete yet.");
    else sheetRemarks(rows, at, job, kind, put);
    if (weighed) {
      const now: Situation = { kind, rows, at, sign: signOf(job), readingStep, smoothed: isSmoothed(job) };
      ask(weighed, open, now, put);
      withdraw(weighed, open, now, put);
    }
    if (
      complete &&
      job.sender.kind !== "reed-ladder" &&
      !remarks.some((r) => r.row === at) &&
      stoodStill(rows, at, readingStep)
    )
      put("stands-still", "look", standsStill(rows, at, job, kind));
    if (remarks.length === 0) {
      if (weighed === undefined) put("weighing", "fine", "Being weighed.");
      else if (weighed) put("fits", "fine", "This row fits those before it.");
      else if (at === 0) put("first", "fine", words.stands);
      else if (at < from)
        put(
          "first",
          "fine",
          `Noted; from ${words.one} ${from} on each row is judged${from > usualFrom ? ": over the first of them a ladder passes too few contacts to tell a slip" : ""}.`,
        );
      else put("hardly-moves", "fine", cannotWeigh(rows, at, readingStep));
    }
    const leftIn = complete ? leftInOf(job, rows[at]!.reading - (rows[at - 1]?.reading ?? Number.NaN)) : null;
    // The wait is the same for all rows: it is said once, where it is first missed.
    if (leftIn && leftIn.share > heldBackLeast && !saidToWait) {
      put("wait", "look", waitMore(job, leftIn, words.one));
      saidToWait = true;
    }
    const expected = weighed?.expected?.reading ?? null;
    judgements.push({
      weight: "fine",
      remarks,
      expected,
      ratio: expected === null ? null : ratioOf(rows, at, expected),
      leftIn,
    });
  }
  for (const j of judgements) j.weight = heaviest(j.remarks);
  return judgements;
}

type Say = (code: WatchCode, weight: WatchWeight, says: Said, row?: number) => WatchRemark;
/** Questions that stand, by row: all that was said about it, what it was last taken for, and the row that brought it up. */
type Open = Map<number, { remarks: WatchRemark[]; kind: SlipKind; since: number }>;

/** Asks about every row that is likely enough to be wrong, and once more where this row tells apart what the last left open. */
function ask(weighed: PourChances, open: Open, now: Situation, put: Say): void {
  const { at } = now;
  for (const slip of weighed.slips) {
    const kind = kindOfSlip(slip);
    const known = open.get(slip.row);
    if (known) {
      if (known.since === at - 1 && known.kind !== kind && kind !== "either" && slip.chance >= askFrom.before) {
        known.remarks.push(put(kind, "check", sayOfSlip(slip, true, now), slip.row));
        known.kind = kind;
      }
      continue;
    }
    const from = slip.row === at ? askFrom.last : slip.row === at - 1 ? askFrom.before : askFrom.older;
    if (slip.chance >= from)
      open.set(slip.row, { remarks: [put(kind, "check", sayOfSlip(slip, true, now), slip.row)], kind, since: at });
    else if (slip.row === at && slip.chance >= remarkFrom) put("doubt", "look", sayOfSlip(slip, false, now));
  }
}

/** A question is withdrawn where this row leaves hardly a chance for it. */
function withdraw(weighed: PourChances, open: Open, { at, kind, rows, readingStep }: Situation, put: Say): void {
  // A row over which the reading stood still has shown nothing that could clear another.
  if (stoodStill(rows, at, readingStep)) return;
  const chanceOf = (row: number): number => weighed.slips.find((s: Slip) => s.row === row)?.chance ?? 0;
  for (const [row, { remarks, since }] of open) {
    if (since === at || chanceOf(row) >= withdrawUnder) continue;
    open.delete(row);
    for (const r of remarks)
      Object.assign(r, { weight: "fine", withdrawnAt: at, says: sayWasWithdrawn(r.says, at, kind) });
    put("withdrawn", "look", sayWithdrawn(row, kind), row);
  }
}

/** What the figures of the sheet say without any reading. */
function sheetRemarks(rows: PourRow[], at: number, job: Job, kind: RunKind, put: Say): void {
  const { one } = rowWords[kind];
  const { added_L } = rows[at]!;
  const total = rows.slice(0, at + 1).reduce((s, r) => s + (Number.isFinite(r.added_L) ? r.added_L : 0), 0);
  const { capacity_L } = job.tank;
  // Said in the row that goes over: those after it are no news.
  if (capacity_L !== null && total > 1.05 * capacity_L && total - added_L <= 1.05 * capacity_L)
    put(
      "over-capacity",
      "check",
      say`The sheet now adds up to ${litresTo(total, 1)}, more than the ${litresOfTank(capacity_L, 1)} that the tank holds: a ${one} is written too large or twice, or a unit is wrong.`,
    );
  if (added_L < 0)
    put(
      "below-nothing",
      "check",
      say`${litresTo(added_L, 2)} is less than nothing: correct the figure. Until then no row from here on can be judged.`,
    );
  const usual = middle(
    rows
      .slice(1, at)
      .map((r) => r.added_L)
      .filter((p) => p > 0),
  );
  if (at > 2 && usual !== null && added_L > 0 && (added_L > 1.6 * usual || added_L < 0.6 * usual)) {
    const unlike = tenfold(added_L / usual);
    put(
      "odd-pour",
      "look",
      unlike
        ? say`${litresTo(added_L, 2)} is ${unlike} the ${litresTo(usual, 2)} of the other ${one}s: check its decimal mark.`
        : say`${litresTo(added_L, 2)} is unlike the ${litresTo(usual, 2)} of the other ${one}s: check the figure${kind === "drain" && added_L < usual ? ", unless that was all that was left" : ""}.`,
    );
  }
}

/** A slip of the decimal mark in words, where an amount is that far off; null where it is not. */
function tenfold(ratio: number): string | null {
  const near = (of: number) => ratio > 0.8 * of && ratio < 1.25 * of;
  return near(10) ? "about ten times" : near(100) ? "about a hundred times" : near(0.1) ? "about a tenth of" : null;
}

/** The reading is where the row before left it, although fuel went in or came out. */
function stoodStill(rows: PourRow[], at: number, readingStep: number): boolean {
  const before = rows[at - 1];
  return (
    before !== undefined && rows[at]!.added_L > 0 && Math.abs(rows[at]!.reading - before.reading) <= 1.01 * readingStep
  );
}

/** What a reading that stands still may be, by how much of the tank is filled or drawn. */
function standsStill(rows: PourRow[], at: number, job: Job, kind: RunKind): Said {
  const total_L = rows.slice(0, at + 1).reduce((s, r) => s + (Number.isFinite(r.added_L) ? r.added_L : 0), 0);
  const { capacity_L } = job.tank;
  const share = capacity_L === null ? null : total_L / capacity_L;
  const hangs = job.sender.kind === "capacitive" ? "the reading lags" : "the float hangs";
  const others =
    share !== null && share > nearTheEnd
      ? `it stands on its ${kind === "fill" ? "full" : "empty"} stop, or ${hangs}`
      : share !== null && share < 1 - nearTheEnd
        ? `it stands on its ${kind === "fill" ? "empty" : "full"} stop, or ${hangs}`
        : `${hangs}, it stands on a stop, or the fuel ran where the sender is not`;
  return `The reading stood still ${rowWords[kind].while}: ${others}. Rock the vehicle and read again.`;
}

/** Of the capacity; from there on an end of the sender is near (our own bound). */
const nearTheEnd = 0.85;

/** Why a row is not weighed. */
function cannotWeigh(rows: PourRow[], at: number, readingStep: number): string {
  const readings = rows.slice(0, at + 1).flatMap((r) => (Number.isFinite(r.reading) ? [r.reading] : []));
  return Math.max(...readings) - Math.min(...readings) > 4 * readingStep
    ? "Noted; this row cannot be weighed against those before it."
    : "Noted; the reading has moved too little so far to tell anything.";
}

const signOf = (job: Job) => (job.readingUnit === "ohm" ? "Ω" : job.readingUnit === "count" ? "counts" : "V");

const isSmoothed = ({ fill }: Job): boolean => (fill.deviceTimeConstant_s ?? 0) > 0;

const heaviest = (remarks: WatchRemark[]): WatchWeight =>
  remarks.some((r) => r.weight === "check") ? "check" : remarks.some((r) => r.weight === "look") ? "look" : "fine";

const waitMore = (job: Job, leftIn: { share: number; reading: number }, one: string) =>
  `After ${job.fill.wait_s} s the device still holds back ${fixed(100 * leftIn.share, 0)} % of this ${one}’s move (about ${withUnit(Math.abs(leftIn.reading), signOf(job), 2)}): wait ${waitFor_s(job.fill.deviceTimeConstant_s!)} s to bring it under 1 %.`;

/** What a first-order smoother holds back of a step after a wait: exp(−wait/τ). Null unless the job says both. */
function leftInOf(job: Job, move: number): RowJudgement["leftIn"] {
  const left = heldBackShare(job);
  if (left === null || !Number.isFinite(move)) return null;
  // Of the true move m the reading shows m(1 − left); what is left in follows from the move that was seen.
  return { share: left, reading: left < 1 ? (move * left) / (1 - left) : move };
}

function middle(values: number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const n = sorted.length;
  return n % 2 === 1 ? sorted[n >> 1]! : (sorted[n / 2 - 1]! + sorted[n / 2]!) / 2;
}
