/** Mean and joint covariance of the smooth curve at chosen places, averaged over the settings by their weight. */
import type { Noise } from "./smooth-chain";
import { bend, noiseGrid, type SmoothProblem, walkFrom } from "./smoothing";

export interface SmoothFit {
  mean: Float64Array;
  /** Joint covariance of every `every`-th place from the first on, row by row, without the error of a point. */
  covariance: Float64Array;
  /** Posterior mean of the squared unexplained scatter: what one reading leaves open even on a perfectly known curve. */
  scatterVariance: number;
  /** Settings that may be the likeliest, in the order given: all so near to it that rounding could decide. */
  likeliest: Noise[];
}

/** Settings fainter than this, against the likeliest, do not count. */
const faintest = 0.03;
/** Far over what rounding does to the log likelihood of a setting. */
const withinRounding = 0.01;

/**
 * @param at places. @param noises the settings that count; the whole grid if left out. @param every the joint covariance is
 *   wanted at every so many places: it changes slowly and costs the square of their number.
 * @throws RangeError if no setting gives a positive definite matrix.
 */
export function predictSmooth(
  problem: SmoothProblem,
  at: ArrayLike<number>,
  noises = noiseGrid(problem),
  every = 1,
): SmoothFit {
  const { x, y, covariance, readingVariance } = problem;
  const n = x.length;
  const g = at.length;
  const joint = Math.ceil(g / every);
  const walkBetween = walkFrom(Math.min(...x), problem.pace);
  const known = new Float64Array(n * n);
  const walk = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      known[i * n + j] = covariance[i]![j]! + bend(problem, x[i]!, x[j]!);
      walk[i * n + j] = walkBetween(x[i]!, x[j]!);
    }
  const fill = (a: Float64Array, noise: Noise) => {
    const r2 = noise.roughness ** 2;
    for (let i = 0; i < n; i++) {
      const row = i * n;
      for (let j = 0; j < i; j++) a[row + j] = known[row + j]! + r2 * walk[row + j]!;
      a[row + i] = known[row + i]! + r2 * walk[row + i]! + noise.factor ** 2 * readingVariance[i]! + noise.scatter ** 2;
    }
  };
  const fits = noises.flatMap((noise) => {
    // The factor, and after it 1, x and y whitened.
    const a = new Float64Array((n + 3) * n);
    fill(a, noise);
    placeFree(a, n, x, y);
    const logDeterminant = factorise(a, n);
    if (logDeterminant === null) return [];
    whiten(a, n);
    const free = freeLine(a, n);
    return [{ noise, a, free, log: noise.logPrior - 0.5 * (logDeterminant + free.logGram + free.squares) }];
  });
  const top = Math.max(...fits.map((f) => f.log));
  if (!(top > Number.NEGATIVE_INFINITY)) throw new RangeError("predictSmooth: no setting is positive definite");
  const used = fits.flatMap((f) => (f.log > top + Math.log(faintest) ? [{ ...f, w: Math.exp(f.log - top) }] : []));
  const total = used.reduce((s, u) => s + u.w, 0);

  // A row a point, a column a place: all places are whitened side by side.
  const walkToPoints = new Float64Array(n * g);
  const bendToPoints = new Float64Array(n * g);
  for (let j = 0; j < n; j++)
    for (let i = 0; i < g; i++) {
      walkToPoints[j * g + i] = walkBetween(at[i]!, x[j]!);
      bendToPoints[j * g + i] = bend(problem, at[i]!, x[j]!);
    }
  const within = { walk: new Float64Array(joint * joint), bend: new Float64Array(joint * joint) };
  for (let i = 0; i < joint; i++)
    for (let j = 0; j <= i; j++) {
      within.walk[i * joint + j] = walkBetween(at[i * every]!, at[j * every]!);
      within.bend[i * joint + j] = bend(problem, at[i * every]!, at[j * every]!);
    }
  const mean = new Float64Array(g);
  const second = new Float64Array(joint * joint);
  const means = used.map(() => new Float64Array(g));
  // Points are taken four at a time: those beyond the last are nothing.
  const fours = 4 * Math.ceil(n / 4);
  const toPoints = new Float64Array(fours * g);
  const inner = new Float64Array(joint * joint);
  const f0 = new Float64Array(g);
  const f1 = new Float64Array(g);
  const gap = new Float64Array(2 * joint);
  let scatterVariance = 0;
  used.forEach(({ noise, a, free, w }, u) => {
    const share = w / total;
    const r2 = noise.roughness ** 2;
    scatterVariance += share * noise.scatter ** 2;
    for (let k = 0; k < n * g; k++) toPoints[k] = r2 * walkToPoints[k]! + bendToPoints[k]!;
    whitenAll(a, n, toPoints, g);
    const { b0, b1, c11, c21, c22 } = free;
    const m = means[u]!;
    for (let i = 0; i < g; i++) {
      f0[i] = 1;
      f1[i] = at[i]!;
      m[i] = b0 + b1 * at[i]!;
    }
    inner.fill(0);
    for (let k = 0; k < n; k++) {
      const one = a[n * n + k]!;
      const line = a[(n + 1) * n + k]!;
      const rest = a[(n + 2) * n + k]! - b0 * one - b1 * line;
      for (let i = 0; i < g; i++) {
        const c = toPoints[k * g + i]!;
        f0[i]! -= c * one;
        f1[i]! -= c * line;
        m[i]! += c * rest;
      }
    }
    for (let k = 0; k < fours * g; k += 4 * g)
      for (let p = 0; p < joint; p++) {
        const at = k + p * every;
        const c0 = toPoints[at]!;
        const c1 = toPoints[at + g]!;
        const c2 = toPoints[at + 2 * g]!;
        const c3 = toPoints[at + 3 * g]!;
        for (let q = 0, o = k; q <= p; q++, o += every)
          inner[p * joint + q] =
            inner[p * joint + q]! +
            c0 * toPoints[o]! +
            c1 * toPoints[o + g]! +
            c2 * toPoints[o + 2 * g]! +
            c3 * toPoints[o + 3 * g]!;
      }
    for (let p = 0; p < joint; p++) {
      const z0 = f0[p * every]! / c11;
      const z1 = (f1[p * every]! - c21 * z0) / c22;
      gap[2 * p] = z0;
      gap[2 * p + 1] = z1;
      for (let q = 0; q <= p; q++) {
        const pq = p * joint + q;
        second[pq]! +=
          share * (r2 * within.walk[pq]! + within.bend[pq]! - inner[pq]! + z0 * gap[2 * q]! + z1 * gap[2 * q + 1]!);
      }
    }
    for (let i = 0; i < g; i++) mean[i]! += share * m[i]!;
  });
  used.forEach(({ w }, u) => {
    const share = w / total;
    const m = means[u]!;
    const off = (p: number) => m[p * every]! - mean[p * every]!;
    for (let p = 0; p < joint; p++) for (let q = 0; q <= p; q++) second[p * joint + q]! += share * off(p) * off(q);
  });
  for (let p = 0; p < joint; p++) for (let q = 0; q < p; q++) second[q * joint + p] = second[p * joint + q]!;
  const likeliest = fits.filter((f) => f.log > top - withinRounding).map((f) => f.noise);
  return { mean, covariance: second, scatterVariance, likeliest };
}

