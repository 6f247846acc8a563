/**
 * A fill run as a chain: readings on the model's coordinate in the order of the pours, with every fault and bend of a
 * state put in. What a state says is put in exactly: a pour that held more moves the later steps along the volume.
 */
import type { Chain, Noise } from "../math/smooth-chain";
import { noiseGrid } from "../math/smoothing";
import type { Coordinate } from "./coordinate";
import type { ReadingModel } from "./reading-model";
import { kinkSpreadAt, paceAt, slopesOf } from "./slopes";
import type { FitPoint } from "./smooth-problem";

/** One thing that is not as written, or one bend of the tank. Positions count points, not steps. */
export interface Member {
  what: "reading" | "hidden" | "pour" | "kink" | "shelf";
  /** The wrong reading, the first point after the pour, the point at or after which the tank bends, the first point on or past the shelf. */
  at: number;
  /** Shelf (a second room that fills over a wall while the surface stands): first point past it. */
  past?: number;
  /** A kink half-way to the next point. */
  between?: boolean;
  amountName: "one-pour" | "double" | "slip" | "any";
  /** Pour: litres that it held more than written, and the standard deviation of that; shelf: the same, less its size. Else on the coordinate. */
  mean: number;
  standard: number;
  /** log of its prior odds; for a pour of any amount also of finding it there. */
  logPrior: number;
}

/** What all states of one run share. */
export interface RunChain {
  points: FitPoint[];
  coordinate: Coordinate;
  /** Volume over the lowest, in ranges, in the order of the pours; it falls in a drain run. */
  x: number[];
  y: number[];
  own: number[];
  readingVariance: number[];
  /** Variance of the summed pour errors gained before each point, and of each volume alone, ranges². */
  pour: number[];
  volumeAlone: number[];
  low_L: number;
  range_L: number;
  spacing: number;
  settings: Noise[];
  /** log of the sum of their prior weights, those that the search has dropped included. */
  logPriorTotal: number;
  /** +1 where the volume rises with the pours. */
  direction: 1 | -1;
}

export function runChain(model: ReadingModel, points: FitPoint[]): RunChain {
  const { problem, range_L } = model;
  const { x, y } = problem;
  const n = x.length;
  const settings = noiseGrid(problem);
  const own = [...model.ownVariance];
  const { shared_L2, own_L2 } = model.errors;
  // Summed pours: a point shares all its error with every later one.
  const summed = own_L2.every((own, i) => i === n - 1 || Math.abs(shared_L2[i]! - own) <= 1e-9 * (1e-9 + own));
  const pour = x.map((_, i) => (summed ? Math.max(0, own_L2[i]! - (own_L2[i - 1] ?? 0)) / range_L ** 2 : 0));
  const volumeAlone = x.map((_, i) => (summed ? 0 : own_L2[i]! / range_L ** 2));
  return {
    points,
    coordinate: model.coordinate,
    x,
    y,
    own,
    readingVariance: problem.readingVariance,
    pour,
    volumeAlone,
    low_L: model.low_L,
    range_L,
    spacing: model.spacing,
    settings,
    logPriorTotal: Math.log(settings.reduce((s, v) => s + Math.exp(v.logPrior), 0)),
    direction: x[n - 1]! >= x[0]! ? 1 : -1,
  };
}

export interface PlacedChain {
  chain: Chain;
  /** Node of each point, and of the place half-way to the next one (−1 where there is none). */
  node: Int32Array;
  half: Int32Array;
  slopes: number[];
}

/** Share that a second room takes of the gap before the first step on its wall and of the one after the last, and the standard deviation of that share. */
export const onWall = { share: 0.5, spread: 0.3 };

/**
 * The run with the members of a state put in. @param halves also a node between each two inner points, where the tank may bend.
 * @returns null where a pour would have to be taken back beyond the one before it.
 */
