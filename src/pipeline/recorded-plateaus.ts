/** Level stretches of a recorded fill run, each with what its volume or marker column says there. */
import { batchMean, levelStretches, type Stretch, settlingSamples } from "../math/plateaus";
import type { Column } from "./recording";

export interface Plateau extends Stretch {
  /**
   * What the column says of this plateau: the total or the amount as written, the pours so far of a marker (from the first mark on); null
   * where the column says nothing (plateaus are counted).
   */
  written: number | null;
  /** True if the reading went to a new level while the column stood: fuel went in that was not written down. */
  unwritten?: boolean;
}

/** A counter column with its role, or null where the file has neither volumes nor marks. */
interface Counter {
  column: Column;
  is: "total" | "added" | "marker";
}

/**
 * @param values readings, one a sample; `keep` the row of each sample in the file; `block` samples in about two seconds.
 * @returns the plateaus in order, each at least four blocks long.
 */
export function plateausOf(values: Float64Array, keep: number[], counter: Counter | null, block: number): Plateau[] {
  const least = 4 * block;
  if (!counter) return levelStretches(values, block).map((s) => ({ ...s, written: null }));
  const { is } = counter;
  const column = is === "added" ? withoutIdle(counter.column, keep, least) : counter.column;
  if (is === "marker" && isSwitch(column))
    return restStretches(values, keep, column, least).map((s, pours) => ({ ...s, written: pours }));
  const every = heldStretches(keep, column, is === "added").filter((s) => s.to - s.from >= least);
  const held = is === "marker" ? withoutRecurring(every) : every;
  if (is === "added") {
    // The amount of the last pour stands until the next: equal pours are parted by the reading alone.
    return held.flatMap((s) => {
      const levels = held.length > 2 ? [] : levelStretches(values.subarray(s.from, s.to), block);
      if (levels.length < 2) return [s];
      return levels.map((l) => ({ from: s.from + l.from, to: s.from + l.to, written: s.written }));
    });
  }
  const first = is === "marker" ? (held[0]?.written ?? 0) : 0;
  return withUnwritten(values, held, block).map((s) => ({ ...s, written: (s.written ?? 0) - first }));
}

/** Amounts that stand for a moment each, among zeros: a zero says then that nothing was poured in that row, not that a pour held nothing. */
function withoutIdle(counter: Column, keep: number[], least: number): Column {
  let longest = 0;
  let moments = 0;
  let length = 0;
  let before = 0;
  for (const row of keep) {
    const value = counter.valid[row] ? counter.values[row]! : 0;
    if (value !== 0 && before !== 0 && value !== before) return counter;
    length = value === 0 ? 0 : length + 1;
    if (length === 1) moments++;
    longest = Math.max(longest, length);
    before = value;
  }
  if (moments < 2 || longest >= least) return counter;
  return { ...counter, valid: counter.valid.map((v, i) => (counter.values[i] === 0 ? 0 : v)) };
}

/** Stretches over which the counter column holds its value; blanks go on with the value before, and the start is nothing poured. */
function heldStretches(keep: number[], counter: Column, eachCell: boolean): Plateau[] {
  const found: Plateau[] = [];
  let from = 0;
  let held = 0;
  let wasBlank = false;
  for (let k = 0; k < keep.length; k++) {
    if (!counter.valid[keep[k]!]) {
      wasBlank = true;
      continue;
    }
    const value = counter.values[keep[k]!]!;
    // A lone amount among blanks is a pour of its own, were it as large as the one before.
    if (value !== held || (eachCell && wasBlank)) {
      if (k > from) found.push({ from, to: k, written: held });
      from = k;
    }
    held = value;
    wasBlank = false;
  }
  if (keep.length > from) found.push({ from, to: keep.length, written: held });
  return found;
}

/** A button or switch: two values that come and go, where a count of pours only rises. */
function isSwitch(marker: Column): boolean {
  const seen = new Set<number>();
  let falls = 0;
  let before = Number.NaN;
  for (let i = 0; i < marker.values.length; i++) {
    if (!marker.valid[i]) continue;
    const value = marker.values[i]!;
    seen.add(value);
    if (value < before) falls++;
    before = value;
  }
  return seen.size === 2 && falls >= 2;
}

