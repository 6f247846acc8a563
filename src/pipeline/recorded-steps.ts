/** Steps of a recording: the level stretches between pours. */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { batchMean, settlingSamples, steadyEnd } from "../math/plateaus";
import { say } from "../said";
import { drawnAs } from "./drawn-volumes";
import type { Step } from "./fill-run";
import type { FillJob } from "./job";
import { litresStated } from "./litres";
import { plateausOf } from "./recorded-plateaus";
import { placeOfLine, type Recording } from "./recording";
import { enteredAsOf, type FoundSteps, goesWrong, litresFactor, readingStepOf, runOf } from "./steps";
import { asDrain, asDrive, byColumn, mendedBy } from "./ways";

/** A recording: plateaus between pours. Volumes from a volume or marker column, else from the stated size of a pour. */
export function recordedSteps(recording: Recording, job: FillJob, cautions: Issue[]): Answer<FoundSteps> {
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
  const enteredAs = enteredAsOf(recording, job);
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
  if (!volume && isDriven(recording, keep))
    return stuck({
      code: "fill-run/is-driven",
      says: `${recording.file} names no volumes, and by its speed the vehicle was driven: it is a drive log, no fill run.`,
      ...mendedBy(asDrive, (way) => `Look which file it is: ${way}, or add a column with the litres.`),
      where: { file: recording.file },
    });
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
      says: say`${recording.file} names no volumes: each level stretch is taken as one more pour of ${litresStated(size_L!)}.`,
      remedy: "Add a column with the litres if pours differed.",
      weight: "holds-if",
      condition: say`every pour was ${litresStated(size_L!)}`,
    });
  const readingStep = readingStepOf(reading, job);
  const as = drawnAs(recording, enteredAs, volume ? stretches.map((s) => s.written! * factor.value) : [], cautions);
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
    const written = volume ? as.drawn_L(stretch.written! * factor.value) : (stretch.written ?? steps.length) * size_L!;
    total = volume && enteredAs === "added" ? total + written : written;
    if (total < (before ?? 0))
      return stuck({
        code: "fill-run/volume-goes-down",
        says: say`${recording.file}, line ${line}: the volume goes ${goesWrong(before ?? 0, total, as.from_L)}, in a ${recording.kind} run.`,
        ...(recording.kind === "fill"
          ? mendedBy(asDrain, (way) => `Correct the volume column, or ${way}.`)
          : { remedy: "Correct the volume column." }),
        where: { file: recording.file, row: line, ...(volume && { column: volume.header }) },
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
  return ready({ run: runOf(recording, "recording", steps, job, thin(times, values, 2000)), readingStep });
}

/** Share of the rows over walking pace from which on a vehicle is driven, not filled; km/h. Named defaults, no source. */
const drivenShare = 0.2;
const walking_kmh = 5;

function isDriven(recording: Recording, keep: number[]): boolean {
  const speed = recording.columns.find((c) => c.role === "speed");
  if (!speed) return false;
  return keep.filter((i) => speed.valid[i] && speed.values[i]! > walking_kmh).length > drivenShare * keep.length;
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
