/**
 * Measures what is said while a tank is drawn down: the sheet is typed row by row, and each row is weighed by itself and those before it.
 * All of it: `npx tsx tests/pipeline/drain-watch.ts 1 110`.
 */

import { pathToFileURL } from "node:url";
import { drawDown, drawnTank } from "../../datasets/world/drain";
import { makeJob } from "../../datasets/world/job";
import { resolveJob } from "../../src/pipeline/job";
import { judgeRows, type PourRow, weighRow } from "../../src/pipeline/pour-watch";
import { published } from "../../src/said";

export interface DrainWatchScore {
  /** Faults of five standard errors at inner rows off the stops; asked about at the very row, and by row once one more stands. */
  worthy: number;
  atOnce: number;
  raised: number;
  /** No fault in the sheet; any row ever asked about; a question still stands at its end. */
  clean: boolean;
  asked: boolean;
  standing: boolean;
  says: string[];
}

/** @param faults slips on two sheets in three, as on a fill sheet; else a clean sheet. */
export function measureDrainWatch(seed: number, faults: boolean): DrainWatchScore {
  const { job: input, truth } = makeJob(seed);
  const answer = resolveJob({ ...input, drain: { endedAt: "pump-draws-air" } });
  if (answer.state !== "ready") throw new Error(`measureDrainWatch: job ${seed} is not ready`);
  const job = answer.value;
  const { from_L, record } = drawDown(truth, 1, faults);
  const step = truth.fill.readingStep;
  const places = Math.max(0, Math.round(-Math.log10(step)));
  const rows = record.steps.map(
    (s): PourRow => ({ added_L: Number(s.added_L.toFixed(2)), reading: Number(s.reading.toFixed(places)) }),
  );
  const chances = rows.map((_, at) => weighRow(rows, at, job, step, "drain"));
  const upTo = (at: number) => judgeRows(rows.slice(0, at + 1), chances.slice(0, at + 1), job, step, "drain");
  const standsFor = (at: number, row: number) =>
    upTo(at).some((j) => j.remarks.some((r) => r.weight === "check" && r.row === row));
  const tank = drawnTank(truth.tank);
  const offStops = (k: number) => {
    const height = tank.heightAt(from_L + record.steps[k]!.trueVolume_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop;
  };
  const worthy = record.faults.filter(
    (f) => f.inStandardErrors >= 5 && f.step > 0 && f.step < rows.length - 1 && offStops(f.step),
  );
  const remarks = upTo(rows.length - 1).flatMap((j) => j.remarks);
  return {
    worthy: worthy.length,
    atOnce: worthy.filter((f) => standsFor(f.step, f.step)).length,
    raised: worthy.filter((f) => standsFor(f.step + 1, f.step)).length,
    clean: record.faults.length === 0,
    asked: remarks.some((r) => r.weight === "check" || r.withdrawnAt !== null),
    standing: remarks.some((r) => r.weight === "check"),
    says: remarks.map((r) => published(r.says)),
  };
}

export const sumOf = (scores: DrainWatchScore[], of: (s: DrainWatchScore) => number): number =>
  scores.reduce((sum, s) => sum + of(s), 0);

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  const [from, to] = process.argv.slice(2).map(Number) as [number, number];
  const seeds = Array.from({ length: to - from + 1 }, (_, i) => from + i);
  for (const faults of [false, true]) {
    const scores = seeds.map((seed) => measureDrainWatch(seed, faults));
    const clean = scores.filter((s) => s.clean);
    const worthy = sumOf(scores, (s) => s.worthy);
    console.log(
      [
        faults ? "slips on two sheets in three" : "clean sheets",
        `faults ${worthy}: at once ${sumOf(scores, (s) => s.atOnce)}, by the next row ${sumOf(scores, (s) => s.raised)}`,
        `clean ${clean.length}: ever asked about ${clean.filter((s) => s.asked).length}, still at the end ${clean.filter((s) => s.standing).length}`,
      ].join("; "),
    );
  }
}
