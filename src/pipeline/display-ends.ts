/** Display at the ends: of the settings that are steady, which hold both ends still? */
import { noChoices } from "./choices";
import type { BelievedLimits } from "./circuit";
import { noFeatures } from "./device-features";
import { orderOf } from "./device-model";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import { groundOf } from "./end-ground";
import { type EndPlan, planEnd } from "./end-margin";
import type { EndCurve } from "./end-replay";
import type { EndJob, EndRuns } from "./end-table";
import type { Noise } from "./noise";
import { cutTable, type TableCurve, type TableEnds } from "./table";

type Pair = Pick<Display, "timeConstant_s" | "deadband_L">;

/** So many pairs are carried to the ends: each costs a few passes over the log. Named default, no source. */
const mostTries = 12;

/** What the ends stand on, and the table that is cut between them. */
export interface EndsFrom {
  curve: EndCurve & TableCurve;
  fillRuns: EndRuns;
}

/**
 * Flickers an hour of the carried motion at the worse end, as logged or a little rougher, with the margins and the table that would be typed
 * for this pair: between its rows a table can be steeper than the curve, and lets more through. What else the device has is chosen after the
 * pair, and is left out.
 */
export function createEndFlickers(
  from: EndsFrom,
  noise: Pick<Noise, "turningBias_L">,
  logs: DriveLog[],
  limits: BelievedLimits | null,
  job: EndJob,
  uses: Display["uses"],
): (pair: Pair) => number {
  const believed = { low: limits?.faultLow ?? null, high: limits?.faultHigh ?? null };
  const order = orderOf(job);
  const ground = groundOf(from.curve, from.fillRuns, noise, logs, believed, job);
  return ({ timeConstant_s, deadband_L }) => {
    const setting = { timeConstant_s, deadband_L, uses, features: noFeatures, order };
    const [empty, full] = [planEnd("empty", ground, setting), planEnd("full", ground, setting)];
    const cut = cutTable(from.curve, { empty: told(empty), full: told(full) }, job, noChoices.table);
    if (cut.state !== "ready") return Math.max(empty.flickersAt(empty.recommended), full.flickersAt(full.recommended));
    const rows = cut.value.rows
      .map(({ reading, volume_L }) => ({ reading, volume_L }))
      .sort((a, b) => a.reading - b.reading);
    return Math.max(empty.flickersWith(rows), full.flickersWith(rows));
  };
}

/** The end as it is told with the recommended margin. */
function told(plan: EndPlan): TableEnds["empty"] {
  const reading = plan.edge + plan.inward * plan.recommended;
  return { reading, shows_L: plan.showsAt(reading), meets: plan.tableFor(reading).meets };
}

/**
 * The first pair that flickers no more than wanted, else the stillest one that was tried. A pair with less smoothing and less deadband than
 * one that failed is not tried: it holds no end better.
 * @param byError not empty; least expected error first.
 */
export function firstCalm<P extends Pair>(byError: P[], flickersOf: (pair: P) => number, wanted: number): P {
  let stillest = byError[0]!;
  let least = Number.POSITIVE_INFINITY;
  const failed: P[] = [];
  for (const pair of byError) {
    if (failed.length >= mostTries) break;
    if (failed.some((f) => pair.timeConstant_s <= f.timeConstant_s && pair.deadband_L <= f.deadband_L)) continue;
    const rate = flickersOf(pair);
    if (rate <= wanted) return pair;
    if (rate < least) {
      least = rate;
      stillest = pair;
    }
    failed.push(pair);
  }
  return stillest;
}
