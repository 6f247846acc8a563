/** Room in the tank: what the stated capacity says about the sum of the pours, or of the draws of a drain that stands alone. */
import { normalProbability } from "../math/distributions";
import type { FillRun, FillRuns } from "./fill-run";
import type { FillJob } from "./job";

/** Stated capacities are rounded and nominal: standard deviation in shares of the capacity. Named default, no source. */
const capacityStandard = 0.012;
/** Three fill runs in four go on until the next pour does not fit, and as many drains begin with such a tank. Named default, no source. */
const toTheTop = 0.75;
/** Once in so often the stated capacity is another tank's. Named default, no source. */
const notThisTank = 0.002;

/** How much likelier a change of a run's total makes what the sheet and the stated capacity say together, as a log. */
export interface Room {
  /** Of so many litres that the run really holds more than its sheet says. */
  odds(more_L: number): number;
  /** No change makes it likelier than this. */
  most: number;
}

/** Where no capacity is stated. */
export const noRoom: Room = { odds: () => 0, most: 0 };

/** What the stated capacity says of a run; nothing where none is stated. */
export function roomIn(fillRuns: FillRuns, run: FillRun, job: FillJob, pour_L: number, treated_L: number): Room {
  const { capacity_L } = fillRuns;
  // Beside a fill run a drain begins where that ended.
  if (capacity_L === null || run.fillPours > 0) return noRoom;
  const start_L = job.fill.startRemainder_L ?? (job.fill.startedFrom === "pick-up-dry" ? job.tank.unusable_L : 0);
  const s = capacityStandard;
  const smooth = (at: number, from: number, to: number) =>
    (normalProbability((at - from) / s) - normalProbability((at - to) / s)) / (to - from);
  const brim = 0.995;
  const lastPour = 0.95 - Math.min(0.5, pour_L / capacity_L);
  const density = (more_L: number): number => {
    const full = (treated_L + more_L + start_L) / capacity_L;
    return toTheTop * smooth(full, lastPour, brim) + (1 - toTheTop) * smooth(full, 0.15, brim) + notThisTank;
  };
  const asWritten = Math.log(density(0));
  return {
    odds: (more_L) => Math.log(density(more_L)) - asWritten,
    most: Math.log(toTheTop / (brim - lastPour) + (1 - toTheTop) / (brim - 0.15) + notThisTank) - asWritten,
  };
}
