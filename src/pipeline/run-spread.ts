/** Run spread: what several runs of one tank show that a single run cannot. */
import { mean, sum } from "simple-statistics";
import type { FillRun, Step } from "./fill-run";

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
 * Rising minus falling at equal reading, litres: straight lines between the steps of the fill, compared where both have readings.
 * The standard uncertainty holds the scatter of the gaps and the errors of the pours that lie between the two runs
 * (the draws, and what was poured above each level; the pours below are shared).
 */
export function hysteresisOf(runs: FillRun[], sense: 1 | -1): { mean_L: number; standard_L: number } | null {
  const fill = runs.find((r) => r.direction === "fill");
  const drain = runs.find((r) => r.direction === "drain");
  if (!fill || !drain || drain.steps.length < 3) return null;
  const sorted = fill.steps.map((s) => ({ x: sense * s.reading, v: s.volume_L })).sort((a, b) => a.x - b.x);
  const gaps: number[] = [];
  for (const step of drain.steps) {
    const x = sense * step.reading;
    const k = sorted.findIndex((p) => p.x > x);
    if (k <= 0) continue;
    const a = sorted[k - 1]!;
    const b = sorted[k]!;
    if (b.x > a.x) gaps.push(a.v + ((x - a.x) / (b.x - a.x)) * (b.v - a.v) - step.volume_L);
  }
  if (gaps.length < 3) return null;
  const mean_L = mean(gaps);
  const variance = sum(gaps.map((g) => (g - mean_L) ** 2)) / (gaps.length - 1);
  return {
    mean_L,
    standard_L: Math.sqrt(
      variance / gaps.length + fill.pourStandard_L ** 2 * (fill.steps.length + drain.steps.length) * 0.5,
    ),
  };
}
