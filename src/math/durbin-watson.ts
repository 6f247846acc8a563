/** Durbin–Watson: do neighbouring residuals follow each other? Exact chance for a design, and the bounds that hold for any design. */
import { EigenvalueDecomposition, Matrix } from "ml-matrix";
import { normalQuantile } from "./distributions";
import { orthonormal, project } from "./triangular";

/** Statistic Σ(eᵢ − eᵢ₋₁)² / Σeᵢ²: about 2 without correlation, towards 0 when neighbours err alike. NaN for residuals that are all 0. */
export function durbinWatson(e: ArrayLike<number>): number {
  let above = 0;
  let below = 0;
  for (let i = 0; i < e.length; i++) {
    below += e[i]! * e[i]!;
    if (i > 0) above += (e[i]! - e[i - 1]!) ** 2;
  }
  return above / below;
}

/**
 * Chance that a quadratic form Σ wᵢ zᵢ² of independent standard normals is below 0.
 * @see Imhof 1961: ½ − (1/π)∫ sin(½Σ atan(wᵢu)) / (u Π(1 + wᵢ²u²)^¼) du; without a constant the integrand does not swing.
 */
export function chanceBelowZero(weights: number[]): number {
  const largest = Math.max(...weights.map(Math.abs));
  if (!(largest > 0)) return 0.5;
  const w = weights.map((v) => v / largest);
  const slope = w.reduce((s, v) => s + v, 0) / 2;
  const integrand = (u: number) => {
    if (u === 0) return slope;
    let angle = 0;
    let logRho = 0;
    for (const v of w) {
      angle += Math.atan(v * u);
      logRho += Math.log1p(v * v * u * u);
    }
    return Math.sin(angle / 2) / (u * Math.exp(logRho / 4));
  };
  // u = s/(1 − s) brings the half-line to 0…1.
  const folded = (s: number) => (s >= 1 ? 0 : integrand(s / (1 - s)) / (1 - s) ** 2);
  return Math.min(1, Math.max(0, 0.5 - simpson(folded, 0, 1 - 1e-9, 1e-10) / Math.PI));
}

/** Adaptive Simpson rule from 32 equal parts. */
function simpson(f: (x: number) => number, from: number, to: number, within: number): number {
  const piece = (
    a: number,
    fa: number,
    b: number,
    fb: number,
    m: number,
    fm: number,
    tolerance: number,
    depth: number,
  ): number => {
    const left = (a + m) / 2;
    const right = (m + b) / 2;
    const fl = f(left);
    const fr = f(right);
    const whole = ((b - a) / 6) * (fa + 4 * fm + fb);
    const halves = ((b - a) / 12) * (fa + 4 * fl + 2 * fm + 4 * fr + fb);
    if (depth <= 0 || Math.abs(halves - whole) <= 15 * tolerance) return halves + (halves - whole) / 15;
    return (
      piece(a, fa, m, fm, left, fl, tolerance / 2, depth - 1) + piece(m, fm, b, fb, right, fr, tolerance / 2, depth - 1)
    );
  };
  const parts = 32;
  let sum = 0;
  for (let k = 0; k < parts; k++) {
    const a = from + ((to - from) * k) / parts;
    const b = from + ((to - from) * (k + 1)) / parts;
    const m = (a + b) / 2;
    sum += piece(a, f(a), b, f(b), m, f(m), within / parts, 30);
  }
  return sum;
}

/**
 * Chance of a statistic below `d` when residuals are independent: small means that neighbours err alike.
 * @param columns of the design, in the order of the rows.
 */
export function durbinWatsonChance(columns: number[][], d: number): number {
  const n = columns[0]!.length;
  const { q } = orthonormal(columns.map((c) => Float64Array.from(c)));
  // M A M, with M the projection off the design and A the matrix of squared first differences.
  const differences = Array.from({ length: n }, (_, i) => {
    const e = new Float64Array(n);
    e[i] = 1;
    project(q, e);
    return e;
  });
  const form = differences.map((e) => {
    const t = Float64Array.from(e, (v, i) => {
      const before = i > 0 ? e[i - 1]! : v;
      const after = i < n - 1 ? e[i + 1]! : v;
      return 2 * v - before - after;
    });
    return Array.from(project(q, t));
  });
  const symmetric = form.map((row, i) => row.map((v, j) => (v + form[j]![i]!) / 2));
  const eigen = new EigenvalueDecomposition(new Matrix(symmetric), { assumeSymmetric: true }).realEigenvalues;
  // As many zeros as columns belong to the design itself.
  const own = [...eigen].sort((a, b) => b - a).slice(0, n - q.length);
  return chanceBelowZero(own.map((v) => v - d));
}

/**
 * Bounds dL and dU for n rows, an intercept and `regressors` further columns: below dL neighbours err alike at level `alpha` whatever the
 * design, above dU nothing is shown; between them the design decides (`durbinWatsonChance`).
 * @see Durbin and Watson 1951.
 */
export function durbinWatsonBounds(n: number, regressors: number, alpha = 0.05): { lower: number; upper: number } {
  const eigen = Array.from({ length: n - 1 }, (_, j) => 2 * (1 - Math.cos((Math.PI * (j + 1)) / n)));
  const solve = (values: number[]) => {
    // On the normal scale the chance runs almost straight in d.
    const scale = (p: number) => normalQuantile(Math.min(1 - 1e-9, Math.max(1e-9, p)));
    const off = (d: number) => scale(chanceBelowZero(values.map((v) => v - d))) - scale(alpha);
    let [low, high] = [values[0]!, values[values.length - 1]!];
    let [atLow, atHigh] = [scale(0) - scale(alpha), scale(1) - scale(alpha)];
    // Regula falsi, Illinois form; the chance rises with d.
    let side = 0;
    for (let k = 0; k < 60 && high - low > 1e-9; k++) {
      const d = (low * atHigh - high * atLow) / (atHigh - atLow);
      const at = off(d);
      if (Math.abs(at) < 1e-9) return d;
      if (at < 0) {
        [low, atLow] = [d, at];
        if (side < 0) atHigh /= 2;
        side = -1;
      } else {
        [high, atHigh] = [d, at];
        if (side > 0) atLow /= 2;
        side = 1;
      }
    }
    return (low + high) / 2;
  };
  return { lower: solve(eigen.slice(0, n - 1 - regressors)), upper: solve(eigen.slice(regressors)) };
}
