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

/**
 * How much likelier a change of a run's total makes what the sheet and the stated capacity say together, as a log.
 * @returns function of the litres that the run really holds more than its sheet says; 0 where no capacity is stated.
 */
export function roomIn(
  fillRuns: FillRuns,
  run: FillRun,
  job: FillJob,
  pour_L: number,
  treated_L: number,
): (more_L: number) => number {
  const { capacity_L } = fillRuns;
  // Beside a fill run a drain begins where that ended.
  if (capacity_L === null || run.fillPours > 0) return () => 0;
  const start_L = job.fill.startRemainder_L ?? (job.fill.startedFrom === "pick-up-dry" ? job.tank.unusable_L : 0);
  const s = capacityStandard;
  const smooth = (at: number, from: number, to: number) =>
    (normalProbability((at - from) / s) - normalProbability((at - to) / s)) / (to - from);
  const density = (more_L: number): number => {
    const full = (treated_L + more_L + start_L) / capacity_L;
    return (
      toTheTop * smooth(full, 0.95 - Math.min(0.5, pour_L / capacity_L), 0.995) +
      (1 - toTheTop) * smooth(full, 0.15, 0.995) +
      notThisTank
    );
  };
  const asWritten = Math.log(density(0));
  return (more_L) => Math.log(density(more_L)) - asWritten;
}