export function placed(run: RunChain, members: Member[], halves: boolean): PlacedChain | null {
  const n = run.x.length;
  const x = [...run.x];
  const pour = [...run.pour];
  const y = [...run.y];
  const own = [...run.own];
  for (const m of members) {
    // What went in while the second room filled never moved the surface.
    if (m.what === "pour" && members.some((s) => s.what === "shelf" && s.past! > s.at && takesIn(s, m))) continue;
    if (m.what === "shelf" && m.past! > m.at) {
      // From half-way to the first point on it to half-way past the last one.
      const gaps = shelfGaps(run, m);
      for (let i = m.at; i < n; i++) x[i]! -= i < m.past! ? run.x[i]! - run.x[m.at]! + onWall.share * gaps[0] : gaps[2];
      pour[m.at]! += (onWall.spread * gaps[0]) ** 2;
      pour[m.past!]! += (onWall.spread * gaps[1]) ** 2;
    } else if (m.what === "pour" || m.what === "shelf") {
      for (let i = m.at; i < n; i++) x[i]! += m.mean / run.range_L;
      pour[m.at]! += (m.standard / run.range_L) ** 2;
    } else if (m.what === "reading" || m.what === "hidden") {
      y[m.at]! -= m.mean;
      own[m.at]! += m.standard ** 2;
    }
  }
  const slopes = slopesOf(x, bridged(x, y, members));
  const node = new Int32Array(n);
  const half = new Int32Array(n).fill(-1);
  const bends = new Set(members.filter((m) => m.what === "kink" && m.between).map((m) => m.at));
  let size = 0;
  for (let i = 0; i < n; i++) {
    if (i > 0 && run.direction * (x[i]! - x[i - 1]!) < -1e-9) return null;
    node[i] = size++;
    if (i + 1 < n && (bends.has(i) || (halves && i > 0 && i + 2 < n))) half[i] = size++;
  }
  const zeros = () => new Float64Array(size);
  const chain: Chain = {
    x: zeros(),
    seen: new Uint8Array(size),
    y: zeros(),
    own: zeros(),
    readingVariance: zeros(),
    slope: zeros(),
    pour: zeros(),
    bend: zeros(),
    pace: zeros().fill(1),
  };
  for (let i = 0; i < n; i++) {
    const at = node[i]!;
    chain.x[at] = run.direction * x[i]!;
    chain.seen[at] = 1;
    chain.y[at] = y[i]!;
    chain.own[at] = own[i]! + slopes[i]! ** 2 * run.volumeAlone[i]!;
    chain.readingVariance[at] = run.readingVariance[i]!;
    chain.slope[at] = slopes[i]!;
    chain.pour[at] = pour[i]!;
    // Between two nodes the slope wanders as fast as the slopes of the points on both sides say.
    if (i > 0) chain.pace[at] = paceAt(slopes[i - 1]!, slopes[i]!);
    if (half[i]! >= 0) {
      chain.x[half[i]!] = run.direction * ((x[i]! + x[i + 1]!) / 2);
      chain.pace[half[i]!] = paceAt(slopes[i]!, slopes[i + 1]!);
    }
  }
  for (const m of members)
    if (m.what === "kink")
      chain.bend[m.between ? half[m.at]! : node[m.at]!]! +=
        kinkSpreadAt(kinkSlope(slopes, m.at, m.between ?? false)) ** 2;
  return { chain, node, half, slopes };
}

/** Slope where a kink is: at a point, or half-way to the next one. */
export const kinkSlope = (slopes: number[], at: number, between: boolean): number =>
  between ? (slopes[at]! + slopes[at + 1]!) / 2 : slopes[at]!;

/**
 * Readings that the slopes are seen by: wrong ones next to each other (a float that hangs for several pours) give way to a straight line between
 * their neighbours; they would tell a slope of nothing, and of far too much beside them. One alone is crossed by the chords anyway.
 */
function bridged(x: number[], y: number[], members: Member[]): number[] {
  const wrong = new Set(members.filter((m) => m.what === "reading").map((m) => m.at));
  if (![...wrong].some((k) => wrong.has(k + 1))) return y;
  return y.map((value, i) => {
    if (!wrong.has(i) || !(wrong.has(i - 1) || wrong.has(i + 1))) return value;
    let [before, after] = [i, i];
    while (wrong.has(before)) before--;
    while (wrong.has(after)) after++;
    if (before < 0 || after >= y.length) return value;
    return y[before]! + ((x[i]! - x[before]!) / (x[after]! - x[before]! || 1)) * (y[after]! - y[before]!);
  });
}

/** Whether a pour lies where a second room fills: between the last point under it and the first one past it. */
export const takesIn = (shelf: Member, pour: Member): boolean => pour.at >= shelf.at && pour.at <= shelf.past!;

/** Litres that a second room took in beyond what is written. */
export const takenIn = (shelf: Member, members: Member[]): number =>
  members.reduce((s, m) => s + (m.what === "pour" && takesIn(shelf, m) ? m.mean : 0), 0);

/** Of a shelf with points on it: gap before them, gap after them, and its whole size, in ranges. */
export function shelfGaps(run: RunChain, m: Member): [number, number, number] {
  const before = run.x[m.at]! - run.x[m.at - 1]!;
  const after = run.x[m.past!]! - run.x[m.past! - 1]!;
  return [before, after, run.x[m.past! - 1]! - run.x[m.at]! + onWall.share * (before + after)];
}
