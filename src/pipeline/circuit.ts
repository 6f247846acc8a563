/**
 * Circuit: does the circuit show the whole travel? Divider, span, bend, heat, fault limits, the error of one reading.
 *
 * Takes what the job states and, if there is one, the fill run. Whatever the readings themselves show is preferred to
 * the statement: working ends come from the run, and the two are held against each other.
 */

import { type Answer, type Issue, ready, stuck } from "../answer";
import type { Said } from "../said";
import { readingBudget } from "./circuit-budget";
import { readingNoise_V, senderEnds, voltsPerUnit, workingEnds } from "./circuit-ends";
import { faultLimits } from "./circuit-limits";
import { compareOhms, type MeasuredOhms } from "./circuit-ohms";
import { compareEnds, type MeasuredEnds } from "./circuit-signature";
import { dividerTravel, type PullUpOption, travelAsRead } from "./circuit-travel";
import type { FillRuns } from "./fill-run";
import { cannotFit, type GaugeMatch, gaugeRemedy, matchGauge } from "./gauge-match";
import type { Job } from "./job";
import { type RunningShift, weighEnginePair } from "./running-shift";
import { supplySeenCaution } from "./supply-in-service";

/** Readings outside are believed to be faults, in the reading's unit; null: no limit on that side. */
export type BelievedLimits = Pick<Circuit, "faultLow" | "faultHigh">;

export interface Circuit {
  kind: "pull-up" | "converter" | "none";
  emptyVolts: number | null;
  fullVolts: number | null;
  spanVolts: number | null;
  /** Largest error of a straight line through both ends: fraction of the span, litres, and where. */
  twoPointBend_fraction: number | null;
  twoPointBend_L: number | null;
  bendAt_ohm: number | null;
  senderHeat_W: number | null;
  shortCircuit_A: number | null;
  bestPullUps: PullUpOption[];
  /** The whole trade over the series E24, for the figure; empty where no pull-up applies. */
  trade: PullUpOption[];
  /** The pull-up that is fitted, on the same scales; null where none applies. */
  fittedPullUp: PullUpOption | null;
  /** What to fit, and why. `keep`: the fitted one is good enough. */
  recommended: { pullUpOhms: number; keep: boolean; why: Said } | null;
  /** Volts over travel, empty to full, and the straight line beside; null where no pull-up applies. */
  travel: { fraction: number[]; volts: number[] } | null;
  /** Readings outside are believed to be faults, in the reading's unit. */
  faultLow: number | null;
  faultHigh: number | null;
  faultLowVolts: number | null;
  faultHighVolts: number | null;
  /** From the working end to the fault limit, reading unit; null with the limit. */
  faultMargins: { low: number | null; high: number | null };
  /** What one reading may be wrong by, part by part (standard uncertainties). `cancels`: constant, so inside the curve. */
  budget: {
    part: string;
    standard_V: number | null;
    standard_ohm: number | null;
    standard_L: number | null;
    cancels: boolean;
    why: string;
  }[];
  /** All of it that is not constant, together, litres; null where no part is known in litres. */
  budgetStandard_L: number | null;
  /** Measured ends against prediction. */
  measured: MeasuredEnds | null;
  /** The same for a run that was read in ohms; null else, or where the sender's ohms are not stated. */
  measuredOhms: MeasuredOhms | null;
  gaugeMatch: GaugeMatch | null;
  /** Engine off against running; null where no pair of readings is stated. */
  runningShift: RunningShift | null;
  /** Whether there is a fill run to read the ends of the travel from. */
  hasFillRun: boolean;
}

/** What mends measured ends that are not as stated. @param inOhms they were read in ohms, by a meter. */
export const endsRemedy = (signature: MeasuredEnds["signature"], inOhms: boolean): string =>
  signature === "inside-travel"
    ? "Move the float by hand to both ends and read again, if that can be done safely."
    : signature === "ohms-in-the-wire" && inOhms
      ? "Short the leads and take their ohms off; clean the contacts, then read again."
      : "Check the wiring and what the job states before you type anything in.";

