/** Burn by the level alone: a straight line between two refuels each, by the clock or by the seconds driven. */
import { median, standardDeviation } from "simple-statistics";
import { autocorrelation } from "../math/filter";
import { theilSen } from "../math/theil-sen";
import type { BurnTrend } from "./burn-trend";
import { type Block, type Filling, fillingAt, type LevelRows, noiseBetween, refuels } from "./refuels";

/** What a trend by level is made from. `clock_s`: what the burn goes by, at each row. */
export interface LevelRecord extends LevelRows {
  centre: Block[];
  block_s: number;
  clock_s: Float64Array;
}

/** A burn between two refuels: litres at any second of the log, and the blocks that tell it. */
interface Piece {
  part: Block[];
  line: Line;
}

interface Line {
  slope: number;
  level: number;
}

export function levelTrend(record: LevelRecord): Omit<BurnTrend, "block_s" | "whileDriving"> {
  const { time_s, centre, clock_s } = record;
  const n = time_s.length;
  const jumps = refuels(centre);
  const edges = [0, ...jumps, centre.length];
  const parts = edges.slice(1).map((to, p) => centre.slice(edges[p]!, to));
  const clockAt = (s: number) => clock_s[rowAt(time_s, s)]!;
  const at = (line: Line, s: number) => line.level + line.slope * clockAt(s);
  const clocked = (blocks: Block[]) => blocks.map((b) => ({ t: clock_s[b.row]!, v: b.v }));
  let pieces: Piece[] = parts.map((part) => ({ part, line: fallingLine(clocked(part)) }));
  let fillings: Filling[] = [];
  const fill = () =>
    pieces.slice(1).map(({ part, line }, p) => {
      const before = pieces[p]!;
      return fillingAt(
        record,
        before.part[before.part.length - 1] ?? parts[p]!.at(-1)!,
        part[0] ?? parts[p + 1]![0]!,
        (s) => at(before.line, s),
        (s) => at(line, s),
      );
    });
  if (jumps.length > 0) {
    // A log that begins or ends at the pump has no burn there: the level of its first and last seconds is all that is known.
    pieces = pieces.map((piece, p) => {
      const edge = p === 0 ? "first" : p === pieces.length - 1 ? "last" : null;
      return edge && isRise(piece.part, centre)
        ? { part: [], line: { slope: 0, level: endLevel(record, edge) } }
        : piece;
    });
    fillings = fill();
    const half_s = record.block_s / 2;
    const clear = parts.map((part, p) =>
      part.filter(
        (b) =>
          !(p > 0 && b.t - half_s < fillings[p - 1]!.to_s) &&
          !(p < fillings.length && b.t + half_s > fillings[p]!.from_s),
      ),
    );
    pieces = withoutTheFilling(pieces, clear, clocked);
    fillings = fill();
  }
  const trend = new Float64Array(n);
  const rest: number[] = [];
  const lines: { seconds: number; slope: number; uneven: number }[] = [];
  pieces.forEach(({ part, line }, p) => {
    const [from_s, to_s] = [fillings[p - 1]?.to_s ?? time_s[0]!, fillings[p]?.from_s ?? time_s[n - 1]!];
    for (const c of part) rest.push(c.v - line.level - line.slope * clock_s[c.row]!);
    const clocks = part.map((c) => clock_s[c.row]!);
    const middle = clocks.reduce((sum, c) => sum + c, 0) / Math.max(1, clocks.length);
    lines.push({
      seconds: Math.max(0, clockAt(to_s) - clockAt(from_s)),
      slope: line.slope,
      uneven: clocks.reduce((sum, c) => sum + (c - middle) ** 2, 0),
    });
  });
  let p = 0;
  for (let i = 0; i < n; i++) {
    const s = time_s[i]!;
    while (p < fillings.length && s >= fillings[p]!.to_s) p++;
    const filling = fillings[p];
    if (filling && s > filling.from_s) {
      const [low_L, high_L] = [at(pieces[p]!.line, filling.from_s), at(pieces[p + 1]!.line, filling.to_s)];
      trend[i] = low_L + ((high_L - low_L) * (s - filling.from_s)) / (filling.to_s - filling.from_s);
    } else trend[i] = pieces[p]!.line.level + pieces[p]!.line.slope * clock_s[i]!;
  }
  const stray_L = deviationOf(rest);
  // Neighbouring blocks are alike where hills and manoeuvres outlast a block: so many fewer are independent.
  const alike = Math.min(0.8, Math.max(0, autocorrelation(Float64Array.from(rest), 1)));
  const variance = (stray_L ** 2 * (1 + alike)) / (1 - alike);
  let squares = 0;
  for (const l of lines) if (l.uneven > 0) squares += (variance / l.uneven) * l.seconds ** 2;
  return {
    trend_L: trend,
    burnt_L: lines.reduce((sum, l) => sum - l.slope * l.seconds, 0),
    over_s: lines.reduce((sum, l) => sum + l.seconds, 0),
    standard_L: Math.sqrt(squares),
    stray_L,
  };
}

