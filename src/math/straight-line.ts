/**
 * A straight line through points whose errors are known in y (also correlated), known in both axes, or not known at all.
 *
 * ISO/TS 28037:2010: clause 6 (one uncertainty a point), 7 (both axes), 8 and 10 (covariances between the axes and between points, from
 * memory), 9 (correlated y), Annex E (unknown uncertainty). Factorisation on a centred and scaled x, never normal equations.
 */
import { leastSquares } from "./least-squares";
import { backward, cholesky, dot, forward } from "./triangular";

export interface StraightLine {
  intercept: number;
  slope: number;
  /** Variances of intercept and slope, and their covariance. */
  interceptVariance: number;
  slopeVariance: number;
  covariance: number;
  /** Residual sum of squares over the stated errors: to be held against χ² with `freedom`. Null where errors are not known. */
  chiSquared: number | null;
  freedom: number;
  /** Standard deviation of one y from the residuals; null where errors are stated. */
  residualSd: number | null;
  /** y less the line, in the unit of y. */
  residuals: number[];
}

/** What is known of the errors of y: nothing, a standard uncertainty for each, or their covariance row by row. */
export type ErrorsOfY =
  | { known: "nothing" }
  | { known: "each"; standard: number[] }
  | { known: "all"; covariance: number[][] };

/**
 * Line with exact x.
 * @returns with `known: "nothing"` errors scaled by the residuals (Annex E, before its factor, see `smallSampleFactor`).
 * @throws if there are fewer than 2 different x, lengths differ, or the covariance is not positive definite.
 */
export function fitLine(x: number[], y: number[], errors: ErrorsOfY = { known: "nothing" }): StraightLine {
  const frame = frameOf(x, y.length, "fitLine");
  const t = x.map((v) => (v - frame.centre) / frame.scale);
  const ones = x.map(() => 1);
  if (errors.known !== "all") {
    const fit = leastSquares([ones, t], y, errors.known === "each" ? errors.standard : null);
    return unframe(fit.coefficients, fit.covariance, frame, {
      chiSquared: errors.known === "each" ? fit.squares : null,
      freedom: fit.freedom,
      residualSd: errors.known === "each" ? null : fit.residualSd,
      residuals: fit.residuals,
    });
  }
  const { fit, residuals } = generalised([ones, t], y, errors.covariance, "fitLine");
  return unframe(fit.coefficients, fit.covariance, frame, {
    chiSquared: fit.squares,
    freedom: fit.freedom,
    residualSd: null,
    residuals,
  });
}

/**
 * Factor on standard uncertainties that came from the residuals of n points: a t distribution with n − 2 degrees of freedom has
 * the standard deviation √((n − 2)/(n − 4)) times its scale. Null below 5 points, where it has none.
 * @see ISO/TS 28037:2010, Annex E (from memory); derived from the variance of Student's t.
 */
export const smallSampleFactor = (n: number): number | null => (n > 4 ? Math.sqrt((n - 2) / (n - 4)) : null);

/** Errors of both axes: a standard uncertainty for each point (0 allowed in one of them), or the covariances of x, of y and of x with y. */
export type ErrorsOfBoth =
  | { known: "each"; x: number[]; y: number[] }
  | { known: "all"; x: number[][]; y: number[][]; between?: number[][] };

export interface LineInBothAxes extends StraightLine {
  /** Where each point lies on its axis by the fit: x with its own error taken off. */
  fittedX: number[];
  steps: number;
  /** False if the steps had not become smaller than the last digits when they were stopped. */
  settled: boolean;
}

/**
 * Effective-variance iteration: x kept as read, each weight 1/(u_y² + b²u_x²) with the slope of the step before. Quick, and close to
 * `fitBothAxes` while u_x is small against the spread of x; not its minimum.
 * @throws as `fitLine`.
 */
export function fitEffectiveVariance(x: number[], y: number[], ux: number[], uy: number[]): LineInBothAxes {
  let line = fitLine(x, y);
  let steps = 0;
  let settled = false;
  while (!settled && steps < 100) {
    const before = line.slope;
    const standard = uy.map((u, i) => Math.hypot(u, before * ux[i]!));
    line = fitLine(x, y, { known: "each", standard });
    steps += 1;
    settled = Math.abs(line.slope - before) <= 1e-13 * (Math.abs(before) + Math.sqrt(line.slopeVariance));
  }
  const b = line.slope;
  const fittedX = x.map((v, i) => v + (b * ux[i]! ** 2 * line.residuals[i]!) / (uy[i]! ** 2 + b * b * ux[i]! ** 2));
  return { ...line, fittedX, steps, settled };
}

/**
 * Generalised distance regression: the line that is likeliest with errors in both axes, by Gauss–Newton steps on the line and on the true
 * x of all points together (Gauss–Markov). The true x are taken out of each step in closed form: y − bx has the covariance
 * U_y + b²U_x − b(U_xy + U_xyᵀ), so each step is a `fitLine` of that covariance.
 *
 * @returns uncertainties of the linearised solution, as the specification gives them.
 * @throws if there are fewer than 2 different x, or that covariance is not positive definite (exact x and exact y at once).
 * @see ISO/TS 28037:2010, clauses 7, 8 and 10.
 */
