/** Measures what is said while pouring: the sheet is typed row by row, and each row is judged by itself and those before it. */
import type { WorldJob } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { resolveJob } from "../../src/pipeline/job";
import { judgeRows, type PourRow, type WatchRemark, weighRow } from "../../src/pipeline/pour-watch";

export interface WatchScore {
  /** Faults of five standard errors at inner steps off the stops; asked about, by row, once one more row stands, and at the very row. */
  worthy: number;
  raised: number;
  atOnce: number;
  /** The same by the naive rule, which names no row: asked in the faulty row or the one after it. */
  naiveRaised: number;
  /** A sheet without faults, and whether any row of it was ever asked about, by both; and whether a question still stands at its end. */
  clean: boolean;
  warned: boolean;
  standing: boolean;
  naiveWarned: boolean;
}

/** As it would be typed: litres to two places, the reading in its own step. */
function typedRows(world: WorldJob): PourRow[] {
  const { record, fill } = world.truth;
  const places = Math.max(0, Math.round(-Math.log10(fill.readingStep)));
  return record.steps.map((s) => ({
    added_L: Number(s.added_L.toFixed(2)),
    reading: Number(s.reading.toFixed(places)),
  }));
}

/** Common practice, no source: a pour that moves the reading under half or over double as far as the one before. */
export const naiveAsks = (rows: PourRow[], at: number): boolean => {
  if (at < 2) return false;
  const move = Math.abs(rows[at]!.reading - rows[at - 1]!.reading);
  const before = Math.abs(rows[at - 1]!.reading - rows[at - 2]!.reading);
  return move < 0.5 * before || move > 2 * before;
};

const asked = (r: WatchRemark) => r.weight === "check" || r.withdrawnAt !== null;

/** @returns null where the job itself is not ready. */
export function measureWatch(world: WorldJob): WatchScore | null {
  const { truth } = world;
  const answer = resolveJob(world.job);
  if (answer.state !== "ready") return null;
  const job = answer.value;
  const rows = typedRows(world);
  const step = truth.fill.readingStep;
  const chances = rows.map((_, at) => weighRow(rows, at, job, step));
  const upTo = (at: number) => judgeRows(rows.slice(0, at + 1), chances.slice(0, at + 1), job, step);
  const standsFor = (at: number, row: number) =>
    upTo(at).some((j) => j.remarks.some((r) => r.weight === "check" && r.row === row));
  const tank = createTank(truth.tank);
  const offStops = (k: number) => {
    const height = tank.heightAt(truth.record.steps[k]!.trueVolume_L + truth.fill.start_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop;
  };
  const worthy = truth.record.faults.filter(
    (f) => f.inStandardErrors >= 5 && f.step > 0 && f.step < rows.length - 1 && offStops(f.step),
  );
  const whole = upTo(rows.length - 1);
  return {
    worthy: worthy.length,
    raised: worthy.filter((f) => standsFor(f.step + 1, f.step)).length,
    atOnce: worthy.filter((f) => standsFor(f.step, f.step)).length,
    naiveRaised: worthy.filter((f) => naiveAsks(rows, f.step) || naiveAsks(rows, f.step + 1)).length,
    clean: truth.record.faults.length === 0,
    warned: whole.some((j) => j.remarks.some(asked)),
    standing: whole.some((j) => j.weight === "check"),
    naiveWarned: rows.some((_, at) => naiveAsks(rows, at)),
  };
}
