/** Steps: from the rows of one file, typed or recorded, to a volume and the reading that stood there. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { batchMean, settlingSamples, steadyEnd } from "../math/plateaus";
import { litresPer } from "../units";
import type { FillRun, Step } from "./fill-run";
import type { Job } from "./job";
import { plateausOf } from "./recorded-plateaus";
import { type Column, columnsIn, placeOfLine, type Recording } from "./recording";
import { asDrain, byColumn, byJob, mendedBy } from "./ways";

interface Found {
  run: FillRun;
  readingStep: number;
}

/** Litres in one unit of the volume column; an unknown unit is taken as litres and said. */
function litresFactor(recording: Recording, volume: Column | undefined, job: Job, cautions: Issue[]): Answer<number> {
  let unit = (volume?.unit as "L" | "USgal" | "impgal" | "gal" | "kg" | "percent" | null | undefined) ?? job.volumeUnit;
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
          unit === "kg" ? "State the density in kg per litre in the job." : "State the tank's capacity in the job.",
        where: { file: recording.file, ...(volume ? { column: volume.header } : {}) },
      })
    : ready(factor);
}

/** Standard uncertainty of one pour: as stated, else 1 % of a typical pour (named default, no source). */
function pourStandard(job: Job, steps: Step[]): number {
  if (job.pour.errorPerPour_L !== null) return job.pour.errorPerPour_L;
  const pours = steps.slice(1).map((s) => Math.abs(s.added_L));
  pours.sort((a, b) => a - b);
  const typical = job.pour.size_L ?? pours[pours.length >> 1] ?? 1;
  return 0.01 * typical;
}

/** Converter step in volts or counts, if the job says so. */
function converterStep(job: Job, unit: string | null): number {
  const { adcBits, supplyVolts } = job.circuit;
  if (unit === "count") return 1;
  return unit === "V" && adcBits !== null && supplyVolts !== null ? supplyVolts / 2 ** adcBits : 0;
}

/** Where volumes go down: what the column may be instead. */
const orDrain = (as: (way: "page" | "command") => string) => ({
  page: `${as("page")}; if the tank was being emptied, ${asDrain.page}`,
  command: `${as("command")}; if the tank was being emptied, ${asDrain.command}`,
});
const countedUp = orDrain(
  (way) => `the volumes are totals, ${way === "page" ? "say “counted up”" : "say --set fill.enteredAs=cumulative"}`,
);
const eachPour = orDrain(
  (way) => `each row is one pour, ${way === "page" ? "say “added with each pour”" : "say --set fill.enteredAs=added"}`,
);

/** Most steps of a sheet: the curve weighs every step against every other. */
const mostTyped = 2000;

/** A step of which one reading was written down; its error is the rounding alone. */
export const typedStep = (
  index: number,
  volume_L: number,
  added_L: number,
  reading: number,
  readingStep: number,
  line: number,
): Step => ({
  index,
  volume_L,
  added_L,
  reading,
  standardError: Math.max(readingStep, 1e-9) / Math.sqrt(12),
  effectiveSamples: null,
  samples: null,
  dropped_s: null,
  from_s: null,
  to_s: null,
  line,
  atStop: null,
});

