/** How much each step weighs in the fit, how far off it stands, and what fault could be seen there. */
import type { Setting } from "../math/smoothing";
import { dot, forward, project } from "../math/triangular";

/** Standard uncertainty with which the amplitude of a column could be found, averaged over the settings. */
export function detectable(settings: Setting[], weights: number[], column: number[]): number | null {
  let variance = 0;
  let used = 0;
  settings.forEach((s, k) => {
    if (weights[k]! < 1e-3) return;
    const d = project(s.q, forward(s.l, column));
    const information = dot(d, d);
    if (!(information > 1e-9)) return;
    variance += weights[k]! / information;
    used += weights[k]!;
  });
  return used > 0 ? Math.sqrt(variance / used) : null;
}

export interface Diagnostic {
  studentised: number;
  leverage: number;
  cook: number;
}

/** Residual of each point in units of its own standard deviation, leverage and Cook's distance at the likeliest setting. */
export function diagnose(setting: Setting, variance: number[]): Diagnostic[] {
  const n = variance.length;
  const p = variance.map((_, k) => {
    const column = new Array<number>(n).fill(0);
    column[k] = 1;
    return project(setting.q, forward(setting.l, column));
  });
  const leverages = p.map((d, k) => Math.min(1, Math.max(0, 1 - variance[k]! * dot(d, d))));
  const freedom = Math.max(
    1,
    leverages.reduce((s, h) => s + h, 0),
  );
  return p.map((d, k) => {
    const information = dot(d, d);
    const studentised = information > 1e-12 ? dot(d, setting.residual) / Math.sqrt(information) : 0;
    const h = leverages[k]!;
    return { studentised, leverage: h, cook: h < 1 ? (studentised ** 2 * h) / ((1 - h) * freedom) : 0 };
  });
}
