/** One reading taken once: the curve's band, and what that reading is itself off by. */
import { normalQuantile } from "../math/distributions";
import type { CurvePoint } from "./curve-types";
import type { FillRuns } from "./fill-run";

export interface OneReading {
  /** Standard uncertainty of one reading, reading's unit: a typed one's last digit, one sample of a recording. */
  reading: number;
  /** The farthest that the volume may lie from the curve then, with the curve's coverage. */
  halfWidth_L: number;
}

/**
 * Prediction interval of a volume from one reading at rest on the fill day: band and reading are independent, so that their half-widths add in
 * quadrature at each reading, the reading's through the slope there (law of propagation, JCGM 100:2008, 5.1). Never unbounded: the curve rises, and
 * where it is steep the reading counts for more.
 */
export function oneReading(grid: CurvePoint[], fillRuns: FillRuns, coverage: number): OneReading {
  const all = fillRuns.runs
    .flatMap((r) => r.steps.map((s) => s.standardError * Math.sqrt(s.effectiveSamples ?? 1)))
    .sort((a, b) => a - b);
  const reading = all[all.length >> 1] ?? 0;
  const z = normalQuantile(0.5 + coverage / 2);
  const halfWidth_L = Math.max(
    ...grid.map((g, i) => {
      const [a, b] = [grid[Math.max(0, i - 1)]!, grid[Math.min(grid.length - 1, i + 1)]!];
      const slope = (b.volume_L - a.volume_L) / (b.reading - a.reading);
      return Math.hypot(Math.max(g.upper_L - g.volume_L, g.volume_L - g.lower_L), z * slope * reading);
    }),
  );
  return { reading, halfWidth_L };
}
