/** Pour watch: does the row just typed fit those before it? Asked while pouring, when a slip can still be checked at the tank. */
import { fixed, withUnit } from "../format";
import type { Job } from "./job";

/** One row of the pour sheet: litres of this pour alone (0 for the start) and the reading after it. */
export interface PourRow {
  added_L: number;
  reading: number;
}

export interface WatchedJob {
  /** Smallest step of the readings as they are written. */
  readingStep: number;
  readingSign: string;
  capacity_L: number | null;
  fixedSteps: boolean;
  deviceTimeConstant_s: number | null;
  wait_s: number | null;
}

export type WatchCode =
  | "first"
  | "fits"
  | "no-reading"
  | "still"
  | "back"
  | "half"
  | "double"
  | "too-little"
  | "too-much"
  | "row-before"
  | "odd-pour"
  | "over-capacity"
  | "wait";

export interface RowJudgement {
  /** `check` asks to look before the next pour; `look` only remarks; `fine` says that the row fits. */
  weight: "fine" | "look" | "check";
  remarks: { code: WatchCode; weight: "fine" | "look" | "check"; says: string }[];
  /** Reading that the rows before led to expect, and how far this pour moved it, as a share of that; null on the first rows. */
  expected: number | null;
  ratio: number | null;
  /** Share of this pour's move that a smoothing device still holds back: exp(−wait/τ), and the same in the reading's unit. */
  leftIn: { share: number; reading: number } | null;
}

/** Tanks bend: the next pour may move the reading so much more or less than the recent ones did (named default, no source). */
const bend = 1.5;
/** A share of a pour's move that a smoothing device may hold back without a remark (named default, no source). */
const leftInLeast = 0.02;

/** What the watch needs to know of the job. */
export function watchedJob(job: Job, readingStep: number): WatchedJob {
  const unit = job.readingUnit ?? "V";
  return {
    readingStep,
    readingSign: unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V",
    capacity_L: job.tank.capacity_L,
    fixedSteps: job.sender.kind === "reed-ladder",
    deviceTimeConstant_s: job.fill.deviceTimeConstant_s,
    wait_s: job.fill.wait_s,
  };
}

/**
 * Judges row `at` against the rows before it; rows after it are not looked at.
 *
 * The move per litre of the last three pours says what to expect. Tanks bend, so only a move beyond them by `bend` and beyond what the
 * written digits leave open is remarked. A move back on line right after an odd one puts the blame on the row before (a wrong reading
 * moves one row; a wrong pour moves all that follow).
 *
 * @throws if `at` is not a row of `rows`.
 */
