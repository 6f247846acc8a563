/** Display at the ends: of the settings that are steady, which hold both ends still? */
import type { BelievedLimits } from "./circuit";
import { noFeatures } from "./device-features";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import { groundOf, planEnd } from "./end-margin";
import type { EndCurve } from "./end-replay";
import type { EndJob, EndRuns } from "./end-table";
import type { Noise } from "./noise";

type Pair = Pick<Display, "timeConstant_s" | "deadband_L">;

/** So many pairs are carried to the ends: each costs a few passes over the log. Named default, no source. */
const mostTries = 12;

/**
 * Flickers an hour of the carried motion at the worse end, with the margins that `ends.ts` sets for this pair. What else the device has is
 * chosen after the pair, and is left out.
 */
export function createEndFlickers(
  from: { curve: EndCurve; fillRuns: EndRuns },
  noise: Pick<Noise, "turningBias_L">,
  logs: DriveLog[],
  limits: BelievedLimits | null,
  job: EndJob,
  uses: Display["uses"],
): (pair: Pair) => number {
  const believed = { low: limits?.faultLow ?? null, high: limits?.faultHigh ?? null };
  const ground = groundOf(from.curve, from.fillRuns, noise, logs, believed, job);
  return ({ timeConstant_s, deadband_L }) => {
    const setting = { timeConstant_s, deadband_L, uses, features: noFeatures };
    const flickers = (["empty", "full"] as const).map((which) => {
      const plan = planEnd(which, ground, setting);
      return plan.flickersAt(plan.recommended);
    });
    return Math.max(...flickers);
  };
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
