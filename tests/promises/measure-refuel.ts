/** Measures a refuel: seconds until nine tenths of it are shown, with the refuelling rule ticked and without it. */
import { freshDrive, type WorldJob } from "../../datasets/world/job";
import { refuelDrive } from "../../datasets/world/refuel";
import { valueIn } from "../../src/answer";
import type { Feature } from "../../src/pipeline/job";
import { type PipelineRun, runPipeline } from "./pipeline-run";
import { type Device, deviceFrom, runDevice } from "./replay";
import { countChanges } from "./score";

export interface RefuelScore {
  /** Whether the rule was set at all; null where it is ticked but the pipeline left it off. */
  set: boolean;
  seconds90: number;
  secondsWithout: number;
  reversalsPerMinute: number;
  reversalsWithout: number;
}

export function measureRefuel(world: WorldJob, without: PipelineRun): RefuelScore | null {
  const { device, ...rest } = world.job;
  const has: Feature[] = [...(device?.has ?? []), "refuel-rule"];
  const ticked = runPipeline({ ...world, job: { ...rest, device: { ...device, has } } });
  const [plain, ruled] = [deviceOf(world, without), deviceOf(world, ticked)];
  if (!plain || !ruled) return null;
  const stop = refuelDrive(world.truth, 1);
  const fresh = freshDrive(world.truth, 3, 60);
  const turns = (d: Device) => countChanges(runDevice(d, fresh.reading, fresh.record.across_g).shown_L).reversals / 60;
  const seconds = (d: Device) => secondsToShow(d, stop, world.truth.deviceRate_Hz);
  return {
    set: ruled.features.refuel !== null,
    seconds90: seconds(ruled),
    secondsWithout: seconds(plain),
    reversalsPerMinute: turns(ruled),
    reversalsWithout: turns(plain),
  };
}

function deviceOf(world: WorldJob, run: PipelineRun): Device | null {
  const settings = valueIn(run.answers.settings);
  const display = valueIn(run.answers.display);
  const job = valueIn(run.answers.job);
  if (!settings || !display || !job) return null;
  return deviceFrom(settings, display.order, {
    capacity_L: job.tank.capacity_L ?? world.truth.tank.capacity_L,
    rate_Hz: job.device.rate_Hz,
    displayUnit: job.device.displayUnit,
    displayStep: job.device.displayStep,
  });
}

/** Seconds after the end of the fill until nine tenths of the rise are shown; the rise is what a still device would show. */
function secondsToShow(device: Device, stop: ReturnType<typeof refuelDrive>, rate_Hz: number): number {
  const shown = runDevice(device, stop.reading, stop.across_g).shown_L;
  const still = { ...device, factor: 1, deadband_L: 0, features: { ...device.features, refuel: null } };
  const settled = runDevice(still, stop.reading.slice(-50), stop.across_g.slice(-50)).shown_L;
  const target = settled[settled.length >> 1]!;
  const before = shown[stop.from - 1]!;
  for (let i = stop.to; i < shown.length; i++)
    if (shown[i]! >= before + 0.9 * (target - before)) return (i - stop.to) / rate_Hz;
  return Number.POSITIVE_INFINITY;
}
