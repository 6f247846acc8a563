/** Volume of a reading before there is a curve: straight from step to step. For the size of an effect, not for the table. */
import type { FillRuns } from "./fill-run";

/** Straight between neighbouring rows and on beyond the ends; each reading counts once. Null under two readings. */
export function volumeThrough(points: { reading: number; volume_L: number }[]): ((reading: number) => number) | null {
  const rows = [...new Map(points.map((p) => [p.reading, p] as const)).values()].sort((a, b) => a.reading - b.reading);
  if (rows.length < 2) return null;
  return (reading) => {
    const above = rows.findIndex((r) => r.reading > reading);
    const k = above < 0 ? rows.length - 2 : Math.max(0, above - 1);
    const [a, b] = [rows[k]!, rows[k + 1]!];
    return a.volume_L + ((b.volume_L - a.volume_L) * (reading - a.reading)) / (b.reading - a.reading);
  };
}

/** By the steps of the fill run; steps on a stop say nothing about litres. */
export function volumeBySteps(fillRuns: FillRuns): ((reading: number) => number) | null {
  const run = fillRuns.runs.find((r) => r.direction === "fill") ?? fillRuns.runs[0];
  return volumeThrough((run?.steps ?? []).filter((s) => s.atStop === null));
}