/** A count that shows one and the same value ("-1", "0") while fuel runs: only the start may stand on that value. */
function withoutRecurring(stretches: Plateau[]): Plateau[] {
  const times = new Map<number, number>();
  for (const s of stretches) times.set(s.written!, (times.get(s.written!) ?? 0) + 1);
  return stretches.filter((s, i) => i === 0 || times.get(s.written!)! < 3);
}

/** Of two states that both see a fair part of the reading's travel neither is rest: the mark changes over with each pour. */
const bothTravel = 0.25;

/**
 * Where a switch says that nothing is poured: of its two states the one that alone lasts long enough, else the one over which the reading
 * moves less (a button is pressed for a moment; a pump's contact is on for as long as fuel runs).
 */
function restStretches(values: Float64Array, keep: number[], marker: Column, least: number): Stretch[] {
  const long = heldStretches(keep, marker, false).filter((s) => s.to - s.from >= least);
  const edge = Math.max(1, least >> 2);
  const level = (from: number) => values.subarray(from, from + edge).reduce((s, v) => s + v, 0) / edge;
  const travel = new Map<number, number>();
  for (const s of long)
    travel.set(s.written!, (travel.get(s.written!) ?? 0) + Math.abs(level(s.to - edge) - level(s.from)));
  const [calm, other] = [...travel].sort((a, b) => a[1] - b[1]);
  if (calm && other && calm[1] > bothTravel * other[1]) return long.map(({ from, to }) => ({ from, to }));
  const rest = calm?.[0];
  return long.filter((s) => s.written === rest).map(({ from, to }) => ({ from, to }));
}

/** Least share of a typical stretch that a level must stand for, to be one that was waited on (our own bound). */
const restShare = 0.35;

/**
 * Plateaus under one written volume: a stretch whose reading goes on to a new level and stands there, while the next stretch stands at yet
 * another, holds a pour that was not written down. (A volume that is written late belongs to the level of the next stretch: no pour then.)
 */
function withUnwritten(values: Float64Array, held: Plateau[], block: number): Plateau[] {
  const levelsOf = (s: Plateau) =>
    levelStretches(values.subarray(s.from, s.to), block).map((l) =>
      levelOf(values, s.from + l.from, s.from + l.to, block),
    );
  const levels = held.map(levelsOf);
  const lengths = held.map((h) => h.to - h.from).sort((a, b) => a - b);
  // A ladder stands on each of its levels for a moment while fuel runs; a level that was waited on stands longer.
  const leastRest = restShare * (lengths[lengths.length >> 1] ?? 0);
  return held.flatMap((stretch, i) => {
    const following = levels[i + 1]?.[0];
    const found = levels[i]!.slice(0, 1);
    if (!following || found.length === 0) return [stretch];
    for (const level of levels[i]!.slice(1)) {
      const before = found[found.length - 1]!;
      const jump = level.mean - before.mean;
      const onward = (following.mean - level.mean) * Math.sign(jump);
      const isPour =
        level.to - level.from >= leastRest &&
        Math.abs(jump) > 6 * Math.hypot(before.standardError, level.standardError) &&
        level.creep < 0.1 * Math.abs(jump) &&
        // A fair part of what the next written pour moved, and that pour went on from there.
        onward > 0.3 * Math.abs(jump) &&
        Math.abs(jump) > 0.3 * onward;
      if (isPour) found.push(level);
    }
    if (found.length === 1) return [stretch];
    return found.map((level, k) => ({
      ...stretch,
      from: k === 0 ? stretch.from : level.from,
      to: level.to,
      ...(k > 0 ? { unwritten: true } : {}),
    }));
  });
}

/** A level stretch: its mean without the slosh at its head, and how far it creeps from its first half to its second. */
function levelOf(values: Float64Array, from: number, to: number, block: number) {
  const part = values.subarray(from, to);
  const rest = part.subarray(settlingSamples(part, block));
  const half = rest.length >> 1;
  const mean = (some: Float64Array) => some.reduce((s, v) => s + v, 0) / Math.max(1, some.length);
  return {
    from,
    to,
    ...batchMean(rest, 2 * block),
    creep: Math.abs(mean(rest.subarray(half)) - mean(rest.subarray(0, half))),
  };
}
