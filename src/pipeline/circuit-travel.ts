/** How the travel shows through a divider: span, bend, heat, and what other pull-ups would give. */

import type { Issue } from "../answer";
import { fixed, withUnit } from "../format";
import {
  dividerBend,
  dividerBendAt,
  dividerSlope,
  dividerSpan,
  dividerVolts,
  senderHeat,
  widestPullUp,
} from "../math/divider";
import { preferredBetween } from "../math/preferred-values";
import { say } from "../said";
import type { Circuit } from "./circuit";
import { litresOf } from "./litres";

export interface PullUpOption {
  pullUpOhms: number;
  /** Null for a fitted one that is in neither series. */
  series: "E24" | "E96" | null;
  spanVolts: number;
  bend_fraction: number;
  senderHeat_W: number;
  shortCircuit_A: number;
  /** Worst over the range: litres that the stated reading noise means. */
  worstNoise_L: number | null;
}

export type Travel = Pick<
  Circuit,
  | "emptyVolts"
  | "fullVolts"
  | "spanVolts"
  | "twoPointBend_fraction"
  | "twoPointBend_L"
  | "bendAt_ohm"
  | "senderHeat_W"
  | "shortCircuit_A"
  | "bestPullUps"
  | "trade"
  | "fittedPullUp"
  | "recommended"
  | "travel"
>;

/** Where no divider is stated: the ends as the run read them, volts, and nothing else. */
export const travelAsRead = (volts: { empty: number; full: number } | null): Travel => ({
  emptyVolts: volts?.empty ?? null,
  fullVolts: volts?.full ?? null,
  spanVolts: volts ? Math.abs(volts.full - volts.empty) : null,
  twoPointBend_fraction: null,
  twoPointBend_L: null,
  bendAt_ohm: null,
  senderHeat_W: null,
  shortCircuit_A: null,
  bestPullUps: [],
  trade: [],
  fittedPullUp: null,
  recommended: null,
  travel: null,
});

/** A fitted pull-up stays recommended while its worst-level noise is within this factor of the best one's. Named default, no source. */
const closeEnough = 1.1;

/**
 * @param ohms of the sender, empty and full; @param ground_V how far the sender's own ground stands above the converter's; @param noise_V standard error of a reading at rest, null if unknown;
 * @param litres of the whole travel, null if unknown. A straight sender is taken.
 */
