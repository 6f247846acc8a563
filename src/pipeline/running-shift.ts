/**
 * Running shift: what does the running engine do to the reading?
 *
 * Takes one pair of readings with the same fuel, engine off and engine running, and says how much the reading moved, what would
 * move it so, and in which state the fill run must be read.
 */

import { type Answer, type Issue, ready } from "../answer";
import { withUnit } from "../format";
import { dividerOhms, dividerVolts } from "../math/divider";
import type { Said } from "../said";
import { foundRows } from "./as-found";
import { readingNoise, voltsPerUnit, workingEnds } from "./circuit-ends";
import type { FillRuns } from "./fill-run";
import type { Job, ReadingUnit } from "./job";
import { seen, wordsOf } from "./shift-words";
import { litresBetween } from "./step-error";
import { volumeBySteps, volumeThrough } from "./step-volume";
import { sameSupply } from "./supply-correction";

export interface ShiftCause {
  cause: "supply" | "ground";
  /** What it takes: the volts by which the sender's ground is lifted, or the running supply over the supply at rest. */
  needs: number;
  needsUnit: "V" | "of the supply at rest";
  /** Supply only, both supplies stated: the shift it must make, volts, and by how many standard uncertainties the measured one misses it. */
  predicted_V: number | null;
  misfit: number | null;
  fits: boolean;
  /** Shift that this cause would make at the sender's ends, volts: a second pair at the other end tells the causes apart. */
  emptyShift_V: number | null;
  fullShift_V: number | null;
}

export interface RunningShift {
  /** Running less off, in the reading's unit, with its standard uncertainty. */
  readingShift: number;
  readingShiftStandard: number;
  /** The same in volts; null where volts are not known (they are never invented). */
  shiftVolts: number | null;
  shiftStandardVolts: number | null;
  /**
   * The same in litres by the steps of the fill run, the table found, or a straight sender; null where none is known. The standard uncertainty holds
   * what the steps are off by; of a table found, or a sender taken as straight, that is not known.
   */
  shift_L: number | null;
  shiftStandard_L: number | null;
  litresBy: "fill run" | "table found" | "straight sender" | null;
  cause: "noise" | "ground" | "supply" | "charging" | "supply-and-ground" | "cannot-be-told" | "unexplained";
  causes: ShiftCause[];
  /** Lift of the sender's ground, volts, positive: above the converter's; null unless ground is (part of) the cause. */
  groundLift_V: number | null;
  groundLiftStandard_V: number | null;
  /** State in which the readings of the fill run must be taken. */
  fillState: "either" | "as-running";
  says: Said;
  remedy: string;
}

/** Without a fill run a reading at rest is taken as good to this share of the supply. Named default, no source. */
const readingShare = 0.002;
/** A voltmeter on the supply, at most ± this share. Named default, no source; the meter's own sheet is better. */
const supplyMeter = 0.005;
/** Ground lifts by current of a vehicle's loads: more volts than this are a broken wire. Common practice, no source. */
const mostLift_V = 1;
/** A reading so far beyond the run, as a share of its travel, is none of the tank's. Named default, no source. */
const beyondRun = 0.15;
/** A charging alternator over a battery at rest: running supply over the one at rest. Common practice, no source. */
const charging = { least: 1.04, most: 1.28 };

/**
 * Ground: `V = (Vs·R + Vg·Rp)/(R + Rp)`, so a lift Vg moves the reading by `Vg·Rp/(R + Rp)`: most at few ohms. Supply: the reading moves in
 * proportion to itself. (Ohm's law; methods agree with `math/divider`.)
 *
 * @param ohms of the sender at its ends, or null; @param litresOf volume of a reading, or null.
 * @returns null where no pair is stated; caution `circuit/running-shift` where the shift is more than chance.
 */
