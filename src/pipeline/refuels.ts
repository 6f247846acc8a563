/** Refuels in a drive log: where the level rises and stays, and from when to when the tank was filled. */

/** Mean of a block of rows. */
export interface Block {
  t: number;
  v: number;
  row: number;
}

/** Seconds on the log's clock. */
export interface Filling {
  from_s: number;
  to_s: number;
}

/** The readings of a log, in litres. */
export interface LevelRows {
  time_s: Float64Array;
  volume_L: Float64Array;
  good: (i: number) => boolean;
}

/** Longest that a refuel is looked for, from its middle to either side. Named default, no source. */
const mostFilling_s = 240;

/**
 * From when to when the tank was filled: where the two burns, and a straight rise from one to the other, lie nearest to the record (least squares
 * over means of seconds). A pump gives some forty litres a minute, so that a large tank takes minutes, and taken for one leap they would be motion.
 */
export function fillingAt(
  { time_s, volume_L, good }: LevelRows,
  last: { t: number; v: number },
  first: { t: number; v: number },
  before: (s: number) => number,
  after: (s: number) => number,
): Filling {
  const middle_s = riseAt(time_s, volume_L, good, last, first);
  const begin_s = Math.max(time_s[0]!, middle_s - mostFilling_s);
  const bins = Math.max(2, Math.floor(Math.min(time_s[time_s.length - 1]!, middle_s + mostFilling_s) - begin_s));
  const sum = new Float64Array(bins);
  const count = new Float64Array(bins);
  for (let i = 0; i < time_s.length; i++) {
    const b = Math.floor(time_s[i]! - begin_s);
    if (b < 0 || b >= bins || !good(i)) continue;
    sum[b]! += volume_L[i]!;
    count[b]!++;
  }
  const at = (b: number) => begin_s + b + 0.5;
  const low = Float64Array.from(sum, (_, b) => before(at(b)));
  const high = Float64Array.from(sum, (_, b) => after(at(b)));
  const cost = (from: number, to: number): number => {
    let squares = 0;
    for (let b = 0; b < bins; b++) {
      if (count[b] === 0) continue;
      const share = b + 0.5 <= from ? 0 : b + 0.5 >= to ? 1 : (b + 0.5 - from) / (to - from);
      squares += (sum[b]! / count[b]! - low[b]! - share * (high[b]! - low[b]!)) ** 2;
    }
    return squares;
  };
  // The leap where it is likeliest, then its two ends in steps that halve.
  const leap = middle_s - begin_s;
  let best = { from: leap, to: leap, cost: cost(leap, leap) };
  for (let step = 64; step >= 0.5; step /= 2)
    for (let better = true; better; ) {
      better = false;
      for (const [a, b] of [
        [-step, 0],
        [step, 0],
        [0, -step],
        [0, step],
        [-step, step],
        [step, -step],
        [-step, -step],
        [step, step],
      ] as const) {
        const [from, to] = [Math.max(0, best.from + a), Math.min(bins, best.to + b)];
        if (from > to) continue;
        const squares = cost(from, to);
        if (squares < best.cost - 1e-9) {
          best = { from, to, cost: squares };
          better = true;
        }
      }
    }
  return { from_s: begin_s + best.from, to_s: begin_s + best.to };
}

/** When the level goes from one block's to the next one's: where the sum of what lies over their middle is lowest. */
function riseAt(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  before: { t: number; v: number },
  after: { t: number; v: number },
): number {
  const middle = (before.v + after.v) / 2;
  // A block with the refuel inside it lies between both levels, so a block's length more is searched on either side.
  const room = after.t - before.t;
  let sum = 0;
  let least = Number.POSITIVE_INFINITY;
  let at = (before.t + after.t) / 2;
  for (let i = 0; i < time_s.length; i++) {
    if (time_s[i]! < before.t - room || time_s[i]! > after.t + room || !good(i)) continue;
    sum += volume_L[i]! - middle;
    if (sum < least) [least, at] = [sum, time_s[i]!];
  }
  return at;
}

/** Usual distance of a block from the one before. */
export function noiseBetween(centre: { v: number }[]): number {
  const diffs = centre
    .slice(1)
    .map((c, i) => Math.abs(c.v - centre[i]!.v))
    .sort((a, b) => a - b);
  return diffs[diffs.length >> 1] ?? 0;
}

/** Rises that stay: blocks after which the level stands clearly higher than before. */
export function refuels(centre: { t: number; v: number }[]): number[] {
  const found: { at: number; rise: number }[] = [];
  const noise = noiseBetween(centre);
  const range = Math.max(...centre.map((c) => c.v)) - Math.min(...centre.map((c) => c.v));
  for (let i = 3; i + 3 <= centre.length; i++) {
    const before = centre.slice(i - 3, i).reduce((s, c) => s + c.v, 0) / 3;
    const after = centre.slice(i, i + 3).reduce((s, c) => s + c.v, 0) / 3;
    const rise = after - before;
    if (!(rise > Math.max(8 * noise, 0.35 * range))) continue;
    const last = found[found.length - 1];
    // Neighbouring places see the same refuel: the steepest of them is it.
    if (last === undefined || i - last.at > 3) found.push({ at: i, rise });
    else if (rise > last.rise) found[found.length - 1] = { at: i, rise };
  }
  return found.map((f) => f.at);
}
