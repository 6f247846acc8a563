/** Service day: what a later day on the road adds to the curve of the fill day. */
import { supplyReading } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { measuredHysteresis } from "./several-runs";

/**
 * What a service day adds: hysteresis (falling level), repeatability, drift, supply, ground, temperature. From a rising run
 * alone these are priors (named defaults, no source), shown in the budget; a drain run replaces the hysteresis prior.
 */
export function servicePart(job: Job, fillRuns: FillRuns, readings: number[], volumes: number[]) {
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
  const bias = measured ? measured.bias : volumes.map(() => -loop * total);
  const supply = supplyReading(job, fillRuns);
  const supplyError = job.circuit.ratiometric || job.circuit.kind === "none" ? 0 : 0.004;
  const parts = [
    {
      part: "loop between rising and falling level",
      standard: measured ? measured.standard : flat(loop * 0.8),
      assumed: !measured,
    },
    { part: "spread from one day to the next", standard: flat(0.004), assumed: true },
    { part: "drift over a season", standard: volumes.map((v) => 0.004 * total + 0.003 * v), assumed: true },
    {
      part: "supply of the sender",
      standard: readings.map((r, i) => supplyError * Math.abs(r) * slope[i]!),
      assumed: true,
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
      part: "temperature of the fuel, 10 K",
      standard: volumes.map((v) => (0.001 * 10 * v) / Math.sqrt(3) / 2),
      assumed: true,
    },
  ];
  const covariance = volumes.map((_, i) =>
    volumes.map((__, j) => parts.reduce((s, p) => s + p.standard[i]! * p.standard[j]!, 0)),
  );
  return { bias, covariance, parts };
}
