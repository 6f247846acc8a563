/** Bench of the long records: one hour at 100 Hz, and the examples stage by stage. Ratios count; absolute times drift with the machine. */
import { existsSync, readFileSync } from "node:fs";
import { exampleNames } from "../../datasets/examples";
import { rainflow } from "../../src/math/crossings";
import { countChanges, hampel, lowPass, play, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { welch } from "../../src/math/spectrum";
import { runPipeline } from "../promises/pipeline-run";

export interface Row {
  task: string;
  result: string;
  beside: string;
}

const rate_Hz = 100;
const samples = 3600 * rate_Hz;

/** Slosh at 0.9 Hz with changing strength, white floor, a slow fall: litres. */
function hourOfSlosh(): Float64Array {
  const random = createRandom(7);
  let x = 0;
  let v = 0;
  const w = 2 * Math.PI * 0.9;
  return Float64Array.from({ length: samples }, (_, i) => {
    v += (-w * w * x - 2 * 0.05 * w * v) / rate_Hz + 0.9 * random.normal();
    x += v / rate_Hz;
    return 40 - (8 * i) / samples + x + 0.05 * random.normal();
  });
}

export function benchSignals(time: (run: () => void, times?: number) => number): Row[] {
  const values = hourOfSlosh();
  const timeConstants = Array.from({ length: 10 }, (_, i) => 0.5 * 1.6 ** i);
  const deadbands = Array.from({ length: 20 }, (_, i) => 0.05 * (i + 1));
  const buffer = new Float64Array(samples);
  const dragged = new Float64Array(samples);
  const replayed = new Int32Array(200);
  const counted = new Int32Array(200);
  const byReplay = time(() => {
    timeConstants.forEach((tau, t) => {
      lowPass(values, smoothingFactor(tau, 1 / rate_Hz), buffer);
      deadbands.forEach((d, k) => {
        replayed[20 * t + k] = countChanges(play(buffer, d, dragged)).reversals;
      });
    });
  }, 1);
  const byRainflow = time(() => {
    timeConstants.forEach((tau, t) => {
      lowPass(values, smoothingFactor(tau, 1 / rate_Hz), buffer);
      const cycles = rainflow(buffer);
      deadbands.forEach((d, k) => {
        let full = 0;
        for (const c of cycles) if (c.range > 2 * d) full += c.count;
        counted[20 * t + k] = Math.round(2 * full);
      });
    });
  }, 1);
  let off = 0;
  replayed.forEach((r, i) => {
    off = Math.max(off, Math.abs(r - counted[i]!));
  });
  const spectrum = time(() => welch(values, rate_Hz, 4096), 5);
  const spikes = time(() => hampel(values, 25, 6, 0.02), 3);
  return [
    {
      task: "200 (time constant, deadband) pairs on 1 h at 100 Hz, each replayed",
      result: ms(byReplay),
      beside: "the reference of the next line",
    },
    {
      task: "the same from one rainflow count a time constant",
      result: ms(byRainflow),
      beside: `ratio ${(byReplay / byRainflow).toFixed(1)}; counts differ by at most ${off}`,
    },
    { task: "Welch spectrum of 1 h at 100 Hz", result: ms(spectrum), beside: "" },
    {
      task: "Hampel identifier, window 51, 1 h at 100 Hz",
      result: ms(spikes),
      beside: `${(spikes / spectrum).toFixed(0)} times the spectrum`,
    },
  ];
}

/** Each example once through, from the bytes of its files. */
export function benchExamples(time: (run: () => void, times?: number) => number): Row[] {
  return exampleNames.map((name) => {
    const text = (file: string) => readFileSync(new URL(`../../datasets/${name}/${file}`, import.meta.url), "utf8");
    const world = {
      job: JSON.parse(text("job.json")),
      fillFiles: existsSync(new URL(`../../datasets/${name}/fill.csv`, import.meta.url))
        ? [{ name: "fill.csv", text: text("fill.csv") }]
        : [],
      driveFiles: [{ name: "drive.csv", text: text("drive.csv") }],
    };
    let stages: [string, number][] = [];
    const whole = time(() => {
      stages = Object.entries(runPipeline(world).took_ms);
    }, 3);
    const slowest = stages
      .sort((a, b) => b[1] - a[1])
      .slice(0, 4)
      .map(([stage, t]) => `${stage} ${t.toFixed(0)}`);
    return { task: `${name}, every stage with its drive log`, result: ms(whole), beside: slowest.join(", ") };
  });
}

export const ms = (x: number) => `${x.toFixed(1)} ms`;

export function printRows(rows: Row[]): string {
  const widths = [Math.max(...rows.map((r) => r.task.length)), Math.max(...rows.map((r) => r.result.length))];
  return rows
    .map((r) => `${r.task.padEnd(widths[0]!)}  ${r.result.padStart(widths[1]!)}  ${r.beside}`.trimEnd())
    .join("\n");
}
