/** Dry end: how far inside the empty stop must 0 be told, so that it comes up before the pick-up runs dry? */
import { normalProbability, normalQuantile } from "../math/distributions";
import { interpolate, volumeAt } from "./curve-lookup";
import type { Shown } from "./device-model";
import type { EndCurve } from "./end-replay";
import { type EndJob, type EndRuns, nearestTo, runOut } from "./end-table";
import { unusableOffset_L } from "./job";

/** Spread of a service day on a ladder, as a share of the tank, apart from the litres that one level stands for. Named default, no source. */
const ladderSpread = 0.006;

export interface DryEnd {
  /** From the edge inward to where 0 must be told, reading unit. */
  margin: number;
  /** Chance that 0 has come up when the pick-up runs dry, with 0 told at this margin. */
  chance(margin: number): number;
}

/**
 * On a falling level the display reads late by `late_L` (time constant, a turning course), and a deadband leaves it standing high; half a
 * displayed step holds 0 beforehand. What is not known is the level on a service day, and the unusable volume where the run did not start at it.
 *
 * A run that starts when the pick-up runs dry has *read* the dry point: its first step. The curve's own band there says how much fuel that
 * reading may mean (it may stand on the stop over many litres), which is another question, and far wider: only what a service day adds counts.
 *
 * @param slope litres per reading near the edge; `least` the least margin in any case, both reading unit.
 * @see methods part 6: below the pick-up 0 must show before, never after.
 */
export function dryEnd(
  curve: EndCurve,
  fillRuns: EndRuns,
  job: EndJob,
  shown: Shown,
  at: { edge: number; inward: number; slope: number; least: number; deadband_L: number; late_L: number },
): DryEnd {
  const { edge, inward, slope, late_L } = at;
  const offset = unusableOffset_L(job);
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const z = normalQuantile(1 - job.targets.lateZeroRisk);
  if (fillRuns.fixedSteps) {
    // On a ladder every level stands for a stretch of litres: 0 is told on all levels that may still read when the pick-up runs dry.
    const spread_L = Math.hypot(ladderSpread * total_L, offset.standard_L);
    const { intervals, levels } = fillRuns.fixedSteps;
    const inside = intervals.map((i) => {
      const d = (i.reading - edge) * inward;
      return {
        from_L: i.from_L,
        level: d,
        margin: d + 0.3 * Math.abs(nearestTo(levels, i.reading, inward) - i.reading),
      };
    });
    const reads = inside.filter((i) => i.from_L <= offset.offset_L + z * spread_L + late_L).map((i) => i.margin);
    return {
      margin: Math.max(at.least, ...reads),
      chance: (margin) => {
        const next_L = Math.min(...inside.filter((i) => i.level > margin + 1e-9).map((i) => i.from_L));
        if (!Number.isFinite(next_L)) return 1;
        // The next level began anywhere between two pours: the last that did not read it, and the first that did.
        const poured = fillRuns.runs[0]!.steps.map((s) => s.volume_L);
        const before_L = Math.max(...poured.filter((v) => v <= next_L));
        const after_L = Math.min(...poured.filter((v) => v >= next_L));
        const parts = 20;
        let sum = 0;
        for (let k = 0; k < parts; k++) {
          const began_L = before_L + ((k + 0.5) / parts) * (after_L - before_L);
          sum += normalProbability((began_L - offset.offset_L - late_L) / spread_L);
        }
        return sum / parts;
      },
    };
  }
  const start = fillRuns.runs[0]!.steps[0]!;
  const readDry = job.fill.startedFrom === "pick-up-dry" && offset.offset_L === 0 && start.volume_L === 0;
  const atStart = (of: (g: EndCurve["grid"][number]) => number) => interpolate(curve.grid, start.reading, of);
  /** Litres over the dry point that a reading means on a service day, and their standard uncertainty. */
  const over = (reading: number): { litres: number; standard: number } =>
    readDry
      ? {
          litres:
            volumeAt(curve, reading) - atStart((g) => g.volume_L) + atStart((g) => g.serviceVolume_L - g.volume_L),
          standard: Math.hypot(
            Math.sqrt(
              Math.max(
                0,
                atStart((g) => g.serviceStandard_L ** 2 - g.standard_L ** 2),
              ),
            ),
            start.standardError * slope,
          ),
        }
      : {
          litres: interpolate(curve.grid, reading, (g) => g.serviceVolume_L) - offset.offset_L,
          standard: Math.hypot(
            interpolate(curve.grid, reading, (g) => g.serviceStandard_L),
            offset.standard_L,
          ),
        };
  const credit = Math.max(0, shown.step_L / 2 - at.deadband_L) / (1 + 1 / runOut) / slope;
  const width = Math.abs(curve.overall.fullReading - curve.overall.emptyReading);
  const step = width / 1000;
  let margin = 0;
  const left = (from: number) => {
    const o = over(edge + inward * from);
    return o.litres - z * o.standard - late_L;
  };
  while (margin < 0.3 * width && left(margin) < 0) margin += step;
  return {
    // The stop itself reads a little differently on a service day: 0 must be told far enough inside for that.
    margin: Math.max(at.least, margin - credit),
    chance: (told) => {
      const o = over(edge + inward * (told + credit));
      return normalProbability((o.litres - late_L) / Math.max(1e-9, o.standard));
    },
  };
}