/** @returns stuck `circuit/not-stated` when the job names neither sender resistances nor a pull-up nor a fill run; caution `circuit/gauge-cannot-fit` where no resistor brings sender and gauge together. */
export function checkCircuit(stated: Job, fillRuns: FillRuns | null): Answer<Circuit> {
  // Nobody says of what percent are: the converter's bits do not make volts of them.
  const job = fillRuns?.inPercent ? { ...stated, circuit: { ...stated.circuit, adcBits: null } } : stated;
  const { pullUpOhms, supplyVolts, kind, groundOffsetVolts } = job.circuit;
  const ohmsStated = job.sender.emptyOhms !== null && job.sender.fullOhms !== null;
  const paired = job.circuit.enginePair.offReading !== null && job.circuit.enginePair.runningReading !== null;
  if (!fillRuns && !ohmsStated && !paired && pullUpOhms === null)
    return stuck({
      code: "circuit/not-stated",
      says: "Neither the sender’s resistances nor the pull-up are stated, and there is no fill run to read them from.",
      remedy: "Measure the sender in ohms at both ends of its travel and note the pull-up, or bring in a fill run.",
    });
  const cautions: Issue[] = [];
  const ends = fillRuns ? workingEnds(fillRuns) : null;
  const ohms = senderEnds(job, ends, fillRuns);
  const litres = job.tank.capacity_L ?? fillRuns?.total_L ?? null;
  const divides = kind === "pull-up" && pullUpOhms !== null && supplyVolts !== null && ohms !== null;
  const noise_V = fillRuns ? readingNoise_V(job, fillRuns) : null;

  const volts = ends && fillRuns?.readingUnit === "V" ? { empty: ends.empty, full: ends.full } : null;
  const facts =
    divides && ohms
      ? dividerTravel(ohms, pullUpOhms, supplyVolts, litres, noise_V, cautions, groundOffsetVolts ?? 0)
      : travelAsRead(volts);
  if (kind === "converter")
    cautions.push({
      code: "circuit/converter",
      says: "A sender with its own converter has no pull-up, bend or heat to look at; it must be filled with the fuel that it will serve.",
      weight: "note",
    });

  cautions.push(...supplySeenCaution(job));
  const limits = faultLimits(job, ends, facts, fillRuns);
  cautions.push(...limits.cautions);
  const perUnit = fillRuns ? voltsPerUnit(job, fillRuns.readingUnit) : null;
  const measured =
    divides && ohmsStated && ends && perUnit !== null
      ? compareEnds(
          { empty: ends.empty * perUnit, full: ends.full * perUnit },
          { empty: job.sender.emptyOhms!, full: job.sender.fullOhms! },
          pullUpOhms,
          supplyVolts,
          groundOffsetVolts ?? 0,
          ends.whole,
        )
      : null;
  if (measured && measured.signature !== "as-stated" && measured.signature !== "part-travel")
    cautions.push({
      code: `circuit/${measured.signature}`,
      says: measured.says,
      remedy: endsRemedy(measured.signature, false),
      weight: measured.signature === "sender-differs" || measured.signature === "inside-travel" ? "note" : "doubtful",
    });
  const measuredOhms =
    ohmsStated && ends && fillRuns?.readingUnit === "ohm" && job.sender.emptyOhms !== job.sender.fullOhms
      ? compareOhms(ends, { empty: job.sender.emptyOhms!, full: job.sender.fullOhms! })
      : null;
  if (measuredOhms && !["as-stated", "part-travel"].includes(measuredOhms.signature))
    cautions.push({
      code: `circuit/${measuredOhms.signature}`,
      says: measuredOhms.says,
      remedy: endsRemedy(measuredOhms.signature, true),
      weight: measuredOhms.signature === "sender-reversed" ? "doubtful" : "note",
    });
  const { gaugeEmptyOhms, gaugeFullOhms } = job.sender;
  const gaugeMatch =
    ohms !== null && gaugeEmptyOhms !== null && gaugeFullOhms !== null && gaugeEmptyOhms !== gaugeFullOhms
      ? matchGauge(ohms.empty, ohms.full, gaugeEmptyOhms, gaugeFullOhms)
      : null;
  if (gaugeMatch && cannotFit(gaugeMatch))
    cautions.push({
      code: "circuit/gauge-cannot-fit",
      says: gaugeMatch.says,
      remedy: gaugeRemedy,
      weight: "doubtful",
    });
  const shift = weighEnginePair(job, fillRuns, ohms);
  if (shift.state === "ready") cautions.push(...shift.cautions);
  const budget = readingBudget(job, ohms, litres, fillRuns, noise_V);
  const changing = budget.flatMap((b) => (b.cancels || b.standard_L === null ? [] : [b.standard_L]));
  return ready(
    {
      kind,
      ...facts,
      ...limits.values,
      budget,
      budgetStandard_L: changing.length > 0 ? Math.hypot(...changing) : null,
      measured,
      measuredOhms,
      gaugeMatch,
      runningShift: shift.state === "ready" ? shift.value : null,
      hasFillRun: fillRuns !== null,
    },
    cautions,
  );
}