export function judgeRow(rows: PourRow[], at: number, job: WatchedJob): RowJudgement {
  const row = rows[at];
  if (!row) throw new Error(`judgeRow: row ${at} of ${rows.length} does not exist`);
  const remarks: RowJudgement["remarks"] = [];
  const say = (code: WatchCode, weight: "fine" | "look" | "check", says: string) =>
    remarks.push({ code, weight, says });
  const done = (expected: number | null, ratio: number | null): RowJudgement => {
    const before = rows[at - 1];
    const leftIn = leftInOf(job, before ? row.reading - before.reading : 0);
    if (leftIn && leftIn.share > leftInLeast && at > 0)
      say(
        "wait",
        "look",
        `After ${job.wait_s} s the device still holds back ${fixed(100 * leftIn.share, 0)} % of this pour's move (about ${withUnit(Math.abs(leftIn.reading), job.readingSign, 2)}): wait ${Math.ceil(job.deviceTimeConstant_s! * Math.log(1 / 0.01))} s to bring it under 1 %.`,
      );
    const weight = remarks.some((r) => r.weight === "check")
      ? "check"
      : remarks.some((r) => r.weight === "look")
        ? "look"
        : "fine";
    return { weight, remarks, expected, ratio, leftIn };
  };
  if (!Number.isFinite(row.reading) || !Number.isFinite(row.added_L)) {
    say("no-reading", "look", "This row is not complete yet.");
    return done(null, null);
  }
  const total = rows.slice(0, at + 1).reduce((s, r) => s + (Number.isFinite(r.added_L) ? r.added_L : 0), 0);
  if (job.capacity_L !== null && total > 1.05 * job.capacity_L)
    say(
      "over-capacity",
      "check",
      `The sheet now adds up to ${fixed(total, 1)} L, more than the ${fixed(job.capacity_L, 1)} L that the tank holds: a pour is written twice, or a unit is wrong.`,
    );
  const pours = rows.slice(1, at).map((r) => r.added_L);
  const usual = middle(pours.filter((p) => p > 0));
  if (at > 2 && usual !== null && row.added_L > 0 && (row.added_L > 1.6 * usual || row.added_L < 0.6 * usual))
    say(
      "odd-pour",
      "look",
      `${fixed(row.added_L, 2)} L is unlike the ${fixed(usual, 2)} L of the other pours: check the figure.`,
    );
  // Moves per litre so far; pours of nothing tell nothing.
  const moves = rows
    .slice(1, at + 1)
    .map((r, i) => ({ litres: r.added_L, move: r.reading - rows[i]!.reading, at: i + 1 }))
    .filter((m) => m.litres > 0 && Number.isFinite(m.move));
  const mine = moves[moves.length - 1];
  if (!mine || mine.at !== at || moves.length < 3) {
    say("first", "fine", at === 0 ? "The start." : "Noted; from the third pour on each row is judged.");
    return done(null, null);
  }
  const earlier = moves.slice(0, -1);
  const sense = Math.sign(earlier.reduce((s, m) => s + m.move, 0)) || 1;
  const open = Math.max(
    3.5 * (job.readingStep / Math.sqrt(6)),
    2 * scatterOf(earlier.slice(-7)) * Math.abs(mine.litres),
  );
  // Near full, and in the first pours, a sender on its way to its stop slows down by nature: that is remarked, no more.
  const nearStop = job.capacity_L !== null && (total > 0.88 * job.capacity_L || total < 0.12 * job.capacity_L);
  const stood = earlier.filter((m) => Math.abs(m.move) <= open).length;
  const ladder = job.fixedSteps || (stood >= 2 && stood >= 0.35 * earlier.length);
  const recent = ladder ? earlier.slice(-8) : earlier.slice(-3);
  const slopes = recent.map((m) => (sense * m.move) / m.litres);
  const typical = ladder ? slopes.reduce((s, v) => s + v, 0) / slopes.length : middle(slopes)!;
  const before = rows[at - 1]!.reading;
  const expectedMove = sense * typical * mine.litres;
  const expected = before + expectedMove;
  if (!(typical > 0)) {
    say("fits", "fine", "Noted; the reading has hardly moved so far.");
    return done(null, null);
  }
  const ratio = mine.move / expectedMove;
  const far = Math.abs(mine.move - expectedMove) > open;
  if (ladder) {
    // A ladder stands still and jumps: only a jump of several contacts, or a way back, is odd.
    const jump = Math.max(...earlier.map((m) => Math.abs(m.move)));
    if (sense * mine.move < -Math.max(open, 0.6 * jump)) say("back", "check", backwards(job, mine.move));
    else if (Math.abs(mine.move) > 1.7 * jump + open)
      say(
        "double",
        "check",
        "The reading jumped further than at any pour before: check the reading, and whether a pour is missing from the sheet.",
      );
    else say("fits", "fine", "This pour fits those before it.");
    return done(expected, ratio);
  }
  const steepest = Math.max(...slopes) * bend;
  const flattest = Math.max(0, Math.min(...slopes)) / bend;
  const slope = (sense * mine.move) / mine.litres;
  const last = earlier[earlier.length - 1]!;
  const settled = earlier.slice(0, -1).slice(-3);
  const reference = middle(settled.map((m) => (sense * m.move) / m.litres));
  // Two moves that are odd each way and right together: the reading between them was wrong.
  if (reference !== null && reference > 0 && settled.length >= 2) {
    const a = (sense * last.move) / last.litres / reference;
    const both = (sense * (mine.move + last.move)) / (mine.litres + last.litres) / reference;
    const oddEnough = Math.abs(sense * last.move - reference * last.litres) > open;
    const opposite = (a - 1) * (slope / reference - 1) < 0;
    if (
      oddEnough &&
      opposite &&
      Math.abs(a - 1) > 0.4 &&
      Math.abs(both - 1) < 0.25 &&
      Math.abs(a - 1) > 2 * Math.abs(both - 1)
    ) {
      say(
        "row-before",
        "check",
        "With this row the readings are back on line: the row before it was misread, or the float hung there. Check that figure.",
      );
      return done(rows[at - 2]!.reading + sense * reference * (mine.litres + last.litres), ratio);
    }
  }
  if (!far || (slope <= steepest && slope >= flattest)) {
    say("fits", "fine", "This pour fits those before it.");
    return done(expected, ratio);
  }
  if (Math.abs(mine.move) <= open)
    say(
      "still",
      nearStop ? "look" : "check",
      "The reading stood still while you poured: the float hangs, it stands at its stop, or the figure is the one before. Rock the vehicle and read again.",
    );
  else if (sense * mine.move < 0) say("back", "check", backwards(job, mine.move));
  else if (ratio < 0.7 && ratio > 0.35)
    say(
      "half",
      nearStop ? "look" : "check",
      `This pour moved the reading ${share(ratio)} as far as the last ones: check the reading, and whether it was a whole pour, before the next.`,
    );
  else if (ratio > 1.6 && ratio < 2.6)
    say(
      "double",
      "check",
      `This pour moved the reading ${fixed(ratio, 1)} times as far as the last ones: check the reading, and whether a pour is missing from the sheet, before the next.`,
    );
  else if (ratio < 1)
    say(
      "too-little",
      ratio < 0.5 ? "check" : "look",
      `This pour moved the reading less than the last ones did (${fixed(100 * ratio, 0)} %): check both figures.`,
    );
  else
    say(
      "too-much",
      ratio > 2 ? "check" : "look",
      `This pour moved the reading more than the last ones did (${fixed(100 * ratio, 0)} %): check both figures.`,
    );
  return done(expected, ratio);
}