function placeFree(a: Float64Array, n: number, x: number[], y: number[]): void {
  a.fill(1, n * n, (n + 1) * n);
  a.set(x, (n + 1) * n);
  a.set(y, (n + 2) * n);
}

/** Cholesky factor of the first n rows, in place. Returns log of the determinant, null if it is not positive definite. */
function factorise(a: Float64Array, n: number): number | null {
  let logDeterminant = 0;
  for (let i = 0; i < n; i++) {
    const row = i * n;
    let diagonal = a[row + i]!;
    for (let j = 0; j < i; j++) {
      const other = j * n;
      let s = a[row + j]!;
      for (let k = 0; k < j; k++) s -= a[row + k]! * a[other + k]!;
      s /= a[other + j]!;
      a[row + j] = s;
      diagonal -= s * s;
    }
    if (!(diagonal > 0)) return null;
    a[row + i] = Math.sqrt(diagonal);
    logDeterminant += Math.log(diagonal);
  }
  return logDeterminant;
}

/** Solves L z = b for each of the rows after the factor, in place. */
function whiten(a: Float64Array, n: number): void {
  for (let r = n; r < n + 3; r++) {
    const row = r * n;
    for (let j = 0; j < n; j++) {
      const other = j * n;
      let s = a[row + j]!;
      for (let k = 0; k < j; k++) s -= a[row + k]! * a[other + k]!;
      a[row + j] = s / a[other + j]!;
    }
  }
}

/** Solves L Z = B for all `columns` columns of B at once, in place; B row by row. */
function whitenAll(a: Float64Array, n: number, b: Float64Array, columns: number): void {
  for (let j = 0; j < n; j++) {
    const own = b.subarray(j * columns, (j + 1) * columns);
    for (let k = 0; k < j; k++) {
      const l = a[j * n + k]!;
      const before = k * columns;
      for (let i = 0; i < columns; i++) own[i]! -= b[before + i]! * l;
    }
    const diagonal = a[j * n + j]!;
    for (let i = 0; i < columns; i++) own[i]! /= diagonal;
  }
}

/** Straight line under the walk by generalised least squares: coefficients, Cholesky factor of its information, sum of squares left. */
function freeLine(a: Float64Array, n: number) {
  const one = n * n;
  const line = (n + 1) * n;
  const values = (n + 2) * n;
  let g00 = 0;
  let g01 = 0;
  let g11 = 0;
  let y0 = 0;
  let y1 = 0;
  let yy = 0;
  for (let k = 0; k < n; k++) {
    const u = a[one + k]!;
    const v = a[line + k]!;
    const w = a[values + k]!;
    g00 += u * u;
    g01 += u * v;
    g11 += v * v;
    y0 += u * w;
    y1 += v * w;
    yy += w * w;
  }
  const c11 = Math.sqrt(g00);
  const c21 = g01 / c11;
  const c22 = Math.sqrt(Math.max(1e-14 * g11, g11 - c21 * c21));
  const z0 = y0 / c11;
  const z1 = (y1 - c21 * z0) / c22;
  const b1 = z1 / c22;
  const b0 = (z0 - c21 * b1) / c11;
  return { b0, b1, c11, c21, c22, logGram: 2 * Math.log(c11 * c22), squares: Math.max(0, yy - z0 * z0 - z1 * z1) };
}
