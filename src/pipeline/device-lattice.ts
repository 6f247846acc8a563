/** Device lattice: which time constants and deadbands can really be typed into the device, and what is typed for each. */
import { cutoffOf, factorOfSamples, samplesOf, smoothingFactor, timeConstantOf } from "../math/filter";
import type { Job } from "./job";

type DeviceJob = Pick<Job, "tank" | "device">;

const wantedTimes = [0, 0.5, 1, 1.5, 2, 3, 4, 5.5, 7.5, 10, 13, 17, 22, 29, 38, 50, 65, 85, 110, 145, 190, 250];

/** Time constants that the device can really be set to, thinned. */
export function timeConstants(job: DeviceJob, interval_s: number): number[] {
  if (job.device.smoothing.asks === "none") return [0];
  const list = [...new Set(wantedTimes.map((t) => snapTimeConstant(t, job, interval_s)))];
  return list.sort((a, b) => a - b);
}

/** What is typed for a time constant: rounded and held inside the device's range. */
export function askedSmoothing(
  timeConstant_s: number,
  job: DeviceJob,
  interval_s: number,
): { smoothing: number; smoothingUnit: Job["device"]["smoothing"]["asks"] } {
  const { asks, least, most, step } = job.device.smoothing;
  const alpha = smoothingFactor(timeConstant_s, interval_s);
  const exact =
    asks === "seconds"
      ? timeConstant_s
      : asks === "factor"
        ? alpha
        : asks === "cutoff"
          ? timeConstant_s > 0
            ? cutoffOf(timeConstant_s)
            : most
          : asks === "samples"
            ? samplesOf(alpha)
            : 0;
  const rounded = Math.round(exact / step) * step;
  return {
    smoothing: Number(
      Math.min(most, Math.max(least, rounded === 0 && asks !== "seconds" ? Math.max(step, least) : rounded)).toFixed(9),
    ),
    smoothingUnit: asks,
  };
}

/** The time constant that the device really has after its own rounding. */
export function snapTimeConstant(timeConstant_s: number, job: DeviceJob, interval_s: number): number {
  const { smoothing, smoothingUnit } = askedSmoothing(timeConstant_s, job, interval_s);
  if (smoothingUnit === "seconds") return smoothing;
  if (smoothingUnit === "factor") return timeConstantOf(Math.min(1, smoothing), interval_s);
  if (smoothingUnit === "cutoff") return smoothing > 0 ? 1 / (2 * Math.PI * smoothing) : 0;
  if (smoothingUnit === "samples") return timeConstantOf(factorOfSamples(smoothing), interval_s);
  return 0;
}

/**
 * Deadbands that the device can be set to, in litres, thinned.
 * @param perVolt_L litres a volt on average, for a device that asks for volts; null where nobody knows them: then it is set to none.
 */
export function deadbands(job: DeviceJob, total_L: number, perVolt_L: number | null, step_L: number): number[] {
  const most_L = Math.min(0.05 * total_L, fromAsked(job.device.deadband.most, job, total_L, perVolt_L));
  const wanted = [0, 0.2, 0.35, 0.49, 0.75, 1, 1.5, 2, 3].map(
    (f) => f * (f < 0.5 ? step_L : Math.max(step_L, 0.006 * total_L)),
  );
  return [
    ...new Set(
      wanted
        .filter((d) => d <= most_L + 1e-9)
        .map((d) =>
          Number(
            fromAsked(askedDeadband(d, job, total_L, perVolt_L, d < 0.5 * step_L), job, total_L, perVolt_L).toFixed(6),
          ),
        ),
    ),
  ];
}

/** @param down rounds down: a deadband chosen below half a displayed step must stay below it. */
export function askedDeadband(
  deadband_L: number,
  job: DeviceJob,
  total_L: number,
  perVolt_L: number | null,
  down = false,
): number {
  const { unit, step, most } = job.device.deadband;
  const exact =
    unit === "L"
      ? deadband_L
      : unit === "percent"
        ? (100 * deadband_L) / (job.tank.capacity_L ?? total_L)
        : perVolt_L === null
          ? 0
          : deadband_L / perVolt_L;
  const steps = down ? Math.floor(exact / step + 1e-6) : Math.round(exact / step);
  return Number(Math.min(most, steps * step).toFixed(9));
}

function fromAsked(asked: number, job: DeviceJob, total_L: number, perVolt_L: number | null): number {
  const { unit } = job.device.deadband;
  if (unit === "L") return asked;
  return unit === "percent" ? (asked * (job.tank.capacity_L ?? total_L)) / 100 : asked * (perVolt_L ?? 0);
}
