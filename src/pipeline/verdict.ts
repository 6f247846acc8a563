/** Verdict: is it good enough, and how sure are we? Largest service-day error at rest between the ends, from joint draws (JCGM 106:2012). */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { pieceValue } from "../math/piecewise-minimax";
import { createRandom } from "../math/random";
import { cholesky } from "../math/triangular";
import type { Curve } from "./curve-types";
import type { Ends } from "./ends";
import type { Job } from "./job";
import type { SuspectSteps } from "./suspect-steps";
import type { Table } from "./table";
import type { Trial } from "./trial";

export interface Verdict {
  decision: "conforms" | "does-not-conform" | "cannot-be-said";
  /** Probability that the largest error is inside the tolerance. */
  probability: number;
  probabilityLow: number;
  probabilityHigh: number;
  tolerance_L: number;
  /** Median and 95 % upper limit of the largest error, litres. */
  largest_L: number;
  largestUpper_L: number;
  /** Guard band: as far as the likeliest largest error must stay inside the tolerance for "conforms", litres. */
  guard_L: number;
  /** Probability from which "conforms" is said. */
  sayFrom: number;
  onTheRoadRms_L: number | null;
  draws: number;
  decisionsNotConfirmed: number;
}

/** Probability from which "conforms", and up to which "does not conform", may be said. Named defaults: the customer's risk of 5 %. */
const sayFrom = 0.95;

/** Lower root of a covariance, litres²; null where even a little more on its diagonal does not make it positive definite. */
function rootOf(covariance: number[][], total_L: number) {
  const raised = (factor: number, added: number) =>
    covariance.map((row, k) => row.map((c, m) => (k === m ? c * factor + added * total_L * total_L : c)));
  return cholesky(raised(1, 1e-9)) ?? cholesky(raised(1.001, 1e-6));
}

/**
 * Draws whole service-day curves (which of the run's states is so, then the curve) and counts how often the typed table stays within the tolerance of them between the ends.
 *
 * @returns caution `verdict/on-trial` while decisions are not confirmed.
 * @see JCGM 106:2012, 7 to 9: conformity probability, guard band.
 */
export function judge(
  curve: Curve,
  suspects: SuspectSteps,
  table: Table,
  ends: Ends,
  trial: Trial | null,
  job: Job,
  seed: number,
): Answer<Verdict> {
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const tolerance_L = job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? total_L);
  const low = Math.min(ends.empty.reading, ends.full.reading);
  const high = Math.max(ends.empty.reading, ends.full.reading);
  const inside = curve.grid.flatMap((g, i) => (g.reading >= low && g.reading <= high ? [i] : []));
  // Every other point of the grid tells a smooth curve as well, and keeps the draws quick.
  const at = inside.filter((_, k) => k % 2 === 0);
  if (at.length < 3)
    return stuck({
      code: "verdict/no-range",
      says: "Between the ends too little of the curve is left to judge.",
      remedy: "Make the margins smaller.",
    });
  const rows = table.rows.map((r) => ({ x: r.reading, y: r.volume_L })).sort((a, b) => a.x - b.x);
  const shown = at.map((i) => pieceValue(rows, curve.grid[i]!.reading));
  const random = createRandom(seed);
  const draws = 4000;
  const largest = new Float64Array(draws);
  const off = new Float64Array(at.length);
  let drawn = 0;
  let before = 0;
  for (const state of curve.serviceStates) {
    // Each state is drawn as often as it is likely; counted from the sum, so that no draw is lost to rounding.
    before += state.chance;
    const until = state === curve.serviceStates[curve.serviceStates.length - 1] ? draws : Math.round(before * draws);
    if (until === drawn) continue;
    const centre = at.map((i, k) => state.mean_L[i]! - shown[k]!);
    const l = rootOf(
      at.map((i) => at.map((j) => state.covariance_L2[i]![j]!)),
      total_L,
    );
    if (!l)
      return stuck({
        code: "verdict/covariance",
        says: "The joint uncertainty of the curve cannot be drawn from.",
        remedy: "Check the errors stated in the job: one of them may be zero.",
      });
    const columns = l.map((_, m) => Float64Array.from(l, (row) => row[m]!));
    for (; drawn < until; drawn++) {
      off.set(centre);
      columns.forEach((column, m) => {
        const z = random.normal();
        for (let k = m; k < off.length; k++) off[k]! += column[k]! * z;
      });
      largest[drawn] = off.reduce((worst, e) => Math.max(worst, Math.abs(e)), 0);
    }
  }
  const within = largest.reduce((n, worst) => n + (worst <= tolerance_L ? 1 : 0), 0);
  largest.sort();
  const probability = within / draws;
  // None of the draws, or all: under 3 in so many is all that is known (95 %).
  const half = Math.max(3 / draws, 1.96 * Math.sqrt((probability * (1 - probability)) / draws));
  const cautions: Issue[] = [];
  if (suspects.notConfirmed > 0)
    cautions.push({
      code: "verdict/on-trial",
      says:
        suspects.notConfirmed === 1
          ? "One decision about a step is not confirmed; the verdict stands on it."
          : `${suspects.notConfirmed} decisions about steps are not confirmed; the verdict stands on them.`,
      remedy: suspects.notConfirmed === 1 ? "Confirm it, or take it back." : "Confirm them, or take them back.",
      weight: "holds-if",
      condition: "the odd steps were treated rightly",
    });
  return ready(
    {
      decision:
        probability >= sayFrom ? "conforms" : probability <= 1 - sayFrom ? "does-not-conform" : "cannot-be-said",
      probability,
      probabilityLow: Math.max(0, probability - half),
      probabilityHigh: Math.min(1, probability + half),
      tolerance_L,
      largest_L: largest[draws >> 1]!,
      largestUpper_L: largest[Math.floor(0.95 * draws)]!,
      guard_L: largest[Math.floor(sayFrom * draws)]! - largest[draws >> 1]!,
      sayFrom,
      onTheRoadRms_L: trial?.rmsError_L ?? null,
      draws,
      decisionsNotConfirmed: suspects.notConfirmed,
    },
    cautions,
  );
}
