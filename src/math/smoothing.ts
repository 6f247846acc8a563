/**
 * A smooth curve through few, correlated points: an integrated random walk with a free straight line under it (the
 * cubic smoothing spline as a mixed model; Wahba 1983, from memory), its roughness not plugged in but averaged over
 * by restricted likelihood, because a dozen points never tell it well.
 */
import type { Noise } from "./smooth-chain";
import { cholesky, dot, forward, logDeterminant, orthonormal, project } from "./triangular";

export interface SmoothProblem {
  /** Place of each point, scaled to about [0, 1]. */
  x: number[];
  y: number[];
  /** Covariance of y that is known, row by row. */
  covariance: number[][];
  /** Variance of each y that stands on a stated reading error; a factor on it is averaged over too. */
  readingVariance: number[];
  /** Size of y's range: the unit for roughness. */
  range: number;
  scatter: Scatter[];
  /** Grids of roughness and of the factor on the reading error with their prior; the defaults below if left out. */
  roughnesses?: { relative: number; logPrior: number }[];
  factors?: { factor: number; logPrior: number }[];
  /** How fast the slope may wander where; the same everywhere if left out. */
  pace?: Pace;
  /** Places where the curve is known to bend, with the standard deviation of the change of slope. */
  kinks?: { at: number; spread: number }[];
}

/** One setting, factorised. */
export interface Setting extends Noise {
  /** log restricted likelihood. */
  logLikelihood: number;
  l: Float64Array[];
  q: Float64Array[];
  /** Whitened y with the free columns projected out. */
  residual: Float64Array;
}

/** How fast the slope wanders, against unit roughness: `value[k]` up to `to[k]`, the last one beyond. */
export interface Pace {
  to: number[];
  value: number[];
}

/**
 * Covariance of the integrated random walk of unit roughness that leaves `start` with level and slope 0: ∫ q(u)(s − u)(t − u) du. On
 * the other side of `start` walks another one, independent of it; with a free line under both it does not matter where they part.
 */
export function walkFrom(start: number, pace?: Pace): (s: number, t: number) => number {
  const to = pace?.to ?? [];
  const value = pace && pace.value.length > 0 ? pace.value : [1];
  // Moments ∫q, ∫qu, ∫qu² up to the left edge of each piece, u from the start.
  const edge = new Float64Array(value.length);
  const moments = [0, 1, 2].map(() => new Float64Array(value.length)) as [Float64Array, Float64Array, Float64Array];
  for (let k = 0; k < value.length - 1; k++) {
    const from = edge[k]!;
    const end = Math.max(from, to[k]! - start);
    moments.forEach((moment, m) => {
      moment[k + 1] = moment[k]! + (value[k]! * (end ** (m + 1) - from ** (m + 1))) / (m + 1);
    });
    edge[k + 1] = end;
  }
  const [q0, q1, q2] = moments;
  return (s, t) => {
    const a = s - start;
    const b = t - start;
    if (a < 0 !== b < 0) return 0;
    if (a < 0) return value[0]! * walkCovariance(-a, -b);
    const m = Math.min(a, b);
    // The last piece that begins at m or before it.
    let k = 0;
    for (let beyond = edge.length; beyond - k > 1; ) {
      const middle = (k + beyond) >> 1;
      if (edge[middle]! > m) beyond = middle;
      else k = middle;
    }
    const e = edge[k]!;
    const v = value[k]!;
    return (
      a * b * (q0[k]! + v * (m - e)) -
      (a + b) * (q1[k]! + 0.5 * v * (m * m - e * e)) +
      (q2[k]! + (v * (m * m * m - e * e * e)) / 3)
    );
  };
}

/** The same for two places right of the start and unit pace throughout. */
export function walkCovariance(s: number, t: number): number {
  const a = Math.max(0, Math.min(s, t));
  const b = Math.max(s, t);
  return (a * a * (3 * b - a)) / 6;
}

/**
 * Prior of the roughness, in ranges of y over the whole of x: log-normal about 0.8. Learnt from clean simulated jobs of all
 * families (tuning seeds 1–140: log10 mean −0.1, spread 0.25), widened to 0.3.
 */
const roughnessGrid = Array.from({ length: 8 }, (_, i) => {
  const log10 = -1.0 + 0.26 * i;
  return { relative: 10 ** log10, logPrior: -0.5 * ((log10 + 0.1) / 0.3) ** 2 };
});
/** Stated reading errors are often too small (rounding by eye, friction). */
const factorGrid = [
  { factor: 1.2, logPrior: 0 },
  { factor: 2.5, logPrior: -1 },
];

/** How large the scatter is that no stated error explains, in ranges of y: turns of wire, contacts, a sticking float. */
export interface Scatter {
  relative: number;
  logPrior: number;
}
export const defaultScatter: Scatter[] = [
  { relative: 0.0004, logPrior: 0 },
  { relative: 0.0015, logPrior: 0 },
  { relative: 0.004, logPrior: -0.7 },
  { relative: 0.009, logPrior: -2 },
];

/** Every setting of a problem's grids, in units of y. */
export function noiseGrid(problem: Pick<SmoothProblem, "factors" | "roughnesses" | "scatter" | "range">): Noise[] {
  return (problem.factors ?? factorGrid).flatMap((f) =>
    problem.scatter.flatMap((s) =>
      (problem.roughnesses ?? roughnessGrid).map((r) => ({
        factor: f.factor,
        scatter: s.relative * problem.range,
        roughness: r.relative * problem.range,
        logPrior: f.logPrior + s.logPrior + r.logPrior,
      })),
    ),
  );
}

