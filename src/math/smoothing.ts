/**
 * A smooth curve through few, correlated points: an integrated random walk with a free straight line under it (the
 * cubic smoothing spline as a mixed model; Wahba 1983, from memory), its roughness not plugged in but averaged over
 * by restricted likelihood, because a dozen points never tell it well.
 */
import { cholesky, dot, forward, logDeterminant, orthonormal, project } from "./triangular";

export interface SmoothProblem {
  /** Place of each point, scaled to about [0, 1]. */
  x: number[];
  y: number[];
  /** Covariance of y that is known, row by row. */
  covariance: number[][];
  /** Variance of each y that stands on a stated reading error; a factor on it is averaged over too. */
  readingVariance: number[];
  /** Extra columns whose coefficients are free (a fault put into the model). */
  extra: number[][];
  /** Size of y's range: the unit for roughness. */
  range: number;
  scatter: Scatter[];
  /** Grids of roughness and of the factor on the reading error with their prior; the defaults below if left out. */
  roughnesses?: { relative: number; logPrior: number }[];
  factors?: { factor: number; logPrior: number }[];
  /** Places where the curve is known to bend, with the standard deviation of the change of slope. */
  kinks?: { at: number; spread: number }[];
}

/** One roughness and one factor on the reading error, factorised. */
export interface Setting {
  roughness: number;
  factor: number;
  /** Standard deviation of the unexplained scatter, same unit as y. */
  scatter: number;
  /** log of the prior weight. */
  logPrior: number;
  /** log restricted likelihood. */
  logLikelihood: number;
  l: Float64Array[];
  q: Float64Array[];
  /** Whitened y with the free columns projected out. */
  residual: Float64Array;
}

/** Covariance of the integrated random walk of unit roughness that starts at 0 with level and slope 0. */
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

/** Factorises the problem at every setting of the grid. Settings whose matrix is not positive definite are left out. */
export function settingsOf(problem: SmoothProblem): Setting[] {
  const { x, y, covariance, readingVariance, extra, range } = problem;
  const n = x.length;
  const left = Math.min(...x);
  const walk = x.map((s) => x.map((t) => walkCovariance(s - left, t - left)));
  const known = covariance.map((row, i) => row.map((c, j) => c + bend(problem, x[i]!, x[j]!)));
  const free = [new Array<number>(n).fill(1), x, ...extra];
  const settings: Setting[] = [];
  const { factors, roughnesses } = gridOf(problem);
  for (const { factor, logPrior: logFactor } of factors)
    for (const scatter of problem.scatter)
      for (const { relative, logPrior: logRough } of roughnesses) {
        const roughness = relative * range;
        const extra2 = (scatter.relative * range) ** 2;
        const logPrior = logFactor + scatter.logPrior + logRough;
        const sigma = known.map((row, i) =>
          row.map(
            (c, j) =>
              c + roughness * roughness * walk[i]![j]! + (i === j ? factor * factor * readingVariance[i]! + extra2 : 0),
          ),
        );
        const l = cholesky(sigma);
        if (!l) continue;
        const { q, logGram } = orthonormal(free.map((c) => forward(l, c)));
        const residual = project(q, forward(l, y));
        settings.push({
          roughness,
          factor,
          scatter: scatter.relative * range,
          logPrior,
          logLikelihood: -0.5 * (logDeterminant(l) + logGram + dot(residual, residual)),
          l,
          q,
          residual,
        });
      }
  return settings;
}

/** The grids of a problem: its own, else the defaults. */
export const gridOf = (problem: SmoothProblem) => ({
  factors: problem.factors ?? factorGrid,
  roughnesses: problem.roughnesses ?? roughnessGrid,
});

/** Covariance that the known bends give to two places. */
function bend(problem: SmoothProblem, s: number, t: number): number {
  let c = 0;
  for (const k of problem.kinks ?? []) c += k.spread ** 2 * Math.max(0, s - k.at) * Math.max(0, t - k.at);
  return c;
}

/** log Σ exp. */
export function logSum(values: number[]): number {
  const most = Math.max(...values);
  if (most === Number.NEGATIVE_INFINITY) return most;
  return most + Math.log(values.reduce((s, v) => s + Math.exp(v - most), 0));
}

/** log evidence of the problem: restricted likelihood averaged over the settings. */
export const evidenceOf = (settings: Setting[]): number =>
  logSum(settings.map((s) => s.logPrior + s.logLikelihood)) - logSum(settings.map((s) => s.logPrior));

/** Posterior weights of the settings, summing to 1. */
export function weightsOf(settings: Setting[]): number[] {
  const total = logSum(settings.map((s) => s.logPrior + s.logLikelihood));
  return settings.map((s) => Math.exp(s.logPrior + s.logLikelihood - total));
}

export interface SmoothFit {
  mean: number[];
  covariance: number[][];
  logEvidence: number;
  /** Posterior mean of roughness and of the factor on the reading error. */
  roughness: number;
  factor: number;
  /** Posterior mean of the squared unexplained scatter: what one reading leaves open even on a perfectly known curve. */
  scatterVariance: number;
}

