/**
 * Bench of the grid of 1,000 (time constant, deadband) pairs on an hour at 100 Hz against NumPy: `npm run bench:grid`.
 *
 * Both count digit changes and reversals of every pair behind low-pass, table, deadband and displayed step, on the same readings, each in its own
 * process on one core. Told are processor seconds and whether the counts are the same. Without python3 and NumPy there is nothing to compare with.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { countShown, createSmoothed, sumTrend } from "../../src/pipeline/display-count";
import { hourOfReadings, hourRate_Hz } from "./hour-log";
import { printRows } from "./signals";

const interval_s = 1 / hourRate_Hz;
const timeConstants_s = Array.from({ length: 50 }, (_, i) => 0.5 * (120 / 0.5) ** (i / 49));
const deadbands_L = Array.from({ length: 20 }, (_, i) => 0.1 * (i + 1));
const { reading, trend_L, table } = hourOfReadings("moor-runner", 1);
const shown = { step_L: 1, offset_L: 0.13 };

function ours() {
  const record = { interval_s, reading, trend_L, faulty: new Uint8Array(reading.length), across_g: null };
  const trend = sumTrend(trend_L);
  const smoothed = createSmoothed([record], [reading], table, "reading-then-table");
  const changes: number[] = [];
  const reversals: number[] = [];
  for (const timeConstant_s of timeConstants_s) {
    const [blocked] = smoothed(timeConstant_s);
    for (const deadband_L of deadbands_L) {
      const count = countShown(blocked!, trend, deadband_L, shown, 1);
      changes.push(count.changes);
      reversals.push(count.reversals);
    }
  }
  return { changes, reversals };
}

/** Processor seconds of the fastest of so many runs: what else the machine does can only add to it. */
function timed<T>(run: () => T, times: number): { cpu_s: number; value: T } {
  let cpu_s = Number.POSITIVE_INFINITY;
  let value!: T;
  for (let k = 0; k < times; k++) {
    const from = process.cpuUsage();
    value = run();
    const took = process.cpuUsage(from);
    cpu_s = Math.min(cpu_s, (took.user + took.system) / 1e6);
  }
  return { cpu_s, value };
}

interface Reference {
  cpu_s: number;
  numpy: string;
  changes: number[];
  reversals: number[];
}

function byNumpy(): Reference | string {
  const folder = mkdtempSync(join(tmpdir(), "fillbook-grid-"));
  try {
    const readings = join(folder, "readings.f64");
    writeFileSync(readings, new Uint8Array(reading.buffer, reading.byteOffset, reading.byteLength));
    // Left to itself: settings of the linear algebra of this machine are none of the reference's.
    const { OPENBLAS_CORETYPE: _core, OPENBLAS_L2_SIZE: _size, ...env } = process.env;
    const job = {
      readings,
      timeConstants_s,
      deadbands_L,
      table: table.map((row) => [row.reading, row.volume_L]),
      step_L: shown.step_L,
      offset_L: shown.offset_L,
      interval_s,
    };
    const out = execFileSync("python3", [fileURLToPath(new URL("grid.py", import.meta.url))], {
      input: JSON.stringify(job),
      env: { ...env, OMP_NUM_THREADS: "1" },
      encoding: "utf8",
      maxBuffer: 1e8,
      stdio: ["pipe", "pipe", "pipe"],
    });
    return JSON.parse(out) as Reference;
  } catch (error) {
    const { code, stderr } = error as { code?: string; stderr?: string };
    if (code === "ENOENT") return "there is no python3 here";
    if (stderr?.includes("No module named 'numpy'")) return "this python3 has no NumPy";
    throw error;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const mine = timed(ours, 5);
const reference = byNumpy();
const pairs = timeConstants_s.length * deadbands_L.length;
const task = `${pairs} pairs on ${reading.length} readings`;
if (typeof reference === "string") {
  console.log(printRows([{ task, result: `${mine.cpu_s.toFixed(3)} s`, beside: `not compared: ${reference}` }]));
} else {
  const differ = (a: number[], b: number[]) => a.filter((v, i) => v !== b[i]).length;
  const off = differ(mine.value.changes, reference.changes) + differ(mine.value.reversals, reference.reversals);
  const ratio = reference.cpu_s / mine.cpu_s;
  console.log(
    printRows([
      { task: `${task}, NumPy ${reference.numpy}`, result: `${reference.cpu_s.toFixed(2)} s`, beside: "the reference" },
      {
        task: `${task}, the pipeline's own counting`,
        result: `${mine.cpu_s.toFixed(3)} s`,
        beside: `${ratio.toFixed(0)} times as fast (wanted: 25); ${off === 0 ? `all ${2 * pairs} counts the same` : `${off} of ${2 * pairs} counts differ`}`,
      },
    ]),
  );
  if (off > 0) process.exitCode = 1;
}
