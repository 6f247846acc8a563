/** Words of the pour watch: finding first, then what it may be, then what to do before the next pour or draw. */

import { capital, fixed, plusMinus, withUnit } from "../format";
import { type Said, say } from "../said";
import { heldBackLeast, waitFor_s } from "./device-smooths";
import type { Job } from "./job";
import { litresWithin } from "./litres";
import type { PourRow, RunKind, Slip } from "./pour-chances";

/** What the wait before each reading leaves out, beside the fields that ask for it; null where no time constant is stated. */
export function waitWords(job: Job): string | null {
  const { deviceTimeConstant_s: tau, wait_s } = job.fill;
  if (tau === null || !(tau > 0)) return null;
  const enough = `${waitFor_s(tau)}\u00a0s leave under 1\u00a0%`;
  if (wait_s === null) return `Wait before each reading: ${enough} of a pour’s move out.`;
  const share = Math.exp(-wait_s / tau);
  const left = share < 0.01 ? "under 1" : fixed(100 * share, 0);
  return share <= heldBackLeast
    ? `That is long enough: ${withUnit(wait_s, "s", 2)} leave ${left}\u00a0% of a pour’s move out.`
    : `Too short: ${withUnit(wait_s, "s", 2)} leave ${left}\u00a0% of a pour’s move out, ${enough}.`;
}

/** How rows and amounts are called where fuel goes in and where it is drawn out. A drain's rows are draws: its steps are numbered otherwise. */
export const rowWords: Record<
  RunKind,
  { one: string; first: string; row: string; while: string; moved: string; stands: string; written: string }
> = {
  fill: {
    one: "pour",
    first: "the start",
    row: "step",
    while: "while you poured",
    moved: "went in",
    stands: "The start.",
    written: "is written as poured",
  },
  drain: {
    one: "draw",
    first: "the full tank",
    row: "draw",
    while: "while you drew",
    moved: "came out",
    stands: "The full tank.",
    written: "is written as drawn",
  },
};

/** What a slip most likely is; `either` where reading and pour cannot be told apart. */
export type SlipKind = "misread" | "wrong-pour" | "missing-pour" | "either";

/** A kind is named from this share of the chance on, else both are (named default, no source). */
const clear = 0.75;
const clearlyMissing = 0.6;

/** @param slip of any row; the start and the first pour are the same and never told apart. */
export function kindOfSlip(slip: Slip): SlipKind {
  if (slip.row === 0) return "either";
  if (slip.reading >= clear * slip.chance) return "misread";
  if (slip.pour < clear * slip.chance) return "either";
  return slip.missing >= clearlyMissing * slip.pour ? "missing-pour" : "wrong-pour";
}

export interface Situation {
  kind: RunKind;
  rows: PourRow[];
  /** Row just typed. */
  at: number;
  /** Unit as it is written behind a reading, and the smallest step of the readings. */
  sign: string;
  readingStep: number;
  /** The reading comes through a device that smooths, so that it can be read too early. */
  smoothed: boolean;
}

/** The move of a row as a share of what was to be expected; null where there is nothing before it or no move was expected. */
export function ratioOf(rows: PourRow[], at: number, expected: number | undefined): number | null {
  const before = rows[at - 1];
  if (!before || expected === undefined || !Number.isFinite(before.reading)) return null;
  const wanted = expected - before.reading;
  return Math.abs(wanted) > 0 ? (rows[at]!.reading - before.reading) / wanted : null;
}

/** What is odd, how sure that is, and what to look at. @param firm false for a doubt that asks for no check yet. */
export function sayOfSlip(slip: Slip, firm: boolean, now: Situation): Said {
  const last = slip.row === now.at;
  const chance = `chance ${fixed(100 * Math.min(0.99, slip.chance), 0)} %`;
  const finding = last ? moved(slip, now) : lies(slip, now);
  if (!firm)
    return say`${finding} Some bends of a tank do that too (${chance} that something is wrong): the next row tells more.`;
  return say`${finding} ${causeOf(slip, now, chance)}`;
}

export const sayWithdrawn = (row: number, kind: RunKind): string =>
  `With this row ${name(row, kind)} fits after all: that warning is withdrawn.`;

export const sayWasWithdrawn = (says: Said, at: number, kind: RunKind): Said =>
  say`Withdrawn with ${name(at, kind)}, which fits: ${says}`;

