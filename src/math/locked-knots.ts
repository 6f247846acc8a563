/**
 * Continuous straight pieces between knots of which some are locked where they stand and others are looked for; pieces between two locked knots
 * may be held flat. By generalised least squares on whitened columns.
 */
import { profileLimit } from "./breakpoint-interval";
import { dot, forward, orthonormal, project } from "./triangular";

export interface LockedKnots {
  /** Rising, strictly inside the points. */
  locked: number[];
  /** How many more are looked for, 0 to 2. */
  free: number;
  /** Pieces held flat, counted from 0 at the lowest x, between the locked knots alone: none is looked for inside them. */
  flat: number[];
}

export interface LockedFit {
  /** All knots, rising. */
  knots: { at: number; locked: boolean; lower: number; upper: number }[];
  /** Value left of all pieces at the lowest x, and the slope of each piece. */
  start: number;
  slopes: number[];
  sse: number;
  fitted: number[];
  value: (x: number) => number;
}

/** Most places that are tried for a knot before it is moved between them. */
const mostPlaces = 60;
/** Golden-section steps of one move: the place is known to a millionth of the range. */
const goldenSteps = 30;
const golden = (Math.sqrt(5) - 1) / 2;

/**
 * @param l whitener of y (lower Cholesky root of its covariance), in the order of x; x in any order.
 * @returns null where the pieces cannot be carried by the points: a column without information, or no place left for a free knot.
 * @throws for more than two free knots.
 */
export function fitLocked(x: number[], y: number[], l: Float64Array[], wanted: LockedKnots): LockedFit | null {
  if (!(wanted.free >= 0 && wanted.free <= 2)) throw new Error(`fitLocked: looks for 0 to 2 knots, got ${wanted.free}`);
  const low = Math.min(...x);
  const high = Math.max(...x);
  const { locked } = wanted;
  const yw = forward(l, y);
  const cache = new Map<number, Float64Array>();
  /** Whitened max(0, x − k). */
  const hinge = (k: number): Float64Array => {
    let found = cache.get(k);
    if (!found) {
      found = forward(
        l,
        x.map((v) => Math.max(0, v - k)),
      );
      if (cache.size < 4000) cache.set(k, found);
    }
    return found;
  };
  const one = forward(
    l,
    x.map(() => 1),
  );
  const edges = [low, ...locked, high];
  const isFlat = (from: number, to: number) =>
    wanted.flat.some((p) => p >= 0 && p < edges.length - 1 && from >= edges[p]! && to <= edges[p + 1]!);
  /** Columns of one, and of a ramp for each piece that may slope. */
  const columnsOf = (knots: number[]) => {
    const all = [low, ...knots, high];
    const sloping = all.slice(0, -1).flatMap((from, j) => (isFlat(from, all[j + 1]!) ? [] : [j]));
    const ramps = sloping.map((j) => {
      const [a, b] = [hinge(all[j]!), hinge(all[j + 1]!)];
      return a.map((v, i) => v - b[i]!);
    });
    return { all, sloping, columns: [one, ...ramps] };
  };
  const sseOf = (knots: number[]): number => {
    const { columns } = columnsOf(knots);
    if (columns.length >= x.length) return Number.POSITIVE_INFINITY;
    if (columns.slice(1).some((c) => !(dot(c, c) > 0))) return Number.POSITIVE_INFINITY;
    const { q } = orthonormal(columns);
    if (q.length < columns.length) return Number.POSITIVE_INFINITY;
    const rest = project(q, Float64Array.from(yw));
    return dot(rest, rest);
  };
  const sorted = (free: number[]) => [...locked, ...free].sort((a, b) => a - b);

  const distinct = [...new Set(x)].sort((a, b) => a - b);
  /** Each piece beside a free knot has two readings of its own: else the best fit is a spike through one. */
  const carried = (free: number[]) => {
    const all = [low, ...sorted(free), high];
    return free.every((k) => {
      const j = all.indexOf(k);
      const inside = (from: number, to: number) => distinct.filter((v) => v >= from && v <= to).length;
      return inside(all[j - 1]!, k) >= 2 && inside(k, all[j + 1]!) >= 2 && !isFlat(all[j - 1]!, all[j + 1]!);
    });
  };
  const cost = (free: number[]) => (carried(free) ? sseOf(sorted(free)) : Number.POSITIVE_INFINITY);
  const between = distinct
    .slice(1)
    .flatMap((v, i) => [(v + distinct[i]!) / 2, v])
    .slice(0, -1);
  const every = Math.ceil(between.length / mostPlaces);
  const places = between.filter((_, i) => i % every === 0);
  let free: number[] = [];
  if (wanted.free > 0) {
    let best = Number.POSITIVE_INFINITY;
    const look = (knots: number[]) => {
      const c = cost(knots);
      if (c < best) [best, free] = [c, knots];
    };
    for (const [i, a] of places.entries()) {
      if (wanted.free === 1) look([a]);
      else for (const b of places.slice(i + 1)) look([a, b]);
    }
    if (!Number.isFinite(best)) return null;
    const reach = (every + 1) * Math.max(...distinct.slice(1).map((v, i) => v - distinct[i]!));
    for (let round = 0; round < 4; round++)
      for (let j = 0; j < free.length; j++) {
        const moved = goldenMove((at) => cost(free.map((k, m) => (m === j ? at : k))), free[j]!, reach / 2 ** round);
        if (moved.cost <= best) [best, free] = [moved.cost, free.map((k, m) => (m === j ? moved.at : k))];
      }
    free.sort((a, b) => a - b);
  }
  const knots = sorted(free);
  const sse = sseOf(knots);
  if (!Number.isFinite(sse)) return null;
  const { all, sloping, columns } = columnsOf(knots);
  const coefficients = solveBy(columns, yw);
  const start = coefficients[0]!;
  const slopes = all.slice(0, -1).map((_, j) => {
    const at = sloping.indexOf(j);
    return at < 0 ? 0 : coefficients[at + 1]!;
  });
  const value = (v: number) =>
    slopes.reduce((s, slope, j) => {
      // The outer pieces go on beyond the points.
      const from = j === 0 ? Number.NEGATIVE_INFINITY : all[j]!;
      const to = j === slopes.length - 1 ? Number.POSITIVE_INFINITY : all[j + 1]!;
      const begin = j === 0 ? low : all[j]!;
      return s + slope * (Math.max(from, Math.min(to, v)) - begin) * (v < from ? 0 : 1);
    }, start);
  const limit = profileLimit(sse, x.length - columns.length - free.length, true);
  const interval = (j: number) => {
    let [lower, upper] = [free[j]!, free[j]!];
    // The other free knot is looked for again at each place.
    for (const place of between) {
      const others = free.length === 1 ? [[place]] : places.map((o) => [place, o]);
      if (Math.min(...others.map(cost)) > limit) continue;
      lower = Math.min(lower, place);
      upper = Math.max(upper, place);
    }
    return { lower, upper };
  };
  return {
    knots: knots.map((at) => {
      const j = free.indexOf(at);
      return j < 0 ? { at, locked: true, lower: at, upper: at } : { at, locked: false, ...interval(j) };
    }),
    start,
    slopes,
    sse,
    fitted: x.map(value),
    value,
  };
}