/** A sheet: one row a step, volume added or counted up, one reading each. */
export function typedSteps(recording: Recording, job: Job, cautions: Issue[]): Answer<Found> {
  const volume = recording.columns.find((c) => c.role === "volume");
  const reading = recording.columns.find((c) => c.role === "reading")!;
  if (!volume)
    return stuck({
      code: "fill-run/no-volume",
      says: `${recording.file} has no column that looks like a volume${columnsIn(recording)}.`,
      ...mendedBy(byColumn("volume"), (way) => `Name the column of volumes ${way}.`),
      where: { file: recording.file },
    });
  if (recording.rows > mostTyped)
    return stuck({
      code: "fill-run/too-many-steps",
      says: `${recording.file} has ${recording.rows} rows and no time column: as typed steps that is more than the ${mostTyped} that can be weighed against each other.`,
      ...mendedBy(
        byColumn("time"),
        (way) => `If it is a recording, name its time column ${way}; else bring fewer steps.`,
      ),
      where: { file: recording.file },
    });
  const factor = litresFactor(recording, volume, job, cautions);
  if (factor.state !== "ready") return factor;
  const enteredAs = job.fill.enteredAs ?? recording.decided.enteredAs ?? "cumulative";
  if (job.fill.enteredAs === null && !recording.decided.enteredSure)
    cautions.push({
      code: "fill-run/added-or-counted",
      says: `${recording.file} does not say whether its volumes are ${enteredAs === "added" ? "poured with each row, as they are taken," : "poured with each row"} or counted up${enteredAs === "added" ? "" : ", as they are taken"}; both fit.`,
      ...mendedBy(
        byJob("in the job, or under “Read it another way”", "fill.enteredAs=added or =cumulative"),
        (way) => `State it ${way}.`,
      ),
      weight: "holds-if",
      condition: enteredAs === "added" ? "each row is one pour" : "the volumes are counted up",
    });
  const readingStep = Math.max(reading.writtenStep, converterStep(job, reading.unit ?? job.readingUnit));
  const steps: Step[] = [];
  let total = 0;
  let before: number | null = null;
  const rows = Array.from({ length: recording.rows }, (_, i) => i);
  const hasStart = rows.some((i) => volume.valid[i] && reading.valid[i]) && firstVolume(rows, volume) === 0;
  // A row with a volume is a pour, read or not: later steps keep their own number.
  let pour = hasStart ? -1 : 0;
  for (const i of rows) {
    if (!volume.valid[i] && !reading.valid[i]) continue;
    const written = volume.valid[i]
      ? volume.values[i]! * factor.value
      : enteredAs === "added" && steps.length === 0
        ? 0
        : null;
    if (written === null || !reading.valid[i]) {
      // The pour still counts for all later volumes; only the step has no reading.
      if (written !== null) {
        pour += 1;
        if (enteredAs === "added") total += written;
      }
      cautions.push({
        code: "fill-run/half-row",
        says: `${placeOfLine(recording.file, recording.line[i]!)}: ${written === null ? "the volume is missing" : "the reading is missing"}, so this row gives no step.`,
        remedy: "Fill in the cell, or leave the row as it is.",
        where: { file: recording.file, row: recording.line[i]! },
        ...(written === null && enteredAs === "added"
          ? { weight: "holds-if" as const, condition: `nothing was poured in line ${recording.line[i]}` }
          : { weight: "note" as const }),
      });
      continue;
    }
    total = enteredAs === "added" ? total + written : written;
    pour += 1;
    const added = before === null ? (pour === 0 ? 0 : total) : total - before;
    if (before !== null && total < before && recording.kind === "fill")
      return stuck({
        code: "fill-run/volume-goes-down",
        says:
          enteredAs === "added"
            ? `${placeOfLine(recording.file, recording.line[i]!)}: ${fixed(written, 2)} L is less than nothing, in a fill run with the litres of each pour.`
            : `${placeOfLine(recording.file, recording.line[i]!)}: the volume goes down, from ${fixed(before, 2)} to ${fixed(total, 2)} L, in a fill run.`,
        ...mendedBy(enteredAs === "added" ? countedUp : eachPour, (way) => `Correct the row; if ${way}.`),
        where: { file: recording.file, row: recording.line[i]!, column: volume.header },
      });
    steps.push(typedStep(pour, total, added, reading.values[i]!, readingStep, recording.line[i]!));
    before = total;
  }
  if (!hasStart && steps.length > 0)
    cautions.push({
      code: "fill-run/no-start",
      says: `${recording.file} has no row for the start (0 L), so its first row counts as step 1.`,
      remedy: "If you read the sender before the first pour, add that row.",
      weight: "note",
    });
  return ready({ run: finish(recording, "typed", steps, job, null), readingStep });
}

const firstVolume = (rows: number[], volume: Column) => {
  const first = rows.find((i) => volume.valid[i]);
  // A blank volume in the first row with a reading beside it is the start as well.
  return first === undefined ? null : first > 0 ? 0 : volume.values[first]!;
};