const name = (row: number, kind: RunKind) => (row === 0 ? rowWords[kind].first : `${rowWords[kind].row} ${row}`);

/** The last row: how far this pour moved the reading. */
function moved(slip: Slip, { kind, rows, at, sign, readingStep }: Situation): string {
  const before = rows[at - 1]?.reading;
  const reading = rows[at]!.reading;
  const { expected } = slip;
  const words = rowWords[kind];
  const wanted = expected
    ? ` (the rows before lead to expect ${plusMinus(expected.reading, 1.96 * expected.standard, sign)})`
    : "";
  if (before === undefined || !Number.isFinite(before)) return `This row is odd${wanted}.`;
  const move = reading - before;
  const ratio = ratioOf(rows, at, expected?.reading);
  if (rows[at]!.added_L === 0 && Math.abs(move) > 1.01 * readingStep)
    return `The reading moved by ${withUnit(move, sign, 2)} although nothing ${words.written}${wanted}.`;
  if (Math.abs(move) <= 1.01 * readingStep && (ratio === null || Math.abs(ratio) < 0.3))
    return `The reading stood still ${words.while}${wanted}.`;
  if (ratio !== null && ratio < 0)
    return `The reading went back by ${withUnit(Math.abs(move), sign, 2)} ${words.while}${wanted}.`;
  if (ratio === null) return `This row is odd${wanted}.`;
  // Next to nothing was expected: then there is no "so many times as far".
  if (ratio > 100)
    return `This ${words.one} moved the reading by ${withUnit(move, sign, 2)}, where it should hardly move${wanted}.`;
  // A slip of the decimal mark moves it hundreds of times as far: that is not told to a tenth.
  const times = ratio < 10 ? fixed(ratio, 1) : `about ${Number(ratio.toPrecision(1))}`;
  const far = ratio > 1.5 ? `${times} times as far` : `${fixed(100 * ratio, 0)} % as far`;
  return `This ${words.one} moved the reading ${far} as it should${wanted}.`;
}

/** A row before: how far it lies off the others. */
function lies(slip: Slip, { kind, rows, sign }: Situation): Said {
  const { expected, more_L, row } = slip;
  if (kindOfSlip(slip) !== "misread" && more_L)
    return kind === "fill"
      ? say`From ${name(row, kind)} on the tank seems to hold ${litres(more_L)} than is written.`
      : say`By ${name(row, kind)} ${litres(more_L)} seem to have come out than are written.`;
  if (!expected) return `${capital(name(row, kind))} does not fit the rows around it.`;
  const off = rows[row]!.reading - expected.reading;
  return `The reading of ${name(row, kind)} lies ${plusMinus(Math.abs(off), 1.96 * expected.standard, sign)} ${off < 0 ? "under" : "over"} what the rows around it lead to expect.`;
}

const litres = (more: { amount: number; standard: number }) =>
  say`${litresWithin(Math.abs(more.amount), 1.96 * more.standard)} ${more.amount < 0 ? "less" : "more"}`;

function causeOf(slip: Slip, { kind, at, smoothed }: Situation, chance: string): Said {
  const { one, moved } = rowWords[kind];
  const last = slip.row === at;
  const asIf = last && slip.more_L ? say`, as if ${litres(slip.more_L)} ${moved}` : "";
  const how = slip.chance >= 0.5 ? "Probably" : "Perhaps";
  switch (kindOfSlip(slip)) {
    case "misread":
      return say`${how} the reading is wrong${smoothed ? ", was taken too early" : ""} or the float hung (${chance}): ${last ? "rock the vehicle and read again" : `check the figure of ${name(slip.row, kind)}`} before the next ${one}.`;
    case "missing-pour":
      return say`${how} a ${one} is missing from the sheet${asIf} (${chance}): check before the next ${one}.`;
    case "wrong-pour":
      return say`${how} ${last ? `this ${one}` : `${one} ${slip.row}`} is not as written${asIf} (${chance}): check its amount before the next ${one}.`;
    case "either":
      return say`${how} a wrong reading, or a ${one} that is not as written${asIf} (${chance}): ${
        last ? "the last row cannot tell which" : "it cannot be told which"
      }, check both before the next ${one}.`;
  }
}
