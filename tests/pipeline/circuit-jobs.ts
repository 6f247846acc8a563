/** A stated circuit, and runs of a straight sender through any divider. */
import { dividerVolts } from "../../src/math/divider";
import { checkCircuit } from "../../src/pipeline/circuit";
import type { FillRuns } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";

export const jobOf = (input: JobInput) => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job is not ready");
  return answer.value;
};
export const input: JobInput = {
  tank: { capacity_L: 58 },
  sender: { emptyOhms: 10, fullOhms: 180 },
  circuit: { kind: "pull-up", pullUpOhms: 150, supplyVolts: 3.3, adcBits: 12, ratiometric: true },
};
/** A straight sender poured full in nine steps, through the divider given. */
export function runOf(volts: (ohms: number) => number, empty = 10, full = 180, share = 1): FillRuns {
  const steps = Array.from({ length: 9 }, (_, i) => ({
    index: i,
    volume_L: (58 * share * i) / 8,
    added_L: i === 0 ? 0 : (58 * share) / 8,
    reading: volts(empty + ((full - empty) * share * i) / 8),
    standardError: 0.002,
    effectiveSamples: null,
    samples: null,
    dropped_s: null,
    from_s: null,
    to_s: null,
    line: i + 2,
    atStop: null,
  }));
  return {
    readingUnit: "V",
    sense: 1,
    runs: [
      {
        file: "fill.csv",
        kind: "typed",
        direction: "fill",
        steps,
        pourStandard_L: 0.03,
        runningTotal: false,
        trace: null,
      } as unknown as FillRuns["runs"][number],
    ],
    readingStep: 0.001,
    repeatability: null,
    betweenRuns: null,
    hysteresis_L: null,
    scaleStandard: 0.003,
    startStandard_L: 0,
    fixedSteps: null,
    deadZones: [],
    total_L: 58 * share,
    capacity_L: 58,
    deviceHeldBack: null,
  };
}
export const circuitOf = (job: JobInput, run: FillRuns | null = null) => {
  const answer = checkCircuit(jobOf(job), run);
  if (answer.state !== "ready") throw new Error("the circuit is not ready");
  return answer;
};
export const stated = (r: number) => dividerVolts(r, 150, 3.3);