/** Factorises the problem at each setting. Settings whose matrix is not positive definite are left out. */
export function settingsOf(problem: SmoothProblem, noises = noiseGrid(problem)): Setting[] {
  const { x, y, covariance, readingVariance } = problem;
  const between = walkFrom(Math.min(...x), problem.pace);
  const lower = (of: (i: number, j: number) => number) =>
    x.map((_, i) => {
      const row = new Float64Array(i + 1);
      for (let j = 0; j <= i; j++) row[j] = of(i, j);
      return row;
    });
  const walk = lower((i, j) => between(x[i]!, x[j]!));
  const known = lower((i, j) => covariance[i]![j]! + bend(problem, x[i]!, x[j]!));
  const free = [new Array<number>(x.length).fill(1), x];
  const settings: Setting[] = [];
  for (const noise of noises) {
    const { roughness, factor, scatter } = noise;
    const whole = lower((i, j) => known[i]![j]! + roughness * roughness * walk[i]![j]!);
    whole.forEach((row, i) => {
      row[i]! += factor * factor * readingVariance[i]! + scatter ** 2;
    });
    const l = cholesky(whole);
    if (!l) continue;
    const { q, logGram } = orthonormal(free.map((c) => forward(l, c)));
    const residual = project(q, forward(l, y));
    settings.push({
      ...noise,
      logLikelihood: -0.5 * (logDeterminant(l) + logGram + dot(residual, residual)),
      l,
      q,
      residual,
    });
  }
  return settings;
}

/** Covariance that the known bends give to two places. */
export function bend(problem: SmoothProblem, s: number, t: number): number {
  let c = 0;
  for (const k of problem.kinks ?? []) c += k.spread ** 2 * Math.max(0, s - k.at) * Math.max(0, t - k.at);
  return c;
}

/** log Σ exp. */
export function logSum(values: ArrayLike<number>): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) most = Math.max(most, values[i]!);
  if (most === Number.NEGATIVE_INFINITY) return most;
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += Math.exp(values[i]! - most);
  return most + Math.log(sum);
}

/** log evidence of the problem: restricted likelihood averaged over the settings. */
export const evidenceOf = (settings: Setting[]): number =>
  logSum(settings.map((s) => s.logPrior + s.logLikelihood)) - logSum(settings.map((s) => s.logPrior));

/** Posterior weights of the settings, summing to 1. */
export function weightsOf(settings: Setting[]): number[] {
  const total = logSum(settings.map((s) => s.logPrior + s.logLikelihood));
  return settings.map((s) => Math.exp(s.logPrior + s.logLikelihood - total));
}

/** Nearest rising (or level) values by pooling neighbours that fall (isotonic regression, pool adjacent violators). */
export function risingValues(values: number[]): number[] {
  if (values.every((v, i) => i === 0 || values[i - 1]! <= v)) return [...values];
  const pools: { sum: number; n: number }[] = [];
  for (const v of values) {
    pools.push({ sum: v, n: 1 });
    while (pools.length > 1) {
      const b = pools[pools.length - 1]!;
      const a = pools[pools.length - 2]!;
      if (a.sum / a.n <= b.sum / b.n) break;
      pools.splice(-2, 2, { sum: a.sum + b.sum, n: a.n + b.n });
    }
  }
  return pools.flatMap((p) => new Array<number>(p.n).fill(p.sum / p.n));
}

/** A problem whose covariance is worked out when it is asked for, of as many means as are wanted: thousands of points have millions of pairs. */
export type SmoothSource = Omit<SmoothProblem, "covariance"> & { covarianceOfMeans(groups: number[][]): number[][] };

/**
 * The problem with neighbours drawn together into at most `most` points: mean place, mean value, covariance of the means. Points far
 * closer than the curve bends lose nothing by it; the work goes with the cube of their number.
 */
export function drawnTogether(problem: SmoothSource, most: number): SmoothProblem {
  const n = problem.x.length;
  const { covarianceOfMeans, ...rest } = problem;
  if (n <= most) return { ...rest, covariance: covarianceOfMeans(problem.x.map((_, i) => [i])) };
  const groups = groupsOf(problem.x, most);
  const mean = (of: (i: number) => number) => groups.map((g) => g.reduce((s, i) => s + of(i), 0) / g.length);
  const x = mean((i) => problem.x[i]!);
  // Places rise, and so does the piece that each lies in.
  let piece = 0;
  const paceAt = (at: number): number => {
    const { to, value } = problem.pace!;
    while (piece < to.length && !(to[piece]! > at)) piece++;
    return value[piece < to.length ? piece : value.length - 1]!;
  };
  return {
    ...rest,
    x,
    y: mean((i) => problem.y[i]!),
    readingVariance: groups.map((g) => g.reduce((s, i) => s + problem.readingVariance[i]!, 0) / g.length ** 2),
    covariance: covarianceOfMeans(groups),
    ...(problem.pace ? { pace: { to: x.slice(1), value: x.slice(1).map((at, k) => paceAt((at + x[k]!) / 2)) } } : {}),
  };
}

/** Points in order of their place, in so many groups of neighbours. */
export function groupsOf(x: number[], most: number): number[][] {
  const n = x.length;
  const order = x.map((_, i) => i).sort((a, b) => x[a]! - x[b]!);
  return Array.from({ length: most }, (_, g) =>
    order.slice(Math.floor((g * n) / most), Math.floor(((g + 1) * n) / most)),
  );
}
