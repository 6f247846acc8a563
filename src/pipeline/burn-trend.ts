/** Burn trend: what the fuel does in a drive log once motion is averaged out, and how well that is known. */
import { median, standardDeviation } from "simple-statistics";
import { autocorrelation } from "../math/filter";
import { theilSen } from "../math/theil-sen";

export interface BurnTrend {
  /** One value a row, litres. */
  trend_L: Float64Array;
  /** Litres burnt: what the trend falls by, refuels left out. */
  burnt_L: number;
  /** Standard uncertainty of that, from how far the block means scatter about the trend; null where the flow was logged. */
  standard_L: number | null;
  /** Block means about the trend: standard deviation, and seconds a block. */
  stray_L: number;
  block_s: number;
}

/**
 * Burn trend: by fuel flow where that was logged, else a straight line by Theil–Sen over means of blocks; both leap at a refuel (a rise that stays).
 * @param time_s does not go back. @param good whether a row's volume counts.
 */
export function burnTrend(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  flow: Float64Array | null,
): BurnTrend {
  const n = time_s.length;
  const blocks = Math.max(6, Math.min(60, Math.floor((time_s[n - 1]! - time_s[0]!) / 20)));
  const size = Math.max(1, Math.floor(n / blocks));
  const block_s = (size * (time_s[n - 1]! - time_s[0]!)) / n;
  const centre: { t: number; v: number; row: number }[] = [];
  for (let b = 0; b < blocks; b++) {
    let sum = 0;
    let count = 0;
    for (let i = b * size; i < Math.min(n, (b + 1) * size); i++)
      if (good(i)) {
        sum += volume_L[i]!;
        count++;
      }
    if (count === 0) continue;
    const row = Math.min(n - 1, b * size + (size >> 1));
    centre.push({
      row,
      t: time_s[row]!,
      v: sum / count,
    });
  }
  if (flow) {
    const used = new Float64Array(n);
    for (let i = 1; i < n; i++)
      used[i] = used[i - 1]! + (Number.isNaN(flow[i]!) ? 0 : (flow[i]! * (time_s[i]! - time_s[i - 1]!)) / 3600);
    return { ...flowTrend(time_s, volume_L, good, used, centre), block_s };
  }
  const jumps = refuels(centre);
  const trend = new Float64Array(n);
  let start_s = time_s[0]!;
  const edges = [0, ...jumps, centre.length];
  const rest: number[] = [];
  const lines: { seconds: number; slope: number; uneven: number }[] = [];
  let before: { slope: number; level: number } | null = null;
  for (let p = 0; p + 1 < edges.length; p++) {
    const part = centre.slice(edges[p]!, edges[p + 1]!);
    const line = fallingLine(part);
    const { slope, level } = line;
    const filled = before
      ? fillingAt(time_s, volume_L, good, centre[edges[p]! - 1]!, centre[edges[p]!]!, before, line)
      : null;
    const to_s = filled ? filled.to_s : Number.NEGATIVE_INFINITY;
    const from_s = filled ? filled.from_s : Number.NEGATIVE_INFINITY;
    const low_L = before ? before.level + before.slope * from_s : 0;
    const high_L = level + slope * to_s;
    for (let i = 0; i < n; i++)
      if (time_s[i]! >= to_s) trend[i] = level + slope * time_s[i]!;
      else if (time_s[i]! > from_s) trend[i] = low_L + ((high_L - low_L) * (time_s[i]! - from_s)) / (to_s - from_s);
    const last = lines[lines.length - 1];
    if (last) last.seconds = from_s - start_s;
    start_s = p === 0 ? time_s[0]! : to_s;
    before = line;
    for (const c of part) rest.push(c.v - level - slope * c.t);
    const middle = part.reduce((sum, c) => sum + c.t, 0) / part.length;
    lines.push({
      seconds: time_s[n - 1]! - start_s,
      slope,
      uneven: part.reduce((sum, c) => sum + (c.t - middle) ** 2, 0),
    });
  }
  const stray_L = deviation(rest);
  // Neighbouring blocks are alike where hills and manoeuvres outlast a block: so many fewer are independent.
  const alike = Math.min(0.8, Math.max(0, autocorrelation(Float64Array.from(rest), 1)));
  const variance = (stray_L ** 2 * (1 + alike)) / (1 - alike);
  let squares = 0;
  for (const l of lines) if (l.uneven > 0) squares += (variance / l.uneven) * l.seconds ** 2;
  return {
    trend_L: trend,
    burnt_L: lines.reduce((sum, l) => sum - l.slope * l.seconds, 0),
    standard_L: Math.sqrt(squares),
    stray_L,
    block_s,
  };
}

