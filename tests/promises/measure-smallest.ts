/**
 * Closed loop of the printed "smallest fault that would show": clean sheets of a simulated tank are written again with a fault of a
 * multiple of the printed size at a step, and it is counted how often the stage finds it there.
 */

import { type FaultDrawn, type FillRecord, pourFill } from "../../datasets/world/fill";
import { makeJob, type WorldJob } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { fillCsv } from "../../datasets/world/write";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { createPipeline } from "../../src/pipeline/index";
import type { SuspectRun } from "../../src/pipeline/suspect-steps";

/** A pour that held more or less than written, a reading that is off either way. */
export type FaultSort = "more" | "less" | "reading";

export interface SmallestCase {
  sort: FaultSort;
  step: number;
  steps: number;
  /** Printed size, litres for a pour and the reading's unit for a reading. */
  printed: number;
  /** At each of `scales` times the printed size: sheets poured, and those on which it was found at its step. */
  tried: number[];
  found: number[];
}

export interface SmallestScore {
  seed: number;
  family: string;
  sender: string;
  cases: SmallestCase[];
}

export const scales = [0.5, 0.64, 0.8, 1, 1.25, 1.6];

/** The stage's word on a sheet. */
function weigh(world: WorldJob, record: FillRecord): SuspectRun | null {
  const { truth, job } = world;
  const style = {
    unit: (job.volumeUnit ?? "L") as "L" | "USgal" | "kg",
    entered: job.fill!.enteredAs!,
    density_kg_per_L: 0.745,
    decimalComma: false,
  };
  const bytes = new TextEncoder().encode(fillCsv(record, truth.circuit, style, truth.fill.readingStep));
  const pipeline = createPipeline({
    job,
    files: { fills: [{ name: "fill.csv", kind: "fill", bytes, sha256: "0" }], drives: [] },
    readings: {},
    choices: { ...noChoices, seed: 1 },
  });
  return valueIn(pipeline.stages.suspectSteps.read())?.runs[0] ?? null;
}

/**
 * @param repeats sheets poured for each step, sort, sign and size; each with errors of its own.
 * @param most steps tried of the job, spread over it.
 * @returns null for a job that holds faults of its own or that nothing is printed for.
 */
export function measureSmallest(seed: number, repeats: number, most: number): SmallestScore | null {
  const world = makeJob(seed);
  const { truth } = world;
  if (truth.record.faults.length > 0) return null;
  const tank = createTank(truth.tank);
  const pourWith = (faults: FaultDrawn[], chance: number) =>
    pourFill(
      tank,
      truth.sender,
      truth.circuit,
      truth.fillDay,
      { ...truth.fill, recorded: false },
      faults,
      createRandom(seed * 1009 + chance),
    );
  const clean = weigh(world, pourWith([], 0));
  if (!clean) return null;
  const inner = (k: number) => {
    const step = truth.record.steps[k];
    if (!step) return false;
    const height = tank.heightAt(step.trueVolume_L + truth.fill.start_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop;
  };
  // A pour that held more must not run over, nor leave the step without two more off the stop.
  const fits = (record: FillRecord, k: number) => {
    const contents = record.steps.map((s) => s.trueVolume_L + truth.fill.start_L);
    const stop = tank.contentsAt(truth.sender.highStop);
    return contents[contents.length - 1]! <= tank.capacity_L && contents.slice(k).filter((v) => v < stop).length >= 3;
  };
  const cases: SmallestCase[] = [];
  for (const sort of ["more", "less", "reading"] as const) {
    const printed = { more: clean.smallestMore_L, less: clean.smallestLess_L, reading: clean.smallestReading }[sort];
    const at = printed.flatMap((v, k) => (v !== null && inner(k) ? [k] : []));
    const chosen =
      at.length <= most
        ? at
        : Array.from({ length: most }, (_, i) => at[Math.round(((i + 0.5) * at.length) / most - 0.5)]!);
    for (const step of new Set(chosen)) {
      const size = printed[step]!;
      const one: SmallestCase = { sort, step, steps: printed.length, printed: size, tried: [], found: [] };
      for (const [s, scale] of scales.entries()) {
        one.tried.push(0);
        one.found.push(0);
        for (const [half, sign] of (sort === "reading" ? [1, -1] : sort === "more" ? [-1, -1] : [1, 1]).entries())
          for (let repeat = 0; repeat < repeats; repeat++) {
            const off = sign * scale * size;
            // No more can be missing from a pour than was written.
            if (sort === "less" && off > truth.fill.pour_L) continue;
            const fault: FaultDrawn = {
              kind: sort === "reading" ? "wrong-reading" : "other-pour",
              step,
              share: 0,
              off,
            };
            const record = pourWith([fault], 1 + half * repeats + repeat);
            if (!fits(record, step)) continue;
            const run = weigh(world, record);
            one.tried[s]! += 1;
            if (run?.events.some((e) => e.step === step && e.kind !== "cannot-be-told")) one.found[s]! += 1;
          }
      }
      cases.push(one);
    }
  }
  return { seed, family: truth.family, sender: truth.sender.kind, cases };
}