/** A recording: plateaus between pours. Volumes from a volume or marker column, else from the stated size of a pour. */
export function recordedSteps(recording: Recording, job: Job, cautions: Issue[]): Answer<Found> {
  const time = recording.columns.find((c) => c.role === "time")!;
  const reading = recording.columns.find((c) => c.role === "reading")!;
  const volume = recording.columns.find((c) => c.role === "volume");
  const marker = recording.columns.find((c) => c.role === "marker");
  const keep = Array.from({ length: recording.rows }, (_, i) => i).filter((i) => time.valid[i] && reading.valid[i]);
  const values = Float64Array.from(keep, (i) => reading.values[i]!);
  const times = Float64Array.from(keep, (i) => time.values[i]!);
  const n = values.length;
  if (n < 20)
    return stuck({
      code: "fill-run/too-short",
      says: `${recording.file} holds ${n} readings with a time: too few to find level stretches.`,
      ...mendedBy(
        { page: "type the steps", command: "write the steps down as a sheet" },
        (way) => `Bring a longer recording, or ${way}.`,
      ),
      where: { file: recording.file },
    });
  const interval_s = (times[n - 1]! - times[0]!) / (n - 1);
  if (!(interval_s > 0))
    return stuck({
      code: "fill-run/time-stands",
      says: `${recording.file}: the time does not go on.`,
      ...mendedBy(byColumn("time"), (way) => `Name the column that holds the time ${way}.`),
      where: { file: recording.file, column: time.header },
    });
  const factor = volume ? litresFactor(recording, volume, job, cautions) : ready(1);
  if (factor.state !== "ready") return factor;
  const block = Math.max(2, Math.round(2 / interval_s));
  const enteredAs = job.fill.enteredAs ?? recording.decided.enteredAs ?? "cumulative";
  const stretches = plateausOf(
    values,
    keep,
    volume
      ? { column: volume, is: enteredAs === "added" ? "added" : "total" }
      : marker
        ? { column: marker, is: "marker" }
        : null,
    block,
  );
  const size_L = job.pour.size_L;
  if (!volume && size_L === null)
    return stuck({
      code: "fill-run/no-volume",
      says: `${recording.file} is a recording without a volume column, and the job states no size of a pour.`,
      remedy: "State the size of one pour in the job, or add a column with the litres.",
      where: { file: recording.file },
    });
  if (!volume)
    cautions.push({
      code: "fill-run/pour-size",
      says: `${recording.file} names no volumes: each level stretch is taken as one more pour of ${size_L} L.`,
      remedy: "Add a column with the litres if pours differed.",
      weight: "holds-if",
      condition: `every pour was ${size_L} L`,
    });
  const readingStep = Math.max(converterStep(job, reading.unit ?? job.readingUnit), reading.writtenStep);
  const steps: Step[] = [];
  let total = 0;
  let before: number | null = null;
  for (const stretch of stretches) {
    const part = values.subarray(
      stretch.from,
      stretch.from + steadyEnd(values.subarray(stretch.from, stretch.to), Math.max(1, block >> 1)),
    );
    const line = recording.line[keep[stretch.from]!]!;
    if (stretch.unwritten)
      cautions.push({
        code: "fill-run/level-without-volume",
        says: `${placeOfLine(recording.file, line)}: the reading goes on to a new level while ${(volume ?? marker)!.header} stands still: a pour was not written down, or the level moved by itself. It is step ${steps.length}, with nothing added.`,
        ...mendedBy(
          { page: "under “odd steps”", command: "on the page, under “odd steps”" },
          (way) => `Look at the sheet or the receipt; a missing pour can be put in ${way}.`,
        ),
        where: { file: recording.file, row: line },
        weight: "note",
      });
    const dropped = settlingSamples(part, block);
    const steady = part.subarray(dropped);
    const still = batchMean(steady, Math.max(2, Math.round(4.5 / interval_s)));
    const written = volume ? stretch.written! * factor.value : (stretch.written ?? steps.length) * size_L!;
    total = volume && enteredAs === "added" ? total + written : written;
    if (before !== null && total < before && recording.kind === "fill")
      return stuck({
        code: "fill-run/volume-goes-down",
        says: `${recording.file}, line ${line}: the volume goes down, from ${fixed(before, 2)} to ${fixed(total, 2)} L, in a fill run.`,
        ...mendedBy(asDrain, (way) => `Correct the volume column, or ${way}.`),
        where: { file: recording.file, row: line },
      });
    // Rounding is added once and never divided, unless the noise itself spreads readings over the steps.
    const rounding = still.sd >= readingStep / 2 ? 0 : readingStep ** 2 / 12;
    steps.push({
      index: steps.length,
      volume_L: total,
      added_L: before === null ? 0 : total - before,
      reading: still.mean,
      standardError: Math.sqrt(still.standardError ** 2 + rounding),
      effectiveSamples: still.effectiveSamples,
      samples: steady.length,
      dropped_s: dropped * interval_s,
      from_s: times[stretch.from + dropped]!,
      to_s: times[stretch.from + part.length - 1]!,
      line,
      atStop: null,
    });
    before = total;
  }
  return ready({ run: finish(recording, "recording", steps, job, thin(times, values, 2000)), readingStep });
}

/** Keeps the lowest and highest sample of each bin, in time order, so that peaks stay. */
function thin(times: Float64Array, values: Float64Array, bins: number): { time_s: number[]; reading: number[] } {
  const n = values.length;
  const width = Math.max(1, Math.ceil(n / bins));
  const time_s: number[] = [];
  const reading: number[] = [];
  for (let from = 0; from < n; from += width) {
    let low = from;
    let high = from;
    for (let i = from; i < Math.min(n, from + width); i++) {
      if (values[i]! < values[low]!) low = i;
      if (values[i]! > values[high]!) high = i;
    }
    for (const i of low === high ? [low] : [Math.min(low, high), Math.max(low, high)]) {
      time_s.push(times[i]!);
      reading.push(values[i]!);
    }
  }
  return { time_s, reading };
}

function finish(
  recording: Recording,
  kind: FillRun["kind"],
  steps: Step[],
  job: Job,
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