export function dividerTravel(
  ohms: { empty: number; full: number },
  pullUpOhms: number,
  supplyVolts: number,
  litres: number | null,
  noise_V: number | null,
  cautions: Issue[],
  ground_V = 0,
): Travel {
  // What the sender's ground stands above the converter's is added in part, and taken from the volts that move.
  const across_V = supplyVolts - ground_V;
  const [least, most] = [Math.min(ohms.empty, ohms.full), Math.max(ohms.empty, ohms.full)];
  const option = (pullUp: number, series: PullUpOption["series"]): PullUpOption => ({
    pullUpOhms: pullUp,
    series,
    spanVolts: dividerSpan(least, most, pullUp, across_V),
    bend_fraction: dividerBend(least, most, pullUp),
    senderHeat_W: senderHeat(least, most, pullUp, across_V),
    shortCircuit_A: shortCircuit(pullUp, supplyVolts, ground_V),
    // A straight sender: litres an ohm are the same everywhere, volts an ohm are fewest at the most ohms.
    worstNoise_L:
      litres !== null && noise_V !== null
        ? ((noise_V / dividerSlope(most, pullUp, across_V)) * litres) / (most - least)
        : null,
  });
  const trade = preferredBetween(Math.max(10, most / 20), Math.max(20, most * 8), "E24").map((p) => option(p, "E24"));
  // Worst-level noise goes with (most + Rp)²/Rp: least at Rp = most, whatever the noise is.
  const worst = (o: PullUpOption) => (most + o.pullUpOhms) ** 2 / o.pullUpOhms;
  const best = [...trade].sort((a, b) => worst(a) - worst(b)).slice(0, 5);
  const fitted = option(pullUpOhms, seriesOf(pullUpOhms));
  const bend = dividerBend(least, most, pullUpOhms);
  const at = (f: number) => dividerVolts(ohms.empty + f * (ohms.full - ohms.empty), pullUpOhms, supplyVolts, ground_V);
  const fraction = Array.from({ length: 51 }, (_, i) => i / 50);
  const facts: Travel = {
    emptyVolts: at(0),
    fullVolts: at(1),
    spanVolts: dividerSpan(least, most, pullUpOhms, across_V),
    twoPointBend_fraction: bend,
    twoPointBend_L: litres === null ? null : bend * litres,
    bendAt_ohm: dividerBendAt(least, most, pullUpOhms),
    senderHeat_W: senderHeat(least, most, pullUpOhms, across_V),
    shortCircuit_A: shortCircuit(pullUpOhms, supplyVolts, ground_V),
    bestPullUps: best,
    trade,
    fittedPullUp: fitted,
    recommended: recommend(fitted, best[0]!, worst(fitted) / worst(best[0]!), most),
    travel: { fraction, volts: fraction.map(at) },
  };
  const narrow = facts.spanVolts! / supplyVolts;
  if (narrow < 0.15)
    cautions.push({
      code: "circuit/narrow-span",
      says: `The whole travel moves the reading by ${fixed(facts.spanVolts!, 2)} V of ${fixed(supplyVolts, 1)} V: much of the converter’s range stays unused.`,
      remedy: `A pull-up near ${fixed(widestPullUp(Math.max(least, 1), most), 0)} to ${fixed(most, 0)} Ω shows more.`,
      weight: "note",
    });
  cautions.push({
    code: "circuit/heat-is-no-safety",
    says: "Heat and current are reckoned for the circuit as stated, and it ends inside a fuel tank: a fault can put battery voltage there, so they prove no safety.",
    remedy: "Fuse the wire, and follow your local code and licensed practice.",
    weight: "note",
  });
  return facts;
}

const seriesOf = (ohms: number): PullUpOption["series"] =>
  (["E24", "E96"] as const).find((s) => preferredBetween(ohms / 1.001, ohms * 1.001, s).length > 0) ?? null;

/** Judged by litres: the noise of a reading at the worst level, where a volt is worth most. */
function recommend(fitted: PullUpOption, best: PullUpOption, factor: number, most: number): Circuit["recommended"] {
  const noise = (o: PullUpOption) => (o.worstNoise_L === null ? "" : say` (${litresOf(o.worstNoise_L)})`);
  const trade = (o: PullUpOption) =>
    `span ${withUnit(o.spanVolts, "V", 3)}, bend ${fixed(100 * o.bend_fraction, 1)} %, at most ${withUnit(1000 * o.senderHeat_W, "mW", 2)} in the sender`;
  if (factor <= closeEnough)
    return {
      pullUpOhms: fitted.pullUpOhms,
      keep: true,
      why: say`Keep ${withUnit(fitted.pullUpOhms, "Ω")}: at the sender’s ${withUnit(most, "Ω")} end, where a volt is worth most litres, its noise${noise(fitted)} is within ${Math.round(100 * (closeEnough - 1))} % of the best; ${trade(fitted)}.`,
    };
  return {
    pullUpOhms: best.pullUpOhms,
    keep: false,
    why: say`${withUnit(best.pullUpOhms, "Ω")} instead of ${withUnit(fitted.pullUpOhms, "Ω")}: at the sender’s ${withUnit(most, "Ω")} end, where a volt is worth most litres, noise${noise(best)} is ${fixed(factor, 1)} times smaller; ${trade(best)}.`,
  };
}

/** Into whichever ground lies lower: a wire that chafes through need not meet the sender's own. */
const shortCircuit = (pullUpOhms: number, supplyVolts: number, ground_V: number): number =>
  (supplyVolts - Math.min(0, ground_V)) / pullUpOhms;
