/** Fault limits: readings outside are no fuel. They stand between the working ends and the rails. */
import type { Issue } from "../answer";
import { fixed } from "../format";
import { dividerVolts } from "../math/divider";
import type { Circuit } from "./circuit";
import { type Ends, voltsPerUnit } from "./circuit-ends";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";

/** Fault limits stand this share of the span outside the working ends, but never past half-way to the rail. Named default, no source. */
const faultRoom = 0.15;
/** Least share of the span between a working end and a rail to tell the two apart. Named default, no source. */
const leastRoom = 0.02;

/** Both ends in the reading's unit, as the sender's stated travel says; null where the job does not make that certain. */
export function statedEnds(
  job: Job,
  facts: Pick<Circuit, "emptyVolts" | "fullVolts">,
  unit: "V" | "ohm" | "count",
): [number, number] | null {
  const { emptyOhms, fullOhms } = job.sender;
  if (unit === "ohm") return emptyOhms !== null && fullOhms !== null ? [emptyOhms, fullOhms] : null;
  if (facts.emptyVolts === null || facts.fullVolts === null) return null;
  if (unit === "V") return [facts.emptyVolts, facts.fullVolts];
  const per = voltsPerUnit(job, unit);
  return per === null ? null : [facts.emptyVolts / per, facts.fullVolts / per];
}

/** @param facts ends by the stated divider, volts. A limit that a working end leaves no room for is null, with a caution. */
export function faultLimits(
  job: Job,
  ends: Ends | null,
  facts: Pick<Circuit, "emptyVolts" | "fullVolts">,
  fillRuns: FillRuns | null,
): {
  values: Pick<Circuit, "faultLow" | "faultHigh" | "faultLowVolts" | "faultHighVolts" | "faultMargins">;
  cautions: Issue[];
} {
  const none = {
    faultLow: null,
    faultHigh: null,
    faultLowVolts: null,
    faultHighVolts: null,
    faultMargins: { low: null, high: null },
  };
  const unit = fillRuns?.readingUnit ?? job.readingUnit ?? job.asFound.readingUnit ?? "V";
  const { pullUpOhms, supplyVolts, kind, adcBits } = job.circuit;
  let low = ends?.low ?? null;
  let high = ends?.high ?? null;
  const stated = statedEnds(job, facts, unit);
  if (stated) {
    const a = Math.min(...stated);
    const b = Math.max(...stated);
    const span = b - a;
    // The stated travel widens the measured one where both agree about; a wrong statement must not.
    if (low === null || high === null) [low, high] = [a, b];
    else {
      if (Math.abs(a - low) < 0.1 * span || !ends!.whole) low = Math.min(low, a);
      if (Math.abs(b - high) < 0.1 * span || !ends!.whole) high = Math.max(high, b);
    }
  }
  if (low === null || high === null || !(low < high)) return { values: none, cautions: [] };
  const lowRail = 0;
  const highRail =
    unit === "ohm"
      ? Number.POSITIVE_INFINITY
      : unit === "count"
        ? adcBits !== null
          ? 2 ** adcBits - 1
          : null
        : supplyVolts !== null && (kind === "pull-up" || (kind === "converter" && supplyVolts > high))
          ? supplyVolts
          : null;
  const span = high - low;
  const least = Math.max(leastRoom * span, 6 * (ends?.standard ?? 0));
  const room = (gap: number) => (gap >= least ? Math.min(faultRoom * span, gap / 2) : null);
  const below = room(low - lowRail);
  const above = highRail === null ? faultRoom * span : room(highRail - high);
  const faultLow = below === null ? null : low - below;
  const faultHigh = above === null ? null : high + above;
  const cautions: Issue[] = [];
  const name = unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V";
  const digits = unit === "V" ? 2 : 0;
  if (faultLow === null)
    cautions.push({
      code: "circuit/short-looks-like-an-end",
      says: `The sender’s own end reads ${fixed(low, digits)} ${name}, so a short circuit cannot be told from it and no lower fault limit is set.`,
      weight: "note",
    });
  if (faultHigh === null)
    cautions.push({
      code: "circuit/open-looks-like-an-end",
      says: `The sender’s own end reads ${fixed(high, digits)} ${name}, so a broken wire cannot be told from it and no upper fault limit is set.`,
      weight: "note",
    });
  const toVolts = (x: number | null): number | null => {
    if (x === null) return null;
    if (unit === "ohm")
      return kind === "pull-up" && pullUpOhms !== null && supplyVolts !== null
        ? dividerVolts(x, pullUpOhms, supplyVolts, job.circuit.groundOffsetVolts ?? 0)
        : null;
    const per = voltsPerUnit(job, unit);
    return per === null ? null : x * per;
  };
  return {
    values: {
      faultLow,
      faultHigh,
      faultLowVolts: toVolts(faultLow),
      faultHighVolts: toVolts(faultHigh),
      faultMargins: { low: below, high: above },
    },
    cautions,
  };
}