/** By fuel flow: what the flow has not explained is level, and stands higher after each refuel. */
function flowTrend(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  used: Float64Array,
  centre: { t: number; v: number; row: number }[],
): Omit<BurnTrend, "block_s"> {
  const n = time_s.length;
  const given = volume_L.map((v, i) => v + used[i]!);
  const blocks = centre.map((c) => ({ ...c, v: c.v + used[c.row]! }));
  const edges = [0, ...refuels(blocks).filter(stays), blocks.length];
  const level_L = Float64Array.from(used, () => 0);
  const rest: number[] = [];
  let before: { slope: number; level: number } | null = null;
  for (let p = 0; p + 1 < edges.length; p++) {
    const [first, next] = [blocks[edges[p]!], blocks[edges[p + 1]!]];
    // Between two refuels: the blocks next to one have a part of it inside.
    const from = before ? blocks[Math.min(edges[p]! + 1, edges[p + 1]! - 1)]!.row : 0;
    const to = next ? blocks[Math.max(edges[p + 1]! - 2, edges[p]!)]!.row : n;
    const within: number[] = [];
    for (let i = from; i < to; i++) if (good(i)) within.push(given[i]!);
    within.sort((a, b) => a - b);
    const line = { slope: 0, level: within[within.length >> 1] ?? first?.v ?? 0 };
    const filled = before
      ? fillingAt(time_s, given, good, blocks[edges[p]! - 1]!, blocks[edges[p]!]!, before, line)
      : null;
    const [from_s, to_s] = filled ? [filled.from_s, filled.to_s] : [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
    for (let i = 0; i < n; i++)
      if (time_s[i]! >= to_s) level_L[i] = line.level;
      else if (before && time_s[i]! > from_s)
        level_L[i] = before.level + ((line.level - before.level) * (time_s[i]! - from_s)) / (to_s - from_s);
    for (let b = edges[p]!; b < edges[p + 1]!; b++) rest.push(blocks[b]!.v - line.level);
    before = line;
  }
  /** A hill or a long bend lifts some blocks and lets them down again: a refuel stands out of what all others stray by. */
  function stays(at: number): boolean {
    const [low, high] = [blocks.slice(0, at), blocks.slice(at)].map((part) => part.map((b) => b.v));
    const rise = median(high!) - median(low!);
    const stray = median([low!, high!].flatMap((part) => part.map((v) => Math.abs(v - median(part)))));
    return rise > 4 * stray;
  }

  return {
    trend_L: level_L.map((level, i) => level - used[i]!),
    burnt_L: used[n - 1]!,
    standard_L: null,
    stray_L: deviation(rest),
  };
}

const deviation = (x: number[]): number => (x.length > 1 ? standardDeviation(x) : 0);

/** Longest that a refuel is looked for, from its middle to either side. Named default, no source. */
const mostFilling_s = 240;

/**
 * From when to when the tank was filled: where the two burns, and a straight rise from one to the other, lie nearest to the record (least squares
 * over means of seconds). A pump gives some forty litres a minute, so that a large tank takes minutes, and taken for one leap they would be motion.
 */
function fillingAt(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  last: { t: number; v: number },
  first: { t: number; v: number },
  before: { slope: number; level: number },
  after: { slope: number; level: number },
): { from_s: number; to_s: number } {
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
  const low = Float64Array.from(sum, (_, b) => before.level + before.slope * at(b));
  const high = Float64Array.from(sum, (_, b) => after.level + after.slope * at(b));
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

/** Fuel does not come back while driving: a rising line is taken for a level one. */
function fallingLine(points: { t: number; v: number }[]): { slope: number; level: number } {
  if (points.length === 0) return { slope: 0, level: 0 };
  const t = points.map((p) => p.t);
  const v = points.map((p) => p.v);
  const slope = points.length > 1 ? Math.min(0, theilSen(t, v).slope) : 0;
  return { slope, level: median(v.map((y, i) => y - slope * t[i]!)) };
}

/** Rises that stay: blocks after which the level stands clearly higher than before. */
function refuels(centre: { t: number; v: number }[]): number[] {
  const found: { at: number; rise: number }[] = [];
  const diffs = centre
    .slice(1)
    .map((c, i) => Math.abs(c.v - centre[i]!.v))
    .sort((a, b) => a - b);
  const noise = diffs[diffs.length >> 1] ?? 0;
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
