/** Bench: `npm run bench`. Times are medians of nine runs after two that are not counted; quote ratios, absolute times drift. */
import { makeJob } from "../../datasets/world/job";
import { fitPiecewise } from "../../src/math/breakpoints";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { fitCandidates } from "../../src/pipeline/curve-candidates";
import { createPipeline, type StageName } from "../../src/pipeline/index";
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
  "circuit",
  "suspectSteps",
  "curve",
  "ends",
  "table",
  "settings",
];
const { seed, world } = jobOf(15);
const files = world.fillFiles.map((f) => ({
  name: f.name,
  kind: "fill" as const,
  bytes: encoder.encode(f.text),
  sha256: f.name,
}));
const whole = time(() => {
  // A new job object: every stage before the drive log is computed again.
  const pipeline = createPipeline({
    job: { ...world.job },
    files: { fills: files, drives: [] },
    readings: {},
    choices: noChoices,
  });
  for (const name of before) pipeline.stages[name].read();
});
const rows: Row[] = [
  {
    task: `15 typed steps (seed ${seed}), every leaf before the drive log`,
    result: ms(whole),
    beside: "wanted: under 100",
  },
];

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