/** Least cost near a place by golden section; the cost may have steps, so the best place seen is kept. */
function goldenMove(cost: (at: number) => number, middle: number, reach: number): { at: number; cost: number } {
  let [a, b] = [middle - reach, middle + reach];
  let best = { at: middle, cost: cost(middle) };
  const look = (at: number) => {
    const c = cost(at);
    if (c < best.cost) best = { at, cost: c };
    return c;
  };
  let [c, d] = [b - golden * (b - a), a + golden * (b - a)];
  let [fc, fd] = [look(c), look(d)];
  for (let i = 0; i < goldenSteps; i++) {
    if (fc < fd) {
      [b, d, fd] = [d, c, fc];
      c = b - golden * (b - a);
      fc = look(c);
    } else {
      [a, c, fc] = [c, d, fd];
      d = a + golden * (b - a);
      fd = look(d);
    }
  }
  return best;
}

/** Coefficients of columns through their orthogonal basis. */
function solveBy(columns: Float64Array[], y: ArrayLike<number>): number[] {
  const { q } = orthonormal(columns);
  const p = columns.length;
  const coefficients = new Array<number>(p).fill(0);
  for (let j = p - 1; j >= 0; j--) {
    let s = dot(q[j]!, y);
    for (let k = j + 1; k < p; k++) s -= dot(q[j]!, columns[k]!) * coefficients[k]!;
    coefficients[j] = s / dot(q[j]!, columns[j]!);
  }
  return coefficients;
}
