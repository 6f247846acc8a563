/**
 * Closed loop of what the range stage says is left when the recommended warning first comes on: fresh drives of the same tank are run down through it,
 * and the true usable litres at that moment are held against the stage's limits.
 */
import { freshDrive, makeJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { type Line, share } from "./lines";
import { runLight, warningFrom } from "./measure-road";
import { pipelineOf } from "./pipeline-run";
import { deviceFrom, runDevice } from "./replay";
import { mean } from "./score";

export interface LightCase {
  seed: number;
  family: string;
  capacity_L: number;
  usable_L: number;
  lower_L: number;
  upper_L: number;
  /** True usable litres when the light first came on, one a drive; null where the pick-up ran dry before. */
  first_L: (number | null)[];
}

/** @returns null where the pipeline comes to no display or no range. */
export function measureLight(seed: number, drives: number): LightCase | null {
  const world = makeJob(seed);
  const { truth } = world;
  const { stages } = pipelineOf(world);
  const job = valueIn(stages.job.read());
  const display = valueIn(stages.display.read());
  const lowFuel = valueIn(stages.lowFuel.read());
  const range = valueIn(stages.range.read());
  const settings = valueIn(stages.settings.read());
  if (!job || !display || !lowFuel || !range || !settings) return null;
  const capacity_L = job.tank.capacity_L ?? truth.tank.capacity_L;
  const warning = warningFrom(settings, capacity_L)!;
  const device = deviceFrom(settings, display.order, {
    capacity_L,
    rate_Hz: job.device.rate_Hz,
    displayUnit: job.device.displayUnit,
    displayStep: job.device.displayStep,
  });
  const from_L = Math.min(
    0.95 * truth.tank.capacity_L,
    truth.unusable_L + lowFuel.falseAbove_L + 0.07 * truth.tank.capacity_L,
  );
  const minutes = (60 * (from_L - truth.unusable_L)) / truth.drive.burn_L_per_h;
  const first_L = Array.from({ length: drives }, (_, d) => {
    const fresh = freshDrive(truth, 300 + d, minutes, { from: from_L / truth.tank.capacity_L });
    const { dragged_L } = runDevice(device, fresh.reading, fresh.record.across_g);
    const usable_L = fresh.contents_L.map((c) => c - truth.unusable_L);
    // Every first light counts, the false ones too: what is asked here is what is left, not whether the light was wanted.
    return runLight(dragged_L, usable_L, warning, Number.POSITIVE_INFINITY, truth.deviceRate_Hz).first_L;
  });
  return {
    seed,
    family: truth.family,
    capacity_L,
    usable_L: range.usable_L,
    lower_L: range.usableLower_L,
    upper_L: range.usableUpper_L,
    first_L,
  };
}

export function lightLines(from: number, to: number): Line[] {
  const cases = Array.from({ length: to - from + 1 }, (_, i) => measureLight(from + i, 2)).filter((c) => c !== null);
  const drives = cases.flatMap((c) => c.first_L.map((first) => ({ ...c, first: first ?? 0 })));
  const inside = mean(drives.map((d) => (d.first >= d.lower_L && d.first <= d.upper_L ? 1 : 0)));
  const under = mean(drives.map((d) => (d.first < d.lower_L ? 1 : 0)));
  const off = mean(drives.map((d) => (d.first - d.usable_L) / d.capacity_L));
  const halfWidth = mean(cases.map((c) => (c.upper_L - c.lower_L) / (2 * c.capacity_L)));
  return [
    {
      promise: "litres left at the first light: within the range stage's limits, under the lower one",
      jobs: cases.length,
      value: `${share(inside)}, ${share(under)}`,
      figures: { inside, under, off, halfWidth },
      beside: `true less stated on average ${share(off)} of capacity, limits ± ${share(halfWidth)}`,
    },
  ];
}
