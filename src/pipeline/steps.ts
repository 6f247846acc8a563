/** Steps: what a sheet and a recording have in common. Litres of a unit, the error of one pour, and the run that the steps make. */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { type Said, say } from "../said";
import { litresPer } from "../units";
import type { FillRun, Step } from "./fill-run";
import type { FillJob } from "./job";
import { litresBare, litresTo } from "./litres";
import type { Column, Recording } from "./recording";

export interface FoundSteps {
  run: FillRun;
  readingStep: number;
}

const unitNames: Record<string, string> = {
  L: "litres",
  USgal: "US gallons",
  impgal: "imperial gallons",
  kg: "kilograms",
  percent: "percent",
};

/** Litres in one unit of the volume column; an unknown unit is taken as litres and said. */
export function litresFactor(
  recording: Recording,
  volume: Column | undefined,
  job: FillJob,
  cautions: Issue[],
): Answer<number> {
  let unit = (volume?.unit as "L" | "USgal" | "impgal" | "gal" | "kg" | "percent" | null | undefined) ?? job.volumeUnit;
  const written = volume?.unit ?? null;
  if (written !== null && written !== "gal" && job.volumeUnit !== null && written !== job.volumeUnit)
    cautions.push({
      code: "fill-run/volume-units-differ",
      says: `${recording.file} says that its volumes are in ${unitNames[written] ?? written}, the job says ${unitNames[job.volumeUnit]}; the file is believed.`,
      remedy: "Correct the volume unit in the job, or the head of the column.",
      where: { file: recording.file, ...(volume ? { column: volume.header } : {}) },
      weight: "holds-if",
      condition: `the volumes are in ${unitNames[written] ?? written}`,
    });
  if (unit === "gal") {
    unit = job.volumeUnit === "impgal" ? "impgal" : "USgal";
    if (job.volumeUnit !== unit)
      cautions.push({
        code: "fill-run/which-gallon",
        says: `${recording.file} gives gallons and nothing says which; they are taken as US gallons.`,
        remedy: "State the volume unit in the job: US or imperial gallons.",
        weight: "holds-if",
        condition: "the gallons are US gallons",
      });
  }
  if (!unit) {
    cautions.push({
      code: "fill-run/volume-unit",
      says: `${recording.file} does not say the unit of its volumes; they are taken as litres.`,
      remedy: "State the volume unit in the job.",
      weight: "holds-if",
      condition: "the volumes are litres",
    });
    return ready(1);
  }
  const factor = litresPer(unit, { density_kg_per_L: job.pour.density_kg_per_L, capacity_L: job.tank.capacity_L });
  return factor === null
    ? stuck({
        code: "fill-run/unit-needs-more",
        says:
          unit === "kg"
            ? `${recording.file} gives kilograms, and the job states no density.`
            : `${recording.file} gives percent, and the job states no capacity.`,
        remedy:
          unit === "kg" ? "State the density in kg per litre in the job." : "State the tank’s capacity in the job.",
        where: { file: recording.file, ...(volume ? { column: volume.header } : {}) },
      })
    : ready(factor);
}

/** Standard uncertainty of one pour: as stated, else 1 % of a typical pour (named default, no source). */
function pourStandard(job: FillJob, steps: Step[]): number {
  if (job.pour.errorPerPour_L !== null) return job.pour.errorPerPour_L;
  const pours = steps.slice(1).map((s) => Math.abs(s.added_L));
  pours.sort((a, b) => a - b);
  const typical = job.pour.size_L ?? pours[pours.length >> 1] ?? 1;
  return 0.01 * typical;
}

/** Converter step in volts or counts, if the job says so. */
function converterStep(job: FillJob, unit: string | null): number {
  const { adcBits, supplyVolts } = job.circuit;
  if (unit === "count") return 1;
  return unit === "V" && adcBits !== null && supplyVolts !== null ? supplyVolts / 2 ** adcBits : 0;
}

/** The finest step of a reading: as written, or as the converter gives it if that is coarser. */
export const readingStepOf = (reading: Column, job: FillJob): number =>
  Math.max(reading.writtenStep, converterStep(job, reading.unit ?? job.readingUnit));

/** Whether the volumes are counted up or poured with each row: as stated, else as the column looks. */
export const enteredAsOf = (recording: Recording, job: FillJob): "added" | "cumulative" =>
  (recording.decided.enteredByHand ? null : job.fill.enteredAs) ?? recording.decided.enteredAs ?? "cumulative";

/** Which way the volume as written goes wrong: drawn and poured only grow, what is left (counted back from `from_L`) only falls. */
export const goesWrong = (before_L: number, now_L: number, from_L: number | null): Said =>
  from_L === null
    ? say`down, from ${litresBare(before_L, 2)} to ${litresTo(now_L, 2)}`
    : say`up, from ${litresBare(from_L - before_L, 2)} to ${litresTo(from_L - now_L, 2)}`;

/** The run that the steps of one file make. */
export function runOf(
  recording: Recording,
  kind: FillRun["kind"],
  steps: Step[],
  job: FillJob,
  trace: FillRun["trace"],
): FillRun {
  const drain = recording.kind === "drain";
  return {
    file: recording.file,
    kind,
    direction: drain ? "drain" : "fill",
    steps,
    pourStandard_L: (drain ? job.drain.errorPerDraw_L : null) ?? pourStandard(job, steps),
    ...(drain && job.drain.container === "other" ? { otherScale: job.drain.scaleErrorLimit / Math.sqrt(3) } : {}),
    fillPours: 0,
    runningTotal: job.pour.runningTotal,
    trace,
  };
}