export function fitBothAxes(x: number[], y: number[], errors: ErrorsOfBoth): LineInBothAxes {
  const frame = frameOf(x, y.length, "fitBothAxes");
  const n = x.length;
  const t = x.map((v) => (v - frame.centre) / frame.scale);
  const diagonal = (u: number[]) => u.map((v, i) => u.map((_, j) => (i === j ? v * v : 0)));
  const scaled = (m: number[][], by: number) => m.map((r) => r.map((v) => v / by));
  const ofX = scaled(errors.known === "each" ? diagonal(errors.x) : errors.x, frame.scale ** 2);
  const ofY = errors.known === "each" ? diagonal(errors.y) : errors.y;
  const between = errors.known === "all" && errors.between ? scaled(errors.between, frame.scale) : null;
  const start = leastSquares([t.map(() => 1), t], y);
  let [a, b] = start.coefficients as [number, number];
  let trueT = [...t];
  let fit = start;
  let steps = 0;
  let settled = false;
  while (!settled && steps < 200) {
    const joint = ofY.map((r, i) =>
      r.map((v, j) => v + b * b * ofX[i]![j]! - (between ? b * (between[i]![j]! + between[j]![i]!) : 0)),
    );
    const rest = y.map((v, i) => v - a - b * t[i]!);
    const solved = generalised([t.map(() => 1), trueT], rest, joint, "fitBothAxes");
    fit = solved.fit;
    const [da, db] = fit.coefficients as [number, number];
    // cov(x, y − bx) times the inverse of its covariance times what is left over: the error of each x.
    const force = solved.weighted;
    const shift = t.map((_, i) => {
      let s = 0;
      for (let j = 0; j < n; j++) s += ((between ? between[i]![j]! : 0) - b * ofX[i]![j]!) * force[j]!;
      return s;
    });
    trueT = t.map((v, i) => v - shift[i]!);
    a += da;
    b += db;
    steps += 1;
    const [ua, ub] = fit.standardErrors as [number, number];
    settled = Math.abs(da) <= 1e-12 * (Math.abs(a) + ua) && Math.abs(db) <= 1e-12 * (Math.abs(b) + ub);
  }
  return {
    ...unframe([a, b], fit.covariance, frame, {
      chiSquared: fit.squares,
      freedom: fit.freedom,
      residualSd: null,
      residuals: y.map((v, i) => v - a - b * t[i]!),
    }),
    fittedX: trueT.map((v) => frame.centre + frame.scale * v),
    steps,
    settled,
  };
}

/** y of the line at x, and its standard uncertainty as far as the line's own parameters go. */
export function onLine(line: StraightLine, x: number): { value: number; standard: number } {
  const variance = line.interceptVariance + x * x * line.slopeVariance + 2 * x * line.covariance;
  return { value: line.intercept + line.slope * x, standard: Math.sqrt(Math.max(0, variance)) };
}

interface Frame {
  centre: number;
  scale: number;
}

function frameOf(x: number[], count: number, who: string): Frame {
  if (x.length !== count) throw new Error(`${who}: ${x.length} x for ${count} y`);
  const centre = x.reduce((s, v) => s + v, 0) / x.length;
  const scale = Math.max(...x.map((v) => Math.abs(v - centre)));
  if (!(scale > 0)) throw new Error(`${who}: needs two different x`);
  return { centre, scale };
}

/** Back from the centred and scaled x: intercept and slope with their covariance. */
function unframe(
  coefficients: number[],
  c: number[][],
  { centre, scale }: Frame,
  others: Pick<StraightLine, "chiSquared" | "freedom" | "residualSd" | "residuals">,
): StraightLine {
  const [at, along] = coefficients as [number, number];
  const m = centre / scale;
  const c01 = c[0]![1]!;
  const c11 = c[1]![1]!;
  return {
    intercept: at - m * along,
    slope: along / scale,
    interceptVariance: c[0]![0]! - 2 * m * c01 + m * m * c11,
    slopeVariance: c11 / scale ** 2,
    covariance: (c01 - m * c11) / scale,
    ...others,
  };
}

/** Least squares under a covariance, by its Cholesky factor; `weighted` is the inverse of the covariance times the residuals. */
function generalised(columns: number[][], y: number[], covariance: number[][], who: string) {
  const l = cholesky(covariance);
  if (!l) throw new Error(`${who}: the covariance is not positive definite`);
  const whiten = (v: number[]) => Array.from(forward(l, v));
  const fit = leastSquares(
    columns.map(whiten),
    whiten(y),
    y.map(() => 1),
  );
  const residuals = y.map(
    (v, i) =>
      v -
      dot(
        columns.map((c) => c[i]!),
        fit.coefficients,
      ),
  );
  return { fit, residuals, weighted: backward(l, fit.residuals) };
}
