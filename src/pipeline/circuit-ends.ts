/** What is known of the sender's ends: read from the fill run, stated, or taken back through the divider. */
import { dividerOhms } from "../math/divider";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";

export interface Ends {
  empty: number;
  full: number;
  low: number;
  high: number;
  standard: number;
  /** The run went over (nearly) the whole tank. */
  whole: boolean;
}

/** Readings at the least and the most litres, and the lowest and highest of all that stand on the run. */
export function workingEnds(fillRuns: FillRuns): Ends | null {
  const steps = fillRuns.runs.flatMap((r) => r.steps);
  if (steps.length < 2) return null;
  const byVolume = [...steps].sort((a, b) => a.volume_L - b.volume_L);
  const first = byVolume[0]!;
  const last = byVolume[byVolume.length - 1]!;
  // The ends of a run are as monotone as the sender: a single odd reading inside must not widen the fault limits.
  const low = Math.min(first.reading, last.reading);
  const high = Math.max(first.reading, last.reading);
  const errors = steps.map((s) => s.standardError).sort((a, b) => a - b);
  return {
    empty: first.reading,
    full: last.reading,
    low,
    high,
    standard: Math.max(errors[errors.length >> 1]!, fillRuns.readingStep / Math.sqrt(12)),
    whole: fillRuns.capacity_L === null || fillRuns.total_L >= 0.93 * fillRuns.capacity_L,
  };
}

/** Sender's ohms at both ends: as stated, else as read in ohms, else back through the divider. */
export function senderEnds(
  job: Job,
  ends: Ends | null,
  fillRuns: FillRuns | null,
): { empty: number; full: number } | null {
  const { emptyOhms, fullOhms } = job.sender;
  if (emptyOhms !== null && fullOhms !== null)
    return emptyOhms === fullOhms ? null : { empty: emptyOhms, full: fullOhms };
  if (!ends || !fillRuns) return null;
  if (fillRuns.readingUnit === "ohm") return { empty: ends.empty, full: ends.full };
  const { pullUpOhms, supplyVolts, kind } = job.circuit;
  const ground = job.circuit.groundOffsetVolts ?? 0;
  if (fillRuns.readingUnit !== "V" || kind !== "pull-up" || pullUpOhms === null || supplyVolts === null) return null;
  const empty = dividerOhms(ends.empty, pullUpOhms, supplyVolts, ground);
  const full = dividerOhms(ends.full, pullUpOhms, supplyVolts, ground);
  return Number.isFinite(empty) && Number.isFinite(full) && empty >= 0 && full >= 0 && empty !== full
    ? { empty, full }
    : null;
}

/** Typical standard error of a reading at rest, reading unit; null without a step. */
export function readingNoise(fillRuns: FillRuns): number | null {
  const errors = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.standardError)).sort((a, b) => a - b);
  return errors.length === 0 ? null : Math.max(errors[errors.length >> 1]!, fillRuns.readingStep / Math.sqrt(12));
}

/** The same in volts; null where volts are not known. */
export function readingNoise_V(job: Job, fillRuns: FillRuns): number | null {
  const perUnit = voltsPerUnit(job, fillRuns.readingUnit);
  const noise = readingNoise(fillRuns);
  return perUnit === null || noise === null ? null : noise * perUnit;
}

/** Volts in one of the reading's unit; null where the job does not say (volts are never invented). */
export function voltsPerUnit(job: Job, unit: FillRuns["readingUnit"]): number | null {
  if (unit === "V") return 1;
  const { adcBits, supplyVolts, ratiometric } = job.circuit;
  return unit === "count" && adcBits !== null && supplyVolts !== null && ratiometric
    ? supplyVolts / 2 ** adcBits
    : null;
}
