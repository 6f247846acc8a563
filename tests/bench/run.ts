/** Bench: `npm run bench`. Times are medians of nine runs after two that are not counted; quote ratios, absolute times drift. */
import { makeJob } from "../../datasets/world/job";
import { fitPiecewise } from "../../src/math/breakpoints";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { fitCandidates } from "../../src/pipeline/curve-candidates";
import { createPipeline, type StageName } from "../../src/pipeline/index";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { chancesSoFar } from "../../src/pipeline/pour-chances";
import { benchExamples, benchSignals, ms, printRows, type Row } from "./signals";

const encoder = new TextEncoder();

function median(times: number[]): number {
  return [...times].sort((a, b) => a - b)[times.length >> 1]!;
}

function time(run: () => void, times = 9): number {
  for (let i = 0; i < Math.min(2, times); i++) run();
  return median(
    Array.from({ length: times }, () => {
      const start = performance.now();
      run();
      return performance.now() - start;
    }),
  );
}

/** The first typed job of the tuning seeds with so many steps. */
function jobOf(steps: number) {
  for (let seed = 1; seed < 400; seed++) {
    const world = makeJob(seed);
    if (world.truth.record.steps.length === steps && !world.truth.fill.recorded) return { seed, world };
  }
  throw new Error(`bench: no typed job of ${steps} steps`);
}

const before: StageName[] = [
  "job",
  "fills",
  "fillRun",
  "severalRuns",
  "circuit",
  "suspectSteps",
  "curve",
  "ends",
  "table",
  "settings",
];
const { seed, world } = jobOf(15);
/** Every stage before the drive log, from the file's bytes on: a new job object asks for all of them again. */
const everyLeaf = (job: JobInput, name: string, text: string) => {
  const file = { name, kind: "fill" as const, bytes: encoder.encode(text), sha256: name };
  return () => {
    const pipeline = createPipeline({
      job: { ...job },
      files: { fills: [file], drives: [] },
      readings: {},
      choices: noChoices,
    });
    for (const stage of before) pipeline.stages[stage].read();
  };
};
const { name, text } = world.fillFiles[0]!;
const rows: Row[] = [
  {
    task: `15 typed steps (seed ${seed}), every leaf before the drive log`,
    result: ms(time(everyLeaf(world.job, name, text))),
    beside: "wanted: under 100",
  },
];

/** A tank of six straight pieces, 60 pours of 1 L, read to a millivolt. */
const noise = createRandom(2);
const slopes = [0.09, 0.05, 0.08, 0.04, 0.07, 0.05];
const volts = (litres: number) =>
  slopes.reduce((v, slope, k) => v + slope * Math.max(0, Math.min(10, litres - 10 * k)), 0.4);
const sixty = Array.from({ length: 60 }, (_, k) => `${k},${(volts(k) + 0.004 * noise.normal()).toFixed(3)}`);
rows.push({
  task: "60 typed steps in a tank of 6 straight pieces, every leaf before the drive log",
  result: ms(
    time(
      everyLeaf(
        {
          tank: { capacity_L: 60 },
          sender: { kind: "float-arm" },
          fill: { enteredAs: "cumulative" },
          pour: { size_L: 1, errorPerPour_L: 0.01, scaleErrorLimit: 0.005 },
          readingUnit: "V",
          volumeUnit: "L",
        },
        "sixty.csv",
        ["volume (L),reading (V)", ...sixty].join("\n"),
      ),
    ),
  ),
  beside: "wanted: under 500",
});

/** 2,000 steps of 35 mL in a tank that curves and bends, read to a millivolt with 4 mV of noise; a reading is wrong, and a pour is written 40 times too large. */
const many = createRandom(3);
let poured_L = 0;
const thousands = Array.from({ length: 2000 }, (_, k) => {
  if (k > 0) poured_L += 0.035 + 0.0007 * many.normal();
  const sender = 0.5 + 0.045 * poured_L - 0.00012 * poured_L ** 2 + 0.012 * Math.max(0, poured_L - 35);
  const reading = sender + 0.004 * many.normal() - (k === 700 ? 0.4 : 0);
  return `${k === 0 ? 0 : k === 1200 ? 1.4 : 0.035},${reading.toFixed(3)}`;
});
rows.push({
  task: "2,000 typed steps with two faults, every leaf before the drive log",
  result: ms(
    time(
      everyLeaf(
        {
          tank: { capacity_L: 72 },
          sender: { kind: "float-arm" },
          circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5 },
          fill: { enteredAs: "added" },
          pour: { size_L: 0.035, errorPerPour_L: 0.0007, scaleErrorLimit: 0.005 },
          readingUnit: "V",
          volumeUnit: "L",
        },
        "thousands.csv",
        ["added (L),reading (V)", ...thousands].join("\n"),
      ),
      3,
    ),
  ),
  beside: "wanted: under 3,000",
});

/** At the tank: the last of twenty rows, with one slip before it, against those above it. */
const hand = createRandom(6);
const typed = Array.from({ length: 20 }, (_, k) => ({
  added_L: k === 0 ? 0 : 3,
  reading: Number((0.5 + 0.16 * k - 0.002 * k * k + 0.004 * hand.normal() + (k === 18 ? 0.06 : 0)).toFixed(2)),
}));
const atTheTank = resolveJob({
  tank: { capacity_L: 64 },
  sender: { kind: "float-arm" },
  circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5 },
  fill: { enteredAs: "added" },
  pour: { size_L: 3, errorPerPour_L: 0.03, scaleErrorLimit: 0.005 },
  readingUnit: "V",
  volumeUnit: "L",
});
if (atTheTank.state !== "ready") throw new Error("bench: the job at the tank is not ready");
const tankJob = atTheTank.value;
rows.push({
  task: "one row of twenty, weighed as it is typed",
  result: ms(time(() => chancesSoFar(typed, tankJob, 0.01))),
  beside: "wanted: under 50",
});

const random = createRandom(1);
for (const n of [15, 30, 60]) {
  const x = Array.from({ length: n }, (_, i) => i / (n - 1));
  const y = x.map((v) => 60 * v + 25 * Math.max(0, v - 0.4) - 30 * Math.max(0, v - 0.7) + 0.2 * random.normal());
  const one = time(() => fitPiecewise(x, y, 1));
  const two = time(() => fitPiecewise(x, y, 2));
  rows.push({ task: `best two breakpoints, n = ${n}`, result: ms(two), beside: `${(two / one).toFixed(1)} times one` });
}
for (const [n, most] of [
  [15, 3],
  [60, 5],
] as const) {
  let sum = 0;
  const reading = Array.from({ length: n }, (_, i) => 0.5 + (4 * i) / (n - 1));
  const volume_L = reading.map((v) => {
    sum += 0.1 * random.normal();
    return 15 * v + 6 * Math.max(0, v - 2) - 8 * Math.max(0, v - 3.2) + sum;
  });
  const covariance = reading.map((_, i) => reading.map((_, j) => 0.01 * (Math.min(i, j) + 1) + (i === j ? 0.01 : 0)));
  const took = time(() => fitCandidates({ reading, volume_L, covariance }, 5, most));
  rows.push({ task: `all candidates of ${n} steps, up to ${most + 1} pieces`, result: ms(took), beside: "" });
}
console.log(printRows([...rows, ...benchSignals(time), ...benchExamples(time)]));