/** Fewest blocks that tell a burn of their own beside a refuel. Named default, no source. */
const fewestBlocks = 4;

/**
 * The burns by blocks that hold nothing of a refuel. A stretch with under four of them burns as the longest other one does, and has the level of
 * what blocks it has.
 */
function withoutTheFilling(
  pieces: Piece[],
  clear: Block[][],
  clocked: (blocks: Block[]) => { t: number; v: number }[],
): Piece[] {
  const own = clear.map((part) => (part.length >= fewestBlocks ? fallingLine(clocked(part)) : null));
  const longest = clear.reduce((best, part, p) => (part.length > clear[best]!.length ? p : best), 0);
  return pieces.map(({ line }, p) => {
    const part = clear[p]!;
    const slope = own[longest]?.slope ?? line.slope;
    if (own[p]) return { part, line: own[p] };
    if (part.length === 0) return { part, line };
    return { part, line: { slope, level: median(clocked(part).map((c) => c.v - slope * c.t)) } };
  });
}

/** Whether nearly every block of a stretch stands clearly above the one before: it was filled all that while. */
function isRise(part: Block[], centre: Block[]): boolean {
  if (part.length < 2) return false;
  const noise = noiseBetween(centre);
  return part.every((b, k) => k === 0 || b.v - part[k - 1]!.v > 8 * noise);
}

/** Mean level of the first or last two seconds that hold a reading. */
function endLevel({ time_s, volume_L, good }: LevelRecord, edge: "first" | "last"): number {
  const n = time_s.length;
  const row = (k: number) => (edge === "first" ? k : n - 1 - k);
  let start: number | null = null;
  const seen: number[] = [];
  for (let k = 0; k < n; k++) {
    const i = row(k);
    if (!good(i)) continue;
    start ??= time_s[i]!;
    if (Math.abs(time_s[i]! - start) > 2) break;
    seen.push(volume_L[i]!);
  }
  return seen.length > 0 ? seen.reduce((sum, v) => sum + v, 0) / seen.length : 0;
}

/** The row at which the log stands at a second: the last one not after it. */
function rowAt(time_s: Float64Array, s: number): number {
  let [low, high] = [0, time_s.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time_s[middle]! <= s) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Standard deviation of block means about the trend; 0 of one. */
export const deviationOf = (x: number[]): number => (x.length > 1 ? standardDeviation(x) : 0);

/** Fuel does not come back while driving: a rising line is taken for a level one. */
function fallingLine(points: { t: number; v: number }[]): { slope: number; level: number } {
  if (points.length === 0) return { slope: 0, level: 0 };
  const t = points.map((p) => p.t);
  const v = points.map((p) => p.v);
  const slope = points.length > 1 ? Math.min(0, theilSen(t, v).slope) : 0;
  return { slope, level: median(v.map((y, i) => y - slope * t[i]!)) };
}
