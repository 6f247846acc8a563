/** Which row of a least-squares fit stands out, and which one carries it: deletion residuals, leverage, Cook's distance. */
import { tProbability, tQuantile } from "./distributions";
import type { LinearFit } from "./least-squares";

export interface RowDiagnostics {
  /** Externally studentised residual: the row judged by the fit without it; null where the row alone carries a coefficient. */
  studentised: (number | null)[];
  leverage: number[];
  cooksDistance: (number | null)[];
  /** The row that stands out most, its two-sided p, and that p times the number of rows (at most 1). */
  worst: { row: number; studentised: number; p: number; bonferroniP: number } | null;
}

/**
 * @param fit of uncorrelated rows, or of whitened ones.
 * @see Cook and Weisberg 1982 (from memory); Bonferroni limit over all rows.
 */
export function rowDiagnostics(fit: LinearFit): RowDiagnostics {
  const { leverage, freedom, squares } = fit;
  const parameters = fit.coefficients.length;
  const free = leverage.map((h) => 1 - h > 1e-10);
  const e = fit.whitened;
  const studentised = e.map((r, i) => {
    if (!free[i] || freedom < 2) return null;
    const without = squares - (r * r) / (1 - leverage[i]!);
    return without > 0 ? r / Math.sqrt((without / (freedom - 1)) * (1 - leverage[i]!)) : null;
  });
  const s2 = squares / freedom;
  const cooksDistance = e.map((r, i) =>
    free[i] && s2 > 0 ? (r * r * leverage[i]!) / (parameters * s2 * (1 - leverage[i]!) ** 2) : null,
  );
  let row = -1;
  studentised.forEach((t, i) => {
    if (t !== null && (row < 0 || Math.abs(t) > Math.abs(studentised[row]!))) row = i;
  });
  if (row < 0) return { studentised, leverage, cooksDistance, worst: null };
  const t = studentised[row]!;
  const p = 2 * tProbability(-Math.abs(t), freedom - 1);
  return {
    studentised,
    leverage,
    cooksDistance,
    worst: { row, studentised: t, p, bonferroniP: Math.min(1, p * e.length) },
  };
}

/** Largest studentised residual among n that chance allows, at the level `alpha` over all of them; `freedom` of the fit. */
export const bonferroniLimit = (n: number, freedom: number, alpha = 0.05): number =>
  tQuantile(1 - alpha / (2 * n), freedom - 1);
