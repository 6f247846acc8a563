/** Burn trend: what the fuel does in a drive log once motion is averaged out, and how well that is known. */
import { median } from "simple-statistics";
import { deviationOf, levelTrend } from "./level-trend";
import { type Block, fillingAt, refuels } from "./refuels";

export interface BurnTrend {
  /** One value a row, litres. */
  trend_L: Float64Array;
  /** Litres burnt: what the trend falls by, refuels left out. */
  burnt_L: number;
  /** Seconds in which they were burnt: those of refuels left out, and of stands where the burn goes by the seconds driven. */
  over_s: number;
  /** Standard uncertainty of that, from how far the block means scatter about the trend; null where the flow was logged. */
  standard_L: number | null;
  /** Whether the burn goes by the seconds driven, and stands still while the vehicle does. */
  whileDriving: boolean;
  /** Block means about the trend: standard deviation, and seconds a block. */
  stray_L: number;
  block_s: number;
}

/**
 * Burn trend: by fuel flow where that was logged, else a straight line by Theil–Sen over means of blocks; both leap at a refuel (a rise that stays).
 * Blocks with a part of a refuel inside them tell neither line.
 * @param time_s does not go back. @param good whether a row's volume counts. @param driven_s seconds driven up to each row; null where that is not
 *   known, or where the vehicle hardly stands. Where the level follows them clearly better than the clock, the burn is one of driving.
 */
export function burnTrend(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  flow: Float64Array | null,
  driven_s: Float64Array | null = null,
): BurnTrend {
  const n = time_s.length;
  const { centre, block_s } = blockMeans(time_s, volume_L, good);
  if (flow) {
    const used = new Float64Array(n);
    for (let i = 1; i < n; i++)
      used[i] = used[i - 1]! + (Number.isNaN(flow[i]!) ? 0 : (flow[i]! * (time_s[i]! - time_s[i - 1]!)) / 3600);
    return { ...flowTrend(time_s, volume_L, good, used, centre), block_s, whileDriving: false };
  }
  const record = { time_s, volume_L, good, centre, block_s };
  const byClock = levelTrend({ ...record, clock_s: time_s });
  if (driven_s === null) return { ...byClock, block_s, whileDriving: false };
  const byDriving = levelTrend({ ...record, clock_s: driven_s });
  const whileDriving = byDriving.stray_L < clearlyLess * byClock.stray_L;
  return { ...(whileDriving ? byDriving : byClock), block_s, whileDriving };
}

/** A burn of driving is told where blocks stray from it by less than this share of what they stray from a burn by the clock. Named default, no source. */
const clearlyLess = 0.7;

/** Means of six to sixty blocks of rows. */
function blockMeans(time_s: Float64Array, volume_L: Float64Array, good: (i: number) => boolean) {
  const n = time_s.length;
  const blocks = Math.max(6, Math.min(60, Math.floor((time_s[n - 1]! - time_s[0]!) / 20)));
  const size = Math.max(1, Math.floor(n / blocks));
  const block_s = (size * (time_s[n - 1]! - time_s[0]!)) / n;
  const centre: Block[] = [];
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
  return { centre, block_s };
}

/** By fuel flow: what the flow has not explained is level, and stands higher after each refuel. */
function flowTrend(
  time_s: Float64Array,
  volume_L: Float64Array,
  good: (i: number) => boolean,
  used: Float64Array,
  centre: { t: number; v: number; row: number }[],
): Omit<BurnTrend, "block_s" | "whileDriving"> {
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
    const low = before;
    const filled = low
      ? fillingAt(
          { time_s, volume_L: given, good },
          blocks[edges[p]! - 1]!,
          blocks[edges[p]!]!,
          () => low.level,
          () => line.level,
        )
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
    over_s: time_s[n - 1]! - time_s[0]!,
    standard_L: null,
    stray_L: deviationOf(rest),
  };
}
