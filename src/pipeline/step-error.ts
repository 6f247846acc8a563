/** Error of the litres between two readings, by the steps of the fill run: for the size of an effect, before there is a curve. */
import type { FillRuns } from "./fill-run";

/**
 * Standard uncertainty, litres, of what lies between two readings that stand without error: the container's marks, the pours between them (law of
 * propagation, JCGM 100:2008, 5.2), the readings of the steps at both ends, and what the tank does between two steps, as far as the steps beside them bend
 * (remainder of a straight line, `|f″|/2·(r − a)(b − r)`, taken as a standard uncertainty).
 *
 * @param reading standard uncertainty of one settled reading, where the sheet's own rounding is less.
 */
export function litresBetween(fillRuns: FillRuns, reading: number): ((from: number, to: number) => number) | null {
  const run = fillRuns.runs.find((r) => r.direction === "fill") ?? fillRuns.runs[0];
  const rows = [
    ...new Map((run?.steps ?? []).filter((s) => s.atStop === null).map((s) => [s.reading, s] as const)).values(),
  ];
  rows.sort((a, b) => a.reading - b.reading);
  if (!run || rows.length < 2) return null;
  const slope = (k: number) => (rows[k + 1]!.volume_L - rows[k]!.volume_L) / (rows[k + 1]!.reading - rows[k]!.reading);
  // Divided second difference over rows k − 1 to k + 1.
  const bend = (k: number) =>
    k < 1 || k + 1 >= rows.length
      ? 0
      : Math.abs((slope(k) - slope(k - 1)) / (rows[k + 1]!.reading - rows[k - 1]!.reading));
  const at = (r: number) => {
    const above = rows.findIndex((row) => row.reading > r);
    const k = above < 0 ? rows.length - 2 : Math.max(0, above - 1);
    const [a, b] = [rows[k]!, rows[k + 1]!];
    const u = Math.max(reading, a.standardError, b.standardError);
    const off_L = Math.max(bend(k), bend(k + 1)) * Math.abs((r - a.reading) * (b.reading - r));
    const share = (r - a.reading) / (b.reading - a.reading);
    return {
      volume_L: a.volume_L + slope(k) * (r - a.reading),
      pours: a.index + (b.index - a.index) * share,
      variance_L2: (slope(k) * u) ** 2 + off_L ** 2,
    };
  };
  return (from, to) => {
    const [one, two] = [at(from), at(to)];
    const pours = run.runningTotal ? 2 : Math.abs(one.pours - two.pours);
    return Math.sqrt(
      (fillRuns.scaleStandard * (one.volume_L - two.volume_L)) ** 2 +
        pours * run.pourStandard_L ** 2 +
        one.variance_L2 +
        two.variance_L2,
    );
  };
}