export function weighEnginePair(
  job: Job,
  fillRuns: FillRuns | null,
  ohms: { empty: number; full: number } | null,
): Answer<RunningShift | null> {
  const { offReading, runningReading, readingLimit } = job.circuit.enginePair;
  if (offReading === null || runningReading === null) return ready(null);
  const unit = fillRuns?.readingUnit ?? job.readingUnit ?? "V";
  const { pullUpOhms, supplyVolts, ratiometric, kind } = job.circuit;
  const perUnit = voltsPerUnit(job, unit);
  // A battery's voltage beside a circuit on a regulated supply says nothing of what the pull-up gets.
  const anothers = supplyOfAnother(job);
  const { offSupplyVolts, runningSupplyVolts } = anothers ? noSupplies : job.circuit.enginePair;
  const standard =
    readingLimit !== null
      ? readingLimit / Math.sqrt(3)
      : ((fillRuns && readingNoise(fillRuns)) ??
        readingShare * (unit === "V" ? (supplyVolts ?? Math.abs(offReading)) : Math.abs(offReading)));
  const shift = runningReading - offReading;
  const u = Math.SQRT2 * standard;
  const litres = litresOf(job, fillRuns, ohms, unit);
  const offLitres = litres?.at(offReading) ?? null;
  const runLitres = litres?.at(runningReading) ?? null;
  const byLitres = offLitres === null || runLitres === null ? null : runLitres - offLitres;
  const step = Math.max(u, 1e-6);
  // Each reading errs by its own slope; a large shift runs along the curve.
  const slopeAt = (r: number) => (litres ? (litres.at(r + step) - litres.at(r - step)) / (2 * step) : 0);
  const between = litres?.by === "fill run" && fillRuns ? litresBetween(fillRuns, standard) : null;
  const byLitresStandard = litres
    ? Math.hypot(
        standard * slopeAt(offReading),
        standard * slopeAt(runningReading),
        between?.(offReading, runningReading) ?? 0,
      )
    : null;
  const shift_V = perUnit === null ? null : shift * perUnit;
  const u_V = perUnit === null ? null : u * perUnit;
  const off_V = perUnit === null ? null : offReading * perUnit;
  const restSupply = offSupplyVolts ?? supplyVolts;
  const ratio = offSupplyVolts !== null && runningSupplyVolts !== null ? runningSupplyVolts / offSupplyVolts : null;

  const causes: ShiftCause[] = [];
  let rest_V = shift_V;
  let restStandard_V = u_V;
  /** Standard uncertainty of the supply's part by the two voltmeter readings. */
  let metered_V = 0;
  // A converter that follows the supply divides its changes out; an ohmmeter brings its own supply.
  if (shift_V !== null && u_V !== null && off_V !== null && off_V > 0 && !ratiometric && kind === "pull-up") {
    const predicted = ratio === null ? null : off_V * (ratio - 1);
    const predictedStandard = ratio === null ? 0 : (off_V * ratio * Math.SQRT2 * supplyMeter) / Math.sqrt(3);
    const all = Math.hypot(u_V, predictedStandard);
    const misfit = predicted === null ? null : Math.abs(shift_V - predicted) / all;
    const needs = (off_V + shift_V) / off_V;
    const atEnd = (r: number | undefined) =>
      r === undefined || pullUpOhms === null || restSupply === null
        ? null
        : dividerVolts(r, pullUpOhms, restSupply) * ((ratio ?? needs) - 1);
    causes.push({
      cause: "supply",
      needs,
      needsUnit: "of the supply at rest",
      predicted_V: predicted,
      misfit,
      fits:
        misfit === null
          ? needs > 0.8 && needs < 1 / 0.8
          : misfit <= seen && Math.abs(predicted!) > seen * predictedStandard,
      emptyShift_V: atEnd(ohms?.empty),
      fullShift_V: atEnd(ohms?.full),
    });
    if (predicted !== null) {
      metered_V = predictedStandard;
      rest_V = shift_V - predicted;
      restStandard_V = all;
    }
  }
  let lift: { volts: number; standard: number } | null = null;
  if (
    rest_V !== null &&
    restStandard_V !== null &&
    off_V !== null &&
    kind === "pull-up" &&
    pullUpOhms !== null &&
    restSupply !== null
  ) {
    const r = dividerOhms(off_V, pullUpOhms, restSupply, job.circuit.groundOffsetVolts ?? 0);
    if (Number.isFinite(r) && r >= 0) {
      const share = pullUpOhms / (r + pullUpOhms);
      lift = { volts: rest_V / share, standard: restStandard_V / share };
      const atEnd = (end: number | undefined) =>
        end === undefined ? null : (lift!.volts * pullUpOhms) / (end + pullUpOhms);
      causes.push({
        cause: "ground",
        needs: lift.volts,
        needsUnit: "V",
        predicted_V: null,
        misfit: null,
        fits: Math.abs(lift.volts) <= mostLift_V && Math.abs(rest_V) > seen * restStandard_V,
        emptyShift_V: atEnd(ohms?.empty),
        fullShift_V: atEnd(ohms?.full),
      });
    }
  }
  const supply = causes.find((c) => c.cause === "supply");
  const ground = causes.find((c) => c.cause === "ground");
  const isCharging = (by: number) => by >= charging.least && by <= charging.most;
  const restSeen = rest_V !== null && restStandard_V !== null && Math.abs(rest_V) > seen * restStandard_V;
  let cause: RunningShift["cause"];
  // With both supplies known the supply's part is taken off first, even where the two parts hide each other; two voltmeter readings that differ by no
  // more than their own error show no supply that moved.
  if (ratio !== null && supply && Math.abs(supply.predicted_V!) > seen * Math.max(u_V!, metered_V))
    cause = !restSeen
      ? isCharging(ratio)
        ? "charging"
        : "supply"
      : ground?.fits
        ? "supply-and-ground"
        : "unexplained";
  else if (Math.abs(shift) <= seen * u) cause = "noise";
  // A supply that nobody measured may have moved beside a ground: no shift by itself parts them.
  else if (supply && ratio === null) cause = supply.fits || ground?.fits ? "cannot-be-told" : "unexplained";
  else if (ground?.fits) cause = "ground";
  else cause = supply && !restSeen ? "cannot-be-told" : "unexplained";
  // What no cause explains and lies far beyond all that the run read is no level of this tank, and a line drawn on beyond it no volume.
  const ends = fillRuns && litres?.by === "fill run" ? workingEnds(fillRuns) : null;
  const room = ends ? beyondRun * (ends.high - ends.low) : 0;
  const outside =
    cause === "unexplained" &&
    ends !== null &&
    [offReading, runningReading].some((r) => r < ends.low - room || r > ends.high + room);
  const shift_L = outside ? null : byLitres;
  const shiftStandard_L = outside ? null : byLitresStandard;
  const lifted = cause === "ground" || cause === "supply-and-ground";
  const value: RunningShift = {
    readingShift: shift,
    readingShiftStandard: u,
    shiftVolts: shift_V,
    shiftStandardVolts: u_V,
    shift_L,
    shiftStandard_L,
    litresBy: outside ? null : (litres?.by ?? null),
    cause,
    causes,
    groundLift_V: lifted ? lift!.volts : null,
    groundLiftStandard_V: lifted ? lift!.standard : null,
    fillState: cause === "noise" ? "either" : "as-running",
    ...wordsOf(cause, { shift, u, shift_L, shiftStandard_L, unit, lift, supply, ground, ratio, outside }),
  };
  return ready(value, [...cautionsOf(value, fillRuns !== null), ...(anothers ? [anothers] : [])]);
}

