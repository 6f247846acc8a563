/** How much each step weighs in the fit, how far off it stands, and what fault could be seen there. */
import { chainLikelihoods, chainScores } from "../math/smooth-chain";
import type { Setting } from "../math/smoothing";
import { dot, forward, project } from "../math/triangular";
import type { Room } from "./room";
import { type Member, placed, type RunChain } from "./run-chain";
import { smallestFaults } from "./smallest-fault";
import type { Possible } from "./suspect-explanations";

export interface Diagnostic {
  studentised: number;
  leverage: number;
  cook: number;
  /** Smallest pour and smallest reading fault that would be told there in 95 of 100 runs, litres (smallest-fault.ts); null where none would. */
  pour_L: number | null;
  /** The pour by whether it held more or less than written; `pour_L` is the larger. */
  pourMore_L: number | null;
  pourLess_L: number | null;
  reading_L: number | null;
  /** The wrong reading in the reading's own unit. */
  reading: number | null;
}

/** Residual of each point in units of its own standard deviation, leverage and Cook's distance at the likeliest setting. */
export function diagnoseRun(
  run: RunChain,
  members: Member[],
  possible: Possible[],
  room: Room,
  raiseFrom: number,
): Diagnostic[] {
  const put = placed(run, members, false);
  if (!put) return [];
  const { chain, node, slopes } = put;
  const likelihoods = chainLikelihoods(chain, run.settings);
  const logs = run.settings.map((s, k) => s.logPrior + likelihoods[k]!);
  const setting = run.settings[logs.indexOf(Math.max(...logs))]!;
  const scores = chainScores(chain, [setting]);
  const smallest = smallestFaults(run, members, { put, logs }, possible, room, raiseFrom);
  let summed = 0;
  const rows = run.points.map((_, i) => {
    const at = node[i]!;
    summed += chain.pour[at]!;
    const variance =
      chain.own[at]! +
      setting.factor ** 2 * chain.readingVariance[at]! +
      setting.scatter ** 2 +
      chain.slope[at]! ** 2 * summed;
    const information = scores.readingInformation[at]!;
    const { more, less, reading } = smallest[i]!;
    // Either way; where one of both never shows, the other.
    const pour = more !== null && less !== null ? Math.max(more, less) : (more ?? less);
    return {
      studentised: information > 1e-12 ? scores.readingScore[at]! / Math.sqrt(information) : 0,
      leverage: Math.min(1, Math.max(0, 1 - variance * information)),
      pour_L: pour === null ? null : pour * run.range_L,
      pourMore_L: more === null ? null : more * run.range_L,
      pourLess_L: less === null ? null : less * run.range_L,
      reading_L: reading === null ? null : (reading * run.range_L) / slopes[i]!,
      reading: reading === null ? null : reading / Math.abs(run.coordinate.slope(run.points[i]!.step.reading)),
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
