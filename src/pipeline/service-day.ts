/** Service day: what a later day on the road adds to the curve of the fill day. */
import { supplyReading } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { measuredHysteresis } from "./several-runs";
import { supplyInService } from "./supply-in-service";

/**
 * Reading that the supply moves by, for each unit of its own relative change: `Vs·R/(R + Rp) = (V − Vg)·Vs/(Vs − Vg)` (node equation; counts do not
 * say how many volts one is, and leave the ground out). A sender read in ohms by a meter and served through a pull-up: those volts over the slope of
 * the divider, `R·(R + Rp)/Rp`.
 */
function movedBySupply(job: FillJob, fillRuns: FillRuns, reading: number): number {
  const { kind, pullUpOhms, supplyVolts } = job.circuit;
  if (kind !== "pull-up") return Math.abs(reading);
  if (fillRuns.readingUnit === "ohm")
    return pullUpOhms === null ? Math.abs(reading) : (Math.abs(reading) * (reading + pullUpOhms)) / pullUpOhms;
  const ground = fillRuns.readingUnit === "V" ? (job.circuit.groundOffsetVolts ?? 0) : 0;
  return supplyVolts === null || ground === 0
    ? Math.abs(reading)
    : (Math.abs(reading - ground) * supplyVolts) / (supplyVolts - ground);
}

/**
 * What a service day adds: hysteresis (falling level), repeatability, drift, supply, ground, temperature. From a rising run
 * alone these are priors (named defaults, no source), shown in the budget; a drain run replaces the hysteresis prior. The supply counts in
 * full where the converter does not follow it, also where the fill run logged it: the device takes nothing out. What drives show of it
 * counts where it is more than what is stated.
 */
export function servicePart(job: FillJob, fillRuns: FillRuns, readings: number[], volumes: number[]) {
  const total = fillRuns.total_L;
  const n = readings.length;
  const slope = readings.map((_, i) => {
    const a = Math.max(0, i - 1);
    const b = Math.min(n - 1, i + 1);
    return Math.abs((volumes[b]! - volumes[a]!) / (readings[b]! - readings[a]! || 1));
  });
  const flat = (share: number) => volumes.map(() => share * total);
  const sender = job.sender.kind;
  const measured = measuredHysteresis(fillRuns, volumes);
  const loop = sender === "capacitive" ? 0.001 : sender === "reed-ladder" ? 0.004 : 0.006;
  // A curve read while the level fell needs no loop taken off.
  const rising = fillRuns.runs.length === 0 || fillRuns.runs.some((r) => r.direction === "fill");
  const bias = measured ? measured.bias : volumes.map(() => (rising ? -loop * total : 0));
  const supply = supplyReading(job, fillRuns);
  const inService = supplyInService(job);
  const parts: { part: string; standard: number[]; assumed: boolean; why?: string }[] = [
    {
      part: "loop between rising and falling level",
      standard: measured ? measured.standard : flat(loop * 0.8),
      assumed: !measured,
    },
    { part: "spread from one day to the next", standard: flat(0.004), assumed: true },
    { part: "drift over a season", standard: volumes.map((v) => 0.004 * total + 0.003 * v), assumed: true },
    {
      part: "supply of the sender",
      standard: readings.map((r, i) => (inService?.standard ?? 0) * movedBySupply(job, fillRuns, r) * slope[i]!),
      assumed: inService?.by === "default",
      ...(inService ? { why: inService.why } : {}),
    },
    {
      part: "ground of the sender",
      standard: slope.map((s) =>
        fillRuns.readingUnit === "V"
          ? 0.004 * s
          : supply !== null && fillRuns.readingUnit === "count"
            ? 0.001 * supply * s
            : 0,
      ),
      assumed: true,
    },
    {
      part: "temperature of the fuel, at most ± 5 K",
      standard: volumes.map((v) => (0.001 * 10 * v) / Math.sqrt(3) / 2),
      assumed: true,
    },
  ];
  const covariance = volumes.map(() => new Array<number>(n).fill(0));
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (const { standard } of parts) sum += standard[i]! * standard[j]!;
      covariance[i]![j] = sum;
      covariance[j]![i] = sum;
    }
  return { bias, covariance, parts };
}
