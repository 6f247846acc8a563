/** End geometry: where an end can be typed, how the table runs onto the curve there, and what a margin hides. */
import type { Circuit } from "./circuit";
import { readingAt, volumeAt } from "./curve-lookup";
import type { Shown, TablePoint } from "./device-table";
import type { End, EndCurve, FaultLimits } from "./end-replay";
import type { FillRuns } from "./fill-run";
import type { readingSigns } from "./found-table";
import type { Job } from "./job";
import { readingScale } from "./reading-scale";

/** What of the fill runs and of the job an end depends on. */
export interface EndRuns extends Pick<FillRuns, "readingStep" | "fixedSteps"> {
  /** The first run is looked at; a second one has measured the loop. */
  runs: { steps: Pick<FillRuns["runs"][number]["steps"][number], "volume_L" | "reading" | "standardError">[] }[];
}
export type EndJob = Pick<Job, "tank" | "fill" | "circuit" | "device" | "targets">;

/** Onto the curve the table runs over so many times the litres that it has to make up: a third steeper than the curve at most. */
export const runOut = 3;

/** The end's value on the displayed steps, in the display's base, so that it lies in the middle of what the step holds. */
export const shownEnd = (volume_L: number, shown: Shown): number =>
  shown.offset_L + Math.max(0, Math.round((volume_L - shown.offset_L) / shown.step_L)) * shown.step_L;

/** The curve between an end and where it is met again, as the table is to follow it. */
export function blended(
  curve: EndCurve,
  which: End,
  reading: number,
  shows_L: number,
): { rows: TablePoint[]; meets: number } {
  const off_L = shows_L - volumeAt(curve, reading);
  const over_L = runOut * Math.abs(off_L);
  const meets = readingAt(curve, volumeAt(curve, reading) + (which === "empty" ? over_L : -over_L));
  const inside = curve.grid.filter((g) => (g.reading - reading) * curve.sense > 0 === (which === "empty"));
  const rows = [
    { reading, volume_L: shows_L },
    ...inside.map((g) => {
      const t = Math.min(1, (g.reading - reading) / (meets - reading || 1e-12));
      return { reading: g.reading, volume_L: g.volume_L + (1 - Math.max(0, t)) * off_L };
    }),
  ].sort((a, b) => a.reading - b.reading);
  return { rows: rows.filter((r, i) => i === 0 || r.reading > rows[i - 1]!.reading), meets };
}

/** Least share of the mean surface that one near an end is taken for: a curve flatter than that is wrong there. Named default, no source. */
export const leastSurface = 0.3;

/** Litres per reading over the whole of the curve. */
export function meanSlope({ grid }: Pick<EndCurve, "grid">): number {
  const first = grid[0]!;
  const last = grid[grid.length - 1]!;
  return Math.abs((last.volume_L - first.volume_L) / (last.reading - first.reading));
}

/**
 * Litres per reading just inside an end. A curve that is held level there (no state of the run puts less than nothing into the tank) says nothing
 * of the slope: as many readings as one likes would then be worth no litres, and half a displayed step would hold the end over all of them.
 */
export function slopeNear(curve: EndCurve, start: number, inward: number, span: number): number {
  const d = 0.02 * span;
  const seen = Math.abs(volumeAt(curve, start + inward * d) - volumeAt(curve, start)) / d;
  return Math.max(1e-9, leastSurface * meanSlope(curve), seen);
}

/** Litres between an end and the margin's reading; a ladder whose levels were all seen hides only those that lie in between. */
export function hidden(curve: EndCurve, fillRuns: EndRuns, start: number, step: number): number {
  const levels = fillRuns.fixedSteps?.resolved ? fillRuns.fixedSteps.levels : null;
  if (!levels) return Math.abs(volumeAt(curve, start + step) - volumeAt(curve, start));
  const room = 0.25 * Math.abs(start - nearestTo(levels, start, step));
  const passed = levels.filter(
    (l) => (l - start) * Math.sign(step) > room && (start + step - l) * Math.sign(step) >= 0,
  );
  return passed.reduce((most, l) => Math.max(most, Math.abs(volumeAt(curve, l) - volumeAt(curve, start))), 0);
}

/** The level next to an end on the side that `step` points to. */
export function nearestTo(levels: number[], start: number, step: number): number {
  const side = levels.map((l) => (l - start) * Math.sign(step)).filter((d) => d > 1e-9);
  const spacing = Math.abs(levels[levels.length - 1]! - levels[0]!) / Math.max(1, levels.length - 1);
  return start + Math.sign(step) * Math.min(Math.max(0.5 * spacing, Math.min(...side, spacing)), 2 * spacing);
}

/** What the device's table can hold: the least margin on its reading step that is not smaller. */
export function onLattice(margin: number, edge: number, inward: number, curve: EndCurve, job: EndJob): number {
  const lattice = latticeOf(curve, job);
  if (!lattice) return margin;
  const { scale, step } = lattice;
  const x = scale.to(edge + inward * margin) / step;
  const reading = scale.from((inward > 0 ? Math.ceil(x - 1e-6) : Math.floor(x + 1e-6)) * step);
  const snapped = (reading - edge) * inward;
  return Number.isFinite(snapped) && snapped > 0 ? snapped : margin;
}

export function latticeStep(edge: number, inward: number, curve: EndCurve, job: EndJob): number {
  const lattice = latticeOf(curve, job);
  if (!lattice) return 0;
  const { scale, step } = lattice;
  const d = Math.abs(scale.from(scale.to(edge) + step) - edge);
  return Number.isFinite(d) ? d * Math.abs(inward) : 0;
}

function latticeOf(curve: EndCurve, job: EndJob) {
  const unit = job.device.tableReadingUnit ?? curve.readingUnit;
  const scale = readingScale(curve.readingUnit, unit, job);
  return scale ? { scale, step: job.device.tableReadingStep ?? (unit === "V" ? 0.01 : 1) } : null;
}

/** Fewer steps of the device's readings than this between both ends leave no table to type. Named default, no source. */
const leastSteps = 4;

/** The step in which the device takes its table's readings, where it is too coarse for the sender's travel; null where it is not. */
export function tooCoarse(
  curve: EndCurve,
  job: EndJob,
): { step: number; unit: keyof typeof readingSigns; steps: number } | null {
  const lattice = latticeOf(curve, job);
  if (!lattice) return null;
  const { emptyReading, fullReading } = curve.overall;
  const steps = Math.abs(lattice.scale.to(fullReading) - lattice.scale.to(emptyReading)) / lattice.step;
  const unit = job.device.tableReadingUnit ?? curve.readingUnit;
  return steps < leastSteps ? { step: lattice.step, unit, steps } : null;
}

/** A short or an open wire that reads like this end, where the circuit leaves no room for a fault limit. */
export function looksLike(
  edge: number,
  limits: FaultLimits,
  circuit: Circuit | null,
  curve: EndCurve,
): "short" | "open" | null {
  if (!circuit) return null;
  const middle = (curve.overall.emptyReading + curve.overall.fullReading) / 2;
  if (edge < middle && limits.low === null) return "short";
  return edge > middle && limits.high === null ? "open" : null;
}
