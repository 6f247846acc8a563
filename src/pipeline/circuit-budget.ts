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
const usualMeter = 0.01;

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

/** A multimeter's own error, which enters in full: a share of the reading and some of its last digits, and leads that were not taken off. */
function meterParts(job: Job, middle: number, step_ohm: number) {
  const { meterLimit, meterCounts, meterLeadsOhms } = job.circuit;
  const limit = meterLimit ?? usualMeter;
  const counts = meterCounts ?? 0;
  const parts = [
    {
      part: "multimeter",
      standard_ohm: (limit * middle + counts * step_ohm) / root3,
      why: `at most ± ${Number((100 * limit).toFixed(3))} % of the reading${counts > 0 ? ` and ${counts} of the last digit` : ""}, over √3${meterLimit === null ? " (named default, no source)" : ""}`,
    },
  ];
  if (meterLeadsOhms)
    parts.push({
      part: "meter’s leads",
      standard_ohm: meterLeadsOhms,
      why: "as stated, in full: short them and take that off",
    });
  return parts;
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
  const { gainLimit, offsetLimitVolts, leakageMicroamps } = job.circuit;
  const inOhms = (fillRuns?.readingUnit ?? job.readingUnit) === "ohm";
  const perOhm_L = ohms && litres !== null ? litres / Math.abs(ohms.full - ohms.empty) : null;
  const rows: Circuit["budget"] = [];
  const middle = ohms ? (ohms.empty + ohms.full) / 2 : null;
  if (inOhms && middle !== null) {
    for (const part of meterParts(job, middle, fillRuns?.readingStep ?? 0))
      rows.push({
        ...part,
        standard_V: null,
        standard_L: perOhm_L === null ? null : part.standard_ohm * perOhm_L,
        cancels: false,
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
  const across_V = supplyVolts - (groundOffsetVolts ?? 0);
  const slope = dividerSlope(middle, pullUpOhms, across_V);
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
    (((across_V * middle) / (middle + pullUpOhms) ** 2) * (pullUpOhms * pullUpLimit)) / root3,
    true,
    `at most ± ${fixed(100 * pullUpLimit, 1)} %, over √3`,
  );
  // dV/dVs = R/(R + Rp), whatever the ground.
  if (supply) add("supply", dividerVolts(middle, pullUpOhms, supplyVolts) * supply.standard, false, supply.why);
  if (groundOffsetVolts !== null)
    add("ground", (Math.abs(groundOffsetVolts) * pullUpOhms) / (middle + pullUpOhms), true, "as stated, in full");
  // A gain, an offset and a leak that stay as they are lie inside a curve that was read through them.
  const middle_V = dividerVolts(middle, pullUpOhms, supplyVolts, groundOffsetVolts ?? 0);
  if (gainLimit !== null)
    add("gain", (gainLimit * middle_V) / root3, true, `at most ± ${fixed(100 * gainLimit, 2)} % of the volts, over √3`);
  if (offsetLimitVolts !== null)
    add("offset", offsetLimitVolts / root3, true, `at most ± ${fixed(1000 * offsetLimitVolts, 1)} mV, over √3`);
  // What leaks flows through sender and pull-up side by side.
  if (leakageMicroamps !== null)
    add(
      "input leakage",
      (1e-6 * leakageMicroamps * ((middle * pullUpOhms) / (middle + pullUpOhms))) / root3,
      true,
      `at most ± ${fixed(leakageMicroamps, 2)} µA through sender and pull-up side by side, over √3`,
    );
  const step_V = adcBits === null ? 0 : supplyVolts / 2 ** adcBits / Math.sqrt(12);
  if (step_V > 0) add("converter step", step_V, false, "step over √12");
  if (noise_V !== null && !inOhms) {
    // A step's standard error holds the rounding that it was read with: the converter's own must not count twice.
    const rest_V = Math.sqrt(Math.max(0, noise_V ** 2 - step_V ** 2));
    if (rest_V > 1e-6 * noise_V)
      add(
        "reading at rest",
        rest_V,
        false,
        `median standard error of the steps${step_V > 0 ? ", less the converter’s step" : ""}`,
      );
  }
  return rows;
}
