/**
 * Candidates: the explanations of a fill run that a person can name, all fitted to the same whitened points with one
 * likelihood. They explain and they are compared; band and table come from the smooth curve (curve.ts).
 */
import { fitPrepared, piecewiseValue, preparePoints, whitener } from "../math/breakpoints";
import { findSpikes } from "../math/piecewise-spike";
import { dot, forward, logDeterminant, orthonormal, project } from "../math/triangular";
import type { CandidateFit } from "./curve-types";

export interface Points {
  reading: number[];
  volume_L: number[];
  covariance: number[][];
}

/** Generalised least squares on given columns, by orthogonal columns. */
export function fitColumns(
  columns: number[][],
  y: number[],
  l: Float64Array[],
): { coefficients: number[]; sse: number; fitted: number[]; leverage: number[] } {
  const whitened = columns.map((c) => forward(l, c));
  const { q } = orthonormal(whitened);
  const yw = forward(l, y);
  const rest = project(q, Float64Array.from(yw));
  // Back to coefficients through the triangular system of the whitened columns.
  const p = columns.length;
  const r = whitened.map((c) => q.map((u) => dot(u, c)));
  const z = q.map((u) => dot(u, yw));
  const coefficients = new Array<number>(p).fill(0);
  for (let j = p - 1; j >= 0; j--) {
    let s = z[j] ?? 0;
    for (let k = j + 1; k < p; k++) s -= (r[k]![j] ?? 0) * coefficients[k]!;
    coefficients[j] = s / (r[j]![j] ?? 1);
  }
  const fitted = y.map((_, i) => columns.reduce((s, c, j) => s + c[i]! * coefficients[j]!, 0));
  const leverage = y.map((_, i) => q.reduce((s, u) => s + u[i]! ** 2, 0));
  return { coefficients, sse: dot(rest, rest), fitted, leverage };
}

/** Numbers of a candidate that all kinds share. Parameters: coefficients, σ, and 3 a breakpoint (methods part 3). */
export function rate(
  kind: CandidateFit["kind"],
  name: string,
  points: Points,
  l: Float64Array[],
  fit: { sse: number; fitted: number[]; leverage: number[] | null },
  parameters: Record<string, number>,
  free: number,
  breakpoints: CandidateFit["breakpoints"],
  at: (reading: number) => number,
): CandidateFit {
  const n = points.volume_L.length;
  const residuals_L = points.volume_L.map((v, i) => v - fit.fitted[i]!);
  const parameterCount = free + 3 * breakpoints.length + 1;
  const sigma2 = Math.max(fit.sse / n, 1e-12);
  const logLikelihood = -0.5 * n * (Math.log(2 * Math.PI * sigma2) + 1) - 0.5 * logDeterminant(l);
  const spare = n - parameterCount - 1;
  const aicc =
    spare > 0
      ? -2 * logLikelihood + 2 * parameterCount + (2 * parameterCount * (parameterCount + 1)) / spare
      : Number.POSITIVE_INFINITY;
  const low = Math.min(...points.reading);
  const high = Math.max(...points.reading);
  const loo = residuals_L.map(
    (r, i) => r / Math.max(0.05, 1 - (fit.leverage?.[i] ?? (free + 2 * breakpoints.length) / n)),
  );
  return {
    kind,
    name,
    parameters,
    breakpoints,
    points: Array.from({ length: 61 }, (_, i) => low + ((high - low) * i) / 60).map((reading) => ({
      reading,
      volume_L: at(reading),
    })),
    residuals_L,
    residualSd_L: Math.sqrt(
      residuals_L.reduce((s, r) => s + r * r, 0) / Math.max(1, n - free - 2 * breakpoints.length),
    ),
    worst_L: Math.max(...residuals_L.map(Math.abs)),
    logLikelihood,
    parameterCount,
    aicc: Number.isFinite(aicc) ? aicc : 1e9,
    bic: -2 * logLikelihood + parameterCount * Math.log(n),
    looError_L: Math.sqrt(loo.reduce((s, r) => s + r * r, 0) / n),
  };
}

/** Added to the name of a candidate with a short piece that correlated errors would make as well. */
const withSpike = ", one of them no more than a spike of correlated errors";
const words = ["no", "one", "two", "three", "four", "five", "six", "seven"];

/**
 * All candidates that n points can carry.
 * @param supply reading that stands for the supply, when the divider is known; else null.
 * @param most most breakpoints that may be tried.
 */