/** Mean and joint covariance of the curve (without point noise) at the places `at`. */
export function predictSmooth(problem: SmoothProblem, at: number[], settings = settingsOf(problem)): SmoothFit {
  if (settings.length === 0) throw new Error("predictSmooth: no setting of the grid is positive definite");
  const weights = weightsOf(settings);
  const { x, extra } = problem;
  const n = x.length;
  const g = at.length;
  const start = Math.min(...x);
  const mean = new Array<number>(g).fill(0);
  const second = Array.from({ length: g }, () => new Float64Array(g));
  const means: { w: number; m: Float64Array }[] = [];
  const most = Math.max(...weights);
  let used = 0;
  const walkToPoints = at.map((s) => Float64Array.from(x, (t) => walkBetween(s, t, start)));
  const bendToPoints = at.map((s) => Float64Array.from(x, (t) => bend(problem, s, t)));
  const walkWithin = at.map((s, i) => Float64Array.from({ length: i + 1 }, (_, j) => walkBetween(s, at[j]!, start)));
  const bendWithin = at.map((s, i) => Float64Array.from({ length: i + 1 }, (_, j) => bend(problem, s, at[j]!)));
  const placesRow = at.map((s) => [1, s, ...extra.map(() => 0)]);
  settings.forEach((setting, k) => {
    const w = weights[k]!;
    if (w < 0.02 * most) return;
    used += w;
    const r2 = setting.roughness ** 2;
    const { l } = setting;
    // The walk starts at the leftmost place of all; with a free line under it the start does not matter.
    const cross = walkToPoints.map((walk, i) =>
      forward(
        l,
        walk.map((c, j) => r2 * c + bendToPoints[i]![j]!),
      ),
    );
    const freeRows = placesRow;
    const whitenedFree = [new Array<number>(n).fill(1), x, ...extra].map((c) => forward(l, c));
    const solve = freeSolver(whitenedFree);
    const beta = solve.coefficients(forward(l, problem.y));
    const rest = forward(l, problem.y);
    whitenedFree.forEach((c, j) => {
      for (let i = 0; i < n; i++) rest[i]! -= beta[j]! * c[i]!;
    });
    const m = new Float64Array(g);
    const gap = at.map((_, i) => solve.back(freeRows[i]!.map((f, j) => f - dot(whitenedFree[j]!, cross[i]!))));
    for (let i = 0; i < g; i++) {
      m[i] = freeRows[i]!.reduce((s, f, j) => s + f * beta[j]!, 0) + dot(cross[i]!, rest);
      const row = second[i]!;
      const ci = cross[i]!;
      const gi = gap[i]!;
      for (let j = 0; j <= i; j++)
        row[j]! += w * (r2 * walkWithin[i]![j]! + bendWithin[i]![j]! - dot(ci, cross[j]!) + dot(gi, gap[j]!));
    }
    means.push({ w, m });
  });
  for (const { w, m } of means) for (let i = 0; i < g; i++) mean[i]! += (w / used) * m[i]!;
  const covariance = second.map((row, i) => Array.from(row, (_, j) => (j <= i ? row[j]! / used : 0)));
  for (const { w, m } of means)
    for (let i = 0; i < g; i++)
      for (let j = 0; j <= i; j++) covariance[i]![j]! += (w / used) * (m[i]! - mean[i]!) * (m[j]! - mean[j]!);
  for (let i = 0; i < g; i++) for (let j = 0; j < i; j++) covariance[j]![i] = covariance[i]![j]!;
  return {
    mean,
    covariance,
    logEvidence: evidenceOf(settings),
    roughness: settings.reduce((s, v, k) => s + weights[k]! * v.roughness, 0),
    factor: settings.reduce((s, v, k) => s + weights[k]! * v.factor, 0),
    scatterVariance: settings.reduce((s, v, k) => s + weights[k]! * v.scatter ** 2, 0),
  };
}

/** Places left of the first point lie on the line that leaves the walk at its start: the walk is anchored at the first point of all. */
function walkBetween(s: number, t: number, start: number): number {
  const a = s - start;
  const b = t - start;
  if (a >= 0 && b >= 0) return walkCovariance(a, b);
  // Two-sided walk: independent of the right side, mirrored.
  if (a < 0 && b < 0) return walkCovariance(-a, -b);
  return 0;
}

/** Triangular solver for the free columns: coefficients, and R⁻ᵀ v for their covariance. */
function freeSolver(columns: Float64Array[]) {
  const p = columns.length;
  const gram = columns.map((a) => columns.map((b) => dot(a, b)));
  for (let i = 0; i < p; i++) gram[i]![i]! *= 1 + 1e-12;
  const r = cholesky(gram);
  if (!r) throw new Error("predictSmooth: the free columns depend on each other");
  return {
    coefficients: (y: Float64Array) => {
      const z = forward(
        r,
        columns.map((c) => dot(c, y)),
      );
      const b = new Float64Array(p);
      for (let i = p - 1; i >= 0; i--) {
        let s = z[i]!;
        for (let k = i + 1; k < p; k++) s -= r[k]![i]! * b[k]!;
        b[i] = s / r[i]![i]!;
      }
      return b;
    },
    back: (v: number[]) => forward(r, v),
  };
}

/** Nearest rising (or level) values by pooling neighbours that fall (isotonic regression, pool adjacent violators). */
export function risingValues(values: number[]): number[] {
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
