/** What one reading may be wrong by, part by part. */
import { fixed } from "../format";
import { dividerSlope, dividerVolts } from "../math/divider";
import type { Circuit } from "./circuit";
import { workingEnds } from "./circuit-ends";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { supplyInService } from "./supply-in-service";

const root3 = Math.sqrt(3);
/** A multimeter's ohms, at most ± this share of the reading. Named default, no source; the meter's own sheet is better. */
const meterLimit = 0.01;

/**
 * Supply of a converter that does not follow it, as a share of itself, standard; the volts at a pull-up, and those of a sender's own converter, move by
 * the same share. Null where the converter follows it, or no circuit is known.
 */
export function supplyShare(job: Job, fillRuns: FillRuns | null): { standard: number; why: string } | null {
  const served = supplyInService(job);
  if (!served) return null;
  const residue = fillRuns?.supplyResidue;
  if (residue !== undefined)
    return {
      standard: residue,
      why: "logged beside the readings and taken out: what the step of that log leaves, over √12; the device takes nothing out, see the service day",
    };
  return {
    standard: served.standard,
    why: `${served.why}; its changes count, its constant part is inside the curve`,
  };
}

/** Parts of the error of one reading at mid travel. Constant parts are inside a curve that was read through the same circuit. */
export function readingBudget(
  job: Job,
  ohms: { empty: number; full: number } | null,
  litres: number | null,
  fillRuns: FillRuns | null,
  noise_V: number | null,
): Circuit["budget"] {
  const { pullUpOhms, pullUpLimit, supplyVolts, adcBits, groundOffsetVolts, kind } = job.circuit;
  const inOhms = (fillRuns?.readingUnit ?? job.readingUnit) === "ohm";
  const perOhm_L = ohms && litres !== null ? litres / Math.abs(ohms.full - ohms.empty) : null;
  const rows: Circuit["budget"] = [];
  const middle = ohms ? (ohms.empty + ohms.full) / 2 : null;
  if (inOhms && middle !== null) {
    const u = (meterLimit * middle) / root3;
    rows.push({
      part: "multimeter",
      standard_V: null,
      standard_ohm: u,
      standard_L: perOhm_L === null ? null : u * perOhm_L,
      cancels: false,
      why: `at most ± ${meterLimit * 100} % of the reading, over √3 (named default, no source)`,
    });
  }
  const supply = supplyShare(job, fillRuns);
  const ends = fillRuns ? workingEnds(fillRuns) : null;
  if (kind === "converter" && supply && ends && fillRuns?.readingUnit === "V") {
    const u = (supply.standard * Math.abs(ends.empty + ends.full)) / 2;
    rows.push({
      part: "supply",
      standard_V: u,
      standard_ohm: null,
      standard_L: (u * fillRuns.total_L) / Math.abs(ends.full - ends.empty),
      cancels: false,
      why: supply.why,
    });
  }
  if (kind !== "pull-up" || pullUpOhms === null || supplyVolts === null || middle === null) return rows;
  const slope = dividerSlope(middle, pullUpOhms, supplyVolts);
  const add = (part: string, standard_V: number, cancels: boolean, why: string) =>
    rows.push({
      part,
      standard_V,
      standard_ohm: standard_V / slope,
      standard_L: perOhm_L === null ? null : (standard_V / slope) * perOhm_L,
      cancels: cancels && !inOhms,
      why,
    });
  add(
    "pull-up",
    (((supplyVolts * middle) / (middle + pullUpOhms) ** 2) * (pullUpOhms * pullUpLimit)) / root3,
    true,
    `at most ± ${fixed(100 * pullUpLimit, 1)} %, over √3`,
  );
  // dV/dVs = R/(R + Rp), whatever the ground.
  if (supply) add("supply", dividerVolts(middle, pullUpOhms, supplyVolts) * supply.standard, false, supply.why);
  if (groundOffsetVolts !== null)
    add("ground", (Math.abs(groundOffsetVolts) * pullUpOhms) / (middle + pullUpOhms), true, "as stated, in full");
  if (adcBits !== null) add("converter step", supplyVolts / 2 ** adcBits / Math.sqrt(12), false, "step over √12");
  if (noise_V !== null && !inOhms) add("reading at rest", noise_V, false, "median standard error of the steps");
  return rows;
}