const noSupplies = { offSupplyVolts: null, runningSupplyVolts: null };

/** A note where the supply at rest, as the pair has it, cannot be the one that the circuit states for its pull-up. */
function supplyOfAnother({ circuit }: Job): Issue | null {
  const { supplyVolts, enginePair } = circuit;
  const { offSupplyVolts } = enginePair;
  if (supplyVolts === null || offSupplyVolts === null || Math.abs(offSupplyVolts / supplyVolts - 1) <= sameSupply)
    return null;
  return {
    code: "circuit/pair-supply-not-used",
    says: `The supply beside the pair, ${withUnit(offSupplyVolts, "V")} with the engine off, is not the ${withUnit(supplyVolts, "V")} of the circuit: it is not the sender’s own, and is left out.`,
    remedy: "Measure where the pull-up is fed, in both states; or correct the circuit’s supply.",
    weight: "note",
  };
}

/** Volume of a reading: by the steps of the fill run, else by the table found in the device, else by a straight sender. */
function litresOf(
  job: Job,
  fillRuns: FillRuns | null,
  ohms: { empty: number; full: number } | null,
  unit: ReadingUnit,
): { at: (reading: number) => number; by: NonNullable<RunningShift["litresBy"]> } | null {
  const steps = fillRuns && volumeBySteps(fillRuns);
  if (steps) return { at: steps, by: "fill run" };
  const found = volumeThrough(foundRows(job, unit));
  if (found) return { at: found, by: "table found" };
  const { pullUpOhms, supplyVolts, kind, groundOffsetVolts } = job.circuit;
  const capacity = job.tank.capacity_L;
  if (!ohms || capacity === null) return null;
  const share = (r: number) => (capacity * (r - ohms.empty)) / (ohms.full - ohms.empty);
  if (unit === "ohm") return { at: share, by: "straight sender" };
  const per = voltsPerUnit(job, unit);
  if (kind !== "pull-up" || pullUpOhms === null || supplyVolts === null || per === null) return null;
  return {
    at: (v) =>
      share(dividerOhms(Math.min(v * per, 0.999 * supplyVolts), pullUpOhms, supplyVolts, groundOffsetVolts ?? 0)),
    by: "straight sender",
  };
}

function cautionsOf(shift: RunningShift, hasFill: boolean): Issue[] {
  if (shift.cause === "noise") return [];
  return [
    {
      code: "circuit/running-shift",
      says: shift.says,
      remedy: shift.remedy,
      ...(hasFill
        ? { weight: "holds-if" as const, condition: "the fill run was read in the running state" }
        : { weight: "note" as const }),
    },
  ];
}
