/** What a job states that cannot all be so, or that is so large that nothing could be told with it: each with what mends it. */
import type { Issue } from "../answer";
import { say } from "../said";
import { litresPer } from "../units";
import { volumeSigns } from "./found-table";
import type { Job } from "./job";
import { litresStated } from "./litres";

/** A tank of which more than this is out of the pick-up's reach is a slip of the pen. Named default, no source. */
const mostUnusable = 0.5;

/** @returns doubts, each of a stated field; none for what was left out. */
export function contradictions(job: Job): Issue[] {
  const found: Issue[] = [];
  const { capacity_L, unusable_L } = job.tank;
  if (capacity_L !== null && !(unusable_L < capacity_L))
    found.push({
      code: "job/unusable-over-capacity",
      says: say`The unusable ${litresStated(unusable_L)} is not less than the tank’s ${litresStated(capacity_L)}.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  else if (capacity_L !== null && unusable_L > mostUnusable * capacity_L)
    found.push({
      code: "job/mostly-unusable",
      says: say`Of the tank’s ${litresStated(capacity_L)} the pick-up is stated to leave ${litresStated(unusable_L)}: more than half of it.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  if (job.asFound.unread)
    found.push({
      code: "job/found-table-units",
      says: `The table found in the device is not read: ${job.asFound.unread}.`,
      remedy: "State in the job what is missing, or write the table’s rows as reading_V and volume_L.",
      weight: "doubtful",
    });
  const { least, most, asks } = job.device.smoothing;
  if (asks !== "none" && least > most)
    found.push({
      code: "job/smoothing-without-room",
      says: `The device’s smoothing is stated from ${least} to ${most}: the least is more than the most.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { deadband, displayStep, displayUnit } = job.device;
  if (deadband.most > 0 && deadband.step > deadband.most)
    found.push({
      code: "job/deadband-without-room",
      says: `The device’s deadband is stated in steps of ${deadband.step} up to ${deadband.most}: nothing but 0 can be set.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const perUnit_L = litresPer(displayUnit, { density_kg_per_L: null, capacity_L });
  if (capacity_L !== null && perUnit_L !== null && displayStep * perUnit_L > 0.5 * capacity_L)
    found.push({
      code: "job/step-over-half",
      says: `The display is stated in steps of ${displayStep} ${volumeSigns[displayUnit]}, more than half of the tank: it can show hardly more than empty and full.`,
      remedy: "Correct the displayed step, or its unit.",
      weight: "doubtful",
    });
  const { supplyVolts, groundOffsetVolts } = job.circuit;
  if (supplyVolts !== null && groundOffsetVolts !== null && Math.abs(groundOffsetVolts) >= supplyVolts)
    found.push({
      code: "job/ground-over-supply",
      says: `The sender’s ground is stated ${groundOffsetVolts} V off, and the supply is ${supplyVolts} V.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { size_L } = job.pour;
  if (size_L !== null && capacity_L !== null && size_L > capacity_L)
    found.push({
      code: "job/pour-over-capacity",
      says: say`One pour is stated with ${litresStated(size_L)}, and the tank holds ${litresStated(capacity_L)}.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { startRemainder_L } = job.fill;
  if (startRemainder_L !== null && capacity_L !== null && Math.abs(startRemainder_L) >= capacity_L)
    found.push({
      code: "job/remainder-over-capacity",
      says: say`At the start ${litresStated(startRemainder_L)} is stated to be left, and the tank holds ${litresStated(capacity_L)}.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const places = job.asFound.table.map((r) => r.reading);
  const twice = places.find((r, i) => places.indexOf(r) < i);
  if (twice !== undefined)
    found.push({
      code: "job/found-table-twice",
      says: `The table found in the device has two rows at a reading of ${twice}.`,
      remedy: "Correct or take out one of the two.",
      weight: "doubtful",
    });
  const byReading = [...job.asFound.table].sort((a, b) => a.reading - b.reading);
  const turn = byReading.find(
    (r, i) =>
      i > 0 &&
      i + 1 < byReading.length &&
      (byReading[i + 1]!.volume_L - r.volume_L) * (r.volume_L - byReading[i - 1]!.volume_L) < 0,
  );
  if (turn && twice === undefined)
    found.push({
      code: "job/found-table-turns",
      says: `The table found in the device turns round at a reading of ${turn.reading}: its volumes rise on one side of that row and fall on the other.`,
      remedy:
        "Look the rows round it up in the device: one volume was copied wrongly, or the device really shows the same for two levels.",
      weight: "doubtful",
    });
  const { emptyOhms, fullOhms } = job.sender;
  if (emptyOhms !== null && fullOhms !== null && emptyOhms === fullOhms)
    found.push({
      code: "job/sender-without-travel",
      says: `The sender is stated with ${emptyOhms} Ω at both ends, so it could show nothing.`,
      remedy: "Measure it at both ends of its travel.",
      weight: "doubtful",
    });
  return [...found, ...sharesOver(job), ...spreadsOver(job)];
}

/** A limit over this is a percentage that was written as one, or nothing that was measured. Named default, no source. */
const largestShare = 0.3;

/** Limits that job.json holds as shares: what the percent on the page become. */
function sharesOver(job: Job): Issue[] {
  const { circuit, pour, drain } = job;
  const shares: [string, string, number | null][] = [
    ["pour.scaleErrorLimit", "The marks on the can are", pour.scaleErrorLimit],
    ["drain.scaleErrorLimit", "The marks of the container drained into are", drain.scaleErrorLimit],
    ["circuit.pullUpLimit", "The pull-up is", circuit.pullUpLimit],
    ["circuit.supplyLimit", "The supply is", circuit.supplyLimit],
    ["circuit.gainLimit", "The input’s gain is", circuit.gainLimit],
    ["circuit.meterLimit", "The multimeter is", circuit.meterLimit],
  ];
  return shares.flatMap(([path, what, share]): Issue[] => {
    if (share === null || share <= largestShare) return [];
    const percent = Number((100 * share).toPrecision(6));
    const meant = Number((share / 100).toPrecision(6));
    return [
      {
        code: "job/share-too-large",
        says: `${what} stated to be off by up to ${percent} %: hardly anything can be told with that.`,
        remedy: "Correct it in the job.",
        remedyOnCommandLine: `Correct ${path}: it is a share, so ${share} % is written as ${meant}.`,
        weight: "doubtful",
      },
    ];
  });
}

/** Uncertainties that are as large as what they belong to. */
function spreadsOver(job: Job): Issue[] {
  const found: Issue[] = [];
  const { capacity_L, unusableLimit_L } = job.tank;
  if (capacity_L !== null && unusableLimit_L >= capacity_L)
    found.push({
      code: "job/unusable-limit-over-capacity",
      says: say`The unusable volume is stated to be off by up to ${litresStated(unusableLimit_L)}, and the tank holds ${litresStated(capacity_L)}.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { size_L, errorPerPour_L } = job.pour;
  if (size_L !== null && errorPerPour_L !== null && errorPerPour_L >= size_L)
    found.push({
      code: "job/pour-error-over-pour",
      says: say`A pour of ${litresStated(size_L)} is stated give or take ${litresStated(errorPerPour_L)}: as much as the pour itself.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { mean, standardUncertainty, unit } = job.consumption;
  if (mean !== null && standardUncertainty !== null && standardUncertainty >= mean)
    found.push({
      code: "job/spread-over-consumption",
      says: `The consumption is stated as ${mean} ${consumptionUnits[unit]} give or take ${standardUncertainty}: as much as the consumption itself, so that hardly any range can be told.`,
      remedy: "Correct one of the two: the spread is one standard deviation, from one day to another.",
      weight: "doubtful",
    });
  return found;
}

const consumptionUnits = {
  "L/100km": "L/100 km",
  "L/h": "L/h",
  "L/lap": "L a lap",
  "mpg-us": "miles a US gallon",
  "mpg-imp": "miles an imperial gallon",
} as const;
