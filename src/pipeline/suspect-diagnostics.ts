/** How much each step weighs in the fit, how far off it stands, and what fault could be seen there. */
import { chainScores } from "../math/smooth-chain";
import type { Setting } from "../math/smoothing";
import { dot, forward, project } from "../math/triangular";
import { type Member, placed, type RunChain } from "./run-chain";

export interface Diagnostic {
  studentised: number;
  leverage: number;
  cook: number;
  /** Smallest pour and smallest reading fault that would be found there in 95 % of runs, litres: five standard errors (methods part 4). */
  pour_L: number | null;
  reading_L: number | null;
  /** The wrong reading in the reading's own unit. */
  reading: number | null;
}

/** Residual of each point in units of its own standard deviation, leverage and Cook's distance at the likeliest setting. */
export function diagnoseRun(run: RunChain, members: Member[]): Diagnostic[] {
  const put = placed(run, members, false);
  if (!put) return [];
  const { chain, node, slopes } = put;
  const scores = chainScores(chain, run.settings);
  const logs = run.settings.map((s, k) => s.logPrior + scores.logLikelihood[k]!);
  const top = Math.max(...logs);
  const likeliest = logs.indexOf(top);
  const weights = logs.map((l) => Math.exp(l - top));
  const n = chain.x.length;
  /** Standard error of the size of a shift there, averaged over the settings. */
  const standardError = (information: Float64Array, at: number): number | null => {
    let variance = 0;
    let used = 0;
    weights.forEach((w, k) => {
      const info = information[k * n + at]!;
      if (w < 1e-3 || !(info > 1e-9)) return;
      variance += w / info;
      used += w;
    });
    return used > 0 ? Math.sqrt(variance / used) : null;
  };
  const setting = run.settings[likeliest]!;
  let summed = 0;
  const rows = run.points.map((_, i) => {
    const at = node[i]!;
    summed += chain.pour[at]!;
    const variance =
      chain.own[at]! +
      setting.factor ** 2 * chain.readingVariance[at]! +
      setting.scatter ** 2 +
      chain.slope[at]! ** 2 * summed;
    const information = scores.readingInformation[likeliest * n + at]!;
    const pour = standardError(scores.pourInformation, at);
    const reading = standardError(scores.readingInformation, at);
    return {
      studentised: information > 1e-12 ? scores.readingScore[likeliest * n + at]! / Math.sqrt(information) : 0,
      leverage: Math.min(1, Math.max(0, 1 - variance * information)),
      pour_L: pour === null ? null : 5 * pour * run.range_L,
      reading_L: reading === null ? null : (5 * reading * run.range_L) / slopes[i]!,
      reading: reading === null ? null : (5 * reading) / Math.abs(run.coordinate.slope(run.points[i]!.step.reading)),
    };
  });
  const freedom = Math.max(
    1,
    rows.reduce((s, d) => s + d.leverage, 0),
  );
  return rows.map((d) => ({
    ...d,
    cook: d.leverage < 1 ? (d.studentised ** 2 * d.leverage) / ((1 - d.leverage) * freedom) : 0,
  }));
}

/** Degrees of freedom that a smooth curve takes: sum of the leverages. @param variance of each point. */
export function freedomOf(setting: Setting, variance: number[]): number {
  const n = variance.length;
  return variance.reduce((sum, v, k) => {
    const column = new Array<number>(n).fill(0);
    column[k] = 1;
    const d = project(setting.q, forward(setting.l, column));
    return sum + Math.min(1, Math.max(0, 1 - v * dot(d, d)));
  }, 0);
}