const backwards = (job: WatchedJob, move: number) =>
  `The reading went back by ${withUnit(Math.abs(move), job.readingSign, 2)} while you poured: check this reading and the one before.`;

const share = (ratio: number) => (ratio > 0.44 && ratio < 0.57 ? "half" : `${fixed(100 * ratio, 0)} %`);

/** What a first-order smoother holds back of a step after a wait: exp(−wait/τ). Null unless the job says both. */
function leftInOf(job: WatchedJob, move: number): RowJudgement["leftIn"] {
  const { deviceTimeConstant_s: tau, wait_s: wait } = job;
  if (tau === null || wait === null || !(tau > 0)) return null;
  const left = Math.exp(-wait / tau);
  // Of the true move m the reading shows m(1 − left); what is left in follows from the move that was seen.
  return { share: left, reading: left < 1 ? (move * left) / (1 - left) : move };
}

/** Scatter of the move per litre from pour to pour, bend taken off: middle second difference over 0.6745·√6. */
function scatterOf(moves: { litres: number; move: number }[]): number {
  const s = moves.map((m) => m.move / m.litres);
  const second = s.slice(2).map((v, i) => Math.abs(v - 2 * s[i + 1]! + s[i]!));
  return second.length >= 3 ? middle(second)! / (0.6745 * Math.sqrt(6)) : 0;
}

function middle(values: number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const n = sorted.length;
  return n % 2 === 1 ? sorted[n >> 1]! : (sorted[n / 2 - 1]! + sorted[n / 2]!) / 2;
}
