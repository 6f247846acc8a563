/** Stretches in which the reading stands still although it moves elsewhere: a float that hangs, or a logger that repeats its last value. */
import type { DrivePart } from "./drive-log";
import { MARK } from "./marks";

/** A stretch so long counts, and so many times as long as the runs of equal values that this log is full of. Named defaults, no source. */
const least_s = 10;
const timesUsual = 10;
/** Where the usual move is under so many of the smallest steps, the reading is too coarse for standing still to mean anything. Named default, no source. */
const leastMove = 2;

export interface Stuck {
  stretches: number;
  seconds: number;
  /** Where the first begins, in seconds from the log's start; null for none. */
  first_s: number | null;
}

/** Stretches that stand still, in seconds from the log's start, wherever the vehicle was. */
export type Standing = { from_s: number; to_s: number }[];

/**
 * Ends of the sender and blanks are left out: there a reading may stand still. So it may on a ladder or a coarse converter, all of whose moves are
 * one step or two: of those nothing is told.
 * @param start_s of the log's clock.
 */
export function standing(values: Float64Array, time_s: Float64Array, mark: Uint8Array, start_s: number): Standing {
  if (tooCoarse(values)) return [];
  const lengths = new Int32Array(values.length);
  const long: { from: number; to: number }[] = [];
  let n = 0;
  for (let from = 0; from < values.length; ) {
    let to = from + 1;
    while (to < values.length && values[to] === values[from]) to++;
    if (!Number.isNaN(values[from]!)) {
      lengths[n++] = to - from;
      if (time_s[to - 1]! - time_s[from]! >= least_s) long.push({ from, to });
    }
    from = to;
  }
  const usual = lengths.subarray(0, n).sort()[Math.floor(0.95 * (n - 1))] ?? 1;
  const still = MARK.atEnd | MARK.dropout | MARK.notYetAnswered;
  return long
    .filter(({ from, to }) => to - from >= timesUsual * usual && (mark[from]! & still) === 0)
    .map(({ from, to }) => ({ from_s: time_s[from]! - start_s, to_s: time_s[to - 1]! - start_s }));
}

/** Those of them that count: a parked vehicle's reading may stand still too. */
export function stuckStretches(standing: Standing, parts: DrivePart[]): Stuck {
  const apart = parts.filter((p) => p.kind === "parked" || p.kind === "gap");
  const found = standing.filter(({ from_s, to_s }) => !apart.some((p) => p.from_s < to_s && p.to_s > from_s));
  return {
    stretches: found.length,
    seconds: found.reduce((s, { from_s, to_s }) => s + to_s - from_s, 0),
    first_s: found[0]?.from_s ?? null,
  };
}

/** Moves looked at: enough to know the usual one. */
const mostMoves = 20_000;

function tooCoarse(values: Float64Array): boolean {
  const moves = new Float64Array(Math.min(values.length, mostMoves));
  const every = Math.max(1, Math.floor(values.length / mostMoves));
  let n = 0;
  for (let i = 1; i < values.length && n < moves.length; i += every) {
    const move = Math.abs(values[i]! - values[i - 1]!);
    if (move > 1e-9) moves[n++] = move;
  }
  if (n === 0) return true;
  const sorted = moves.subarray(0, n).sort();
  return sorted[n >> 1]! < leastMove * sorted[0]!;
}