export function fitCandidates(points: Points, supply: number | null, most = 5): CandidateFit[] {
  const { reading, volume_L } = points;
  const n = reading.length;
  const l = whitener(points.covariance, n);
  const middle = reading.reduce((s, v) => s + v, 0) / n;
  const half = Math.max(...reading.map((v) => Math.abs(v - middle))) || 1;
  const u = reading.map((v) => (v - middle) / half);
  const fits: CandidateFit[] = [];
  const power = (degree: number, name: string, kind: "line" | "polynomial") => {
    const columns = Array.from({ length: degree + 1 }, (_, d) => u.map((v) => v ** d));
    const fit = fitColumns(columns, volume_L, l);
    const at = (r: number) => fit.coefficients.reduce((s, c, d) => s + c * ((r - middle) / half) ** d, 0);
    const parameters: Record<string, number> =
      kind === "line"
        ? { intercept_L: at(0), slope_L: at(1) - at(0) }
        : Object.fromEntries([
            ["centre", middle],
            ["halfWidth", half],
            ...fit.coefficients.map((c, d) => [`c${d}_L`, c] as [string, number]),
          ]);
    fits.push(rate(kind, name, points, l, fit, parameters, degree + 1, [], at));
  };
  power(1, "one straight line", "line");
  if (supply !== null) {
    const raw = (r: number) => 1 / (supply - r);
    const centre = raw(middle);
    const fit = fitColumns([u.map(() => 1), reading.map((r) => raw(r) / centre - 1)], volume_L, l);
    const at = (r: number) => fit.coefficients[0]! + fit.coefficients[1]! * (raw(r) / centre - 1);
    fits.push(
      rate(
        "divider",
        "a line through the divider",
        points,
        l,
        fit,
        { a_L: fit.coefficients[0]! - fit.coefficients[1]!, b_L: fit.coefficients[1]! / centre, supply },
        2,
        [],
        at,
      ),
    );
  }
  if (n >= 5) power(2, "a curve of second degree", "polynomial");
  if (n >= 6) power(3, "a curve of third degree", "polynomial");
  if (n >= 8) power(4, "a curve of fourth degree", "polynomial");
  let prepared: ReturnType<typeof preparePoints> = null;
  for (let k = 1; k <= most; k++) {
    // One breakpoint needs 8 points, two 11, three 14 (methods part 3).
    if (n < 5 + 3 * k) break;
    prepared ??= preparePoints(reading, volume_L, points.covariance);
    const fit = prepared && fitPrepared(prepared, k, { search: "fast" });
    if (!fit) break;
    const at = fit.breakpoints.map((b) => b.at);
    const value = (r: number) => piecewiseValue(fit.coefficients, at, r);
    fits.push(
      rate(
        "piecewise",
        `${words[k + 1]} straight pieces${findSpikes(reading, volume_L, l, fit).length > 0 ? withSpike : ""}`,
        points,
        l,
        { sse: fit.sse, fitted: reading.map(value), leverage: null },
        Object.fromEntries(
          fit.coefficients.map((c, i) => [i === 0 ? "intercept_L" : i === 1 ? "slope_L" : `change${i - 1}_L`, c]),
        ),
        2,
        fit.breakpoints.map((b) => ({ reading: b.at, standardError: b.standardError, lower: b.lower, upper: b.upper })),
        value,
      ),
    );
  }
  return fits;
}

/**
 * Chooses the explanation: the simplest whose misfit does not matter against the tolerance; if none is that good, the
 * least AICc with 3 parameters a breakpoint. Leave-one-out is printed and does not decide.
 */
export function chooseCandidate(
  fits: CandidateFit[],
  tolerance_L: number,
  n: number,
): { fit: CandidateFit; why: string } {
  const { fit, why } = simplestGood(fits, tolerance_L, n);
  if (!fit.name.endsWith(withSpike)) return { fit, why };
  return {
    fit,
    why: `${why} One of its pieces is short and no more than what correlated errors make by chance: do not build on it, pour more steps there.`,
  };
}

function simplestGood(fits: CandidateFit[], tolerance_L: number, n: number): { fit: CandidateFit; why: string } {
  const order = [...fits].sort((a, b) => a.parameterCount - b.parameterCount);
  const good = order.find((f) => f.kind !== "polynomial" && f.worst_L <= tolerance_L / 3);
  const least = fits.filter((f) => f.kind !== "polynomial").reduce((a, b) => (b.aicc < a.aicc ? b : a));
  if (good && good.aicc <= least.aicc + 10)
    return { fit: good, why: `It is the simplest that stays within a third of the tolerance at every step.` };
  const few = n < 11 ? ` With ${n} steps, more pieces could not be told from chance.` : "";
  return {
    fit: least,
    why: `Of all that are simple enough to name it has the least AICc, each breakpoint counted as three parameters.${few}`,
  };
}
