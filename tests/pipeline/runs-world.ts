/** Fill and drain runs as a seeded hand pours them, for the tests of several runs. */

import type { Random } from "../../src/math/random";
import { type FillRuns, findSteps } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { compareRuns } from "../../src/pipeline/several-runs";
import { published } from "../../src/said";
import { sourceFile } from "./example-run";

export interface World {
  pour_L: number;
  pours: number;
  /** Standard deviations: one pour, one reading, a run's own offset, litres. */
  pourError_L: number;
  reading_L: number;
  between_L: number;
  /** What the sender shows more on the way down, litres, at a volume. */
  loop: (litres: number) => number;
  /** Reading for what the sender feels: litres. */
  volts: (litres: number) => number;
}
export const bent = (litres: number) => 0.5 + 0.05 * litres + 0.0004 * litres * litres;
export const world: World = {
  pour_L: 5,
  pours: 10,
  pourError_L: 0.05,
  reading_L: 0.1,
  between_L: 0,
  loop: () => 0,
  volts: bent,
};
export type Row = [number, number];

/** A fill run as a seeded hand pours it: written litres and readings; the true contents at the end come with it. */
export function fill(w: World, random: Random, missed: number | null = null): { rows: Row[]; contents_L: number } {
  const own = w.between_L * random.normal();
  let contents = 0;
  const rows: Row[] = [];
  for (let k = 0; k <= w.pours; k++) {
    if (k > 0 && k !== missed) contents += w.pour_L + w.pourError_L * random.normal();
    rows.push([k === 0 ? 0 : w.pour_L, w.volts(contents + own + w.reading_L * random.normal())]);
  }
  return { rows, contents_L: contents };
}
export function drain(w: World, random: Random, contents_L: number, draws = w.pours): Row[] {
  let contents = contents_L;
  return Array.from({ length: draws + 1 }, (_, j): Row => {
    if (j > 0) contents -= w.pour_L + w.pourError_L * random.normal();
    // At both ends the float turns: no loop there.
    const loop = j === 0 || j === w.pours ? 0 : w.loop(contents);
    return [j === 0 ? 0 : w.pour_L, w.volts(contents + loop + w.reading_L * random.normal())];
  });
}
export const fileOf = (rows: Row[], kind: SourceFile["kind"], name: string, header = "added_L,sender_V") =>
  sourceFile(
    name,
    kind,
    new TextEncoder().encode(`${header}\n${rows.map(([v, r]) => `${v},${r.toFixed(5)}`).join("\n")}\n`),
  );
export const job = (w: World): JobInput => ({ fill: { enteredAs: "added" }, pour: { errorPerPour_L: w.pourError_L } });

export function runsOf(files: SourceFile[], input: JobInput): FillRuns {
  const resolved = resolveJob(input);
  if (resolved.state !== "ready") throw new Error("the job should resolve");
  const recordings = files.map((f) => {
    const read = readRecording(f, null);
    if (read.state !== "ready") throw new Error("the file should be readable");
    return read.value;
  });
  const found = findSteps(recordings, resolved.value);
  if (found.state !== "ready") throw new Error(found.state === "stuck" ? published(found.issue.says) : "waiting");
  return found.value;
}
export function together(files: SourceFile[], input: JobInput) {
  const answer = compareRuns(runsOf(files, input), null);
  if (answer.state !== "ready") throw new Error("should be ready");
  return { value: answer.value, codes: answer.cautions.map((c) => c.code) };
}
export const fills = (w: World, random: Random, count: number) =>
  Array.from({ length: count }, (_, r) => fileOf(fill(w, random).rows, "fill", `fill${r}.csv`));
export function fillAndDrain(w: World, random: Random, drains = 1, missed: number | null = null) {
  const first = fill(w, random, missed);
  return [
    fileOf(first.rows, "fill", "fill.csv"),
    ...Array.from({ length: drains }, (_, r) => fileOf(drain(w, random, first.contents_L), "drain", `drain${r}.csv`)),
  ];
}
