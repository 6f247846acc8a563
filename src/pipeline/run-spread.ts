/** Run spread: what several runs of one tank show that a single run cannot. */
import { mean, sum } from "simple-statistics";
import { normalQuantile } from "../math/distributions";
import type { FillRun, Step } from "./fill-run";
import { loopOf } from "./loop";
import { usableRuns } from "./run-steps";

/** Reading of a run at a volume, straight between its steps; null outside them. */
function readingAt(steps: Step[], volume_L: number): number | null {
  const sorted = [...steps].sort((a, b) => a.volume_L - b.volume_L);
  for (let k = 0; k < sorted.length; k++) {
    const b = sorted[k]!;
    if (Math.abs(b.volume_L - volume_L) < 1e-9) return b.reading;
    const a = sorted[k - 1];
    if (a && a.volume_L < volume_L && volume_L < b.volume_L)
      return a.reading + ((volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
  }
  return null;
}

/**
 * Repeatability and between-run spread of a reading at one volume, over two or more fill runs: a two-way layout (run by volume) with one
 * reading in each cell. The rest after run and volume means is the repeatability; the spread of the run means, less what the repeatability
 * puts into them, is the between-run part.
 *
 * @returns standard deviations in the reading's unit; null with fewer than two fill runs or three common volumes.
 * @see ISO 5725-2, 7.4 (from memory) for the estimates: s_r² the residual mean square, s_L² = (s_means² − s_r²/n), at least 0.
 */
export function spreadOfRuns(runs: FillRun[]): { repeatability: number; betweenRuns: number } | null {
  const fills = runs.filter((r) => r.direction === "fill");
  if (fills.length < 2) return null;
  const rows = fills[0]!.steps.flatMap((s) => {
    const cells = fills.map((r) => readingAt(r.steps, s.volume_L));
    return cells.every((c) => c !== null) ? [cells as number[]] : [];
  });
  if (rows.length < 3) return null;
  const p = fills.length;
  const n = rows.length;
  const offsets = rows.map((row) => row.map((c) => c - mean(row)));
  const runMeans = fills.map((_, r) => mean(offsets.map((row) => row[r]!)));
  const rest = sum(offsets.map((row) => sum(row.map((d, r) => (d - runMeans[r]!) ** 2))));
  const repeat2 = rest / ((n - 1) * (p - 1));
  const means2 = sum(runMeans.map((m) => m * m)) / (p - 1);
  return { repeatability: Math.sqrt(repeat2), betweenRuns: Math.sqrt(Math.max(0, means2 - repeat2 / n)) };
}

/**
 * Rising minus falling at equal reading, litres: how much less is in the tank than the rising curve says while the level falls. To first order
 * the loop at equal volume with its sign turned; the standard uncertainty has t folded in.
 */
export function hysteresisOf(
  runs: FillRun[],
  sense: 1 | -1,
  scaleStandard: number,
): { mean_L: number; standard_L: number } | null {
  const loop = loopOf(usableRuns(runs, null), sense, scaleStandard);
  return loop && { mean_L: -loop.mean_L, standard_L: (loop.upper_L - loop.mean_L) / normalQuantile(0.975) };
}
