/** Dry end: how far inside the empty stop must 0 be told, so that it comes up before the pick-up runs dry? */
import { normalProbability, normalQuantile } from "../math/distributions";
import { interpolate, volumeAt } from "./curve-lookup";
import type { Shown } from "./device-table";
import { changeOver } from "./end-behind";
import type { EndCurve } from "./end-replay";
import { type EndJob, type EndRuns, leastSurface, meanSlope, nearestTo, runOut } from "./end-table";
import { unusableOffset_L } from "./job";

/** Spread of a service day on a ladder, as a share of the tank, apart from the litres that one level stands for. Named default, no source. */
const ladderSpread = 0.006;

/**
 * What a service day adds is stated in litres of the whole tank, as a share of it. What moves the sender (friction, wear, play) moves it by a share
 * of its travel, and near the bottom that is as many litres as the surface there is wide, of the mean one. A loop that was measured, by a second
 * run, is told in the litres of its own level.
 */
function surfaceNear(curve: EndCurve, fillRuns: EndRuns, slope: number): number {
  if (fillRuns.runs.length > 1) return 1;
  return Math.min(1, Math.max(leastSurface, slope / meanSlope(curve)));
}

export interface DryEnd {
  /** From the edge inward to where 0 must be told, reading unit. */
  margin: number;
  /** Chance that 0 has come up when the pick-up runs dry, with 0 told at this margin. */
  chance(margin: number): number;
}

/**
 * On a falling level the display reads late by `late_L` (time constant) and `lift_L` (motion that a stop cuts off below, a turning course), and a
 * deadband leaves it standing high; half a displayed step holds 0 beforehand. What is not known is the level on a service day, and the unusable volume where the run did not start at it.
 *
 * A run that starts when the pick-up runs dry has *read* the dry point: its first step. The curve's own band there says how much fuel that
 * reading may mean (it may stand on the stop over many litres), which is another question, and far wider: only what a service day adds counts.
 *
 * In a device that smooths behind its table what the end row cuts off lifts the mean too, the more the less of a margin there is: then
 * `firstShown` says how far inside the edge a level reads at rest when 0 comes up: lag, lift and what the digit holds counted in. Where no margin up
 * to `most` brings 0 up in time on the road, none is spent on it: 0 is told where it comes up in time once the vehicle stands. A deadband of half
 * a displayed step or more keeps 0 from coming up at all on a falling level: then no margin is spent on it either.
 *
 * @param slope litres per reading near the edge; `least` the least margin in any case, both reading unit.
 * @see methods part 6: below the pick-up 0 must show before, never after.
 */
export function dryEnd(
  curve: EndCurve,
  fillRuns: EndRuns,
  job: EndJob,
  shown: Shown,
  at: {
    edge: number;
    inward: number;
    slope: number;
    least: number;
    deadband_L: number;
    late_L: number;
    lift_L: number;
    behind: { firstShown: (margin: number) => number | null; most: number } | null;
  },
): DryEnd {
  const { edge, inward, slope, behind } = at;
  const late_L = behind ? 0 : at.late_L + at.lift_L;
  const offset = unusableOffset_L(job);
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const z = normalQuantile(1 - job.targets.lateZeroRisk);
  const start = fillRuns.runs[0]!.steps[0]!;
  // What a ladder reads when the pick-up runs dry is its lowest level, and that stands for a stretch of litres: no reading of the dry point.
  const readDry =
    !fillRuns.fixedSteps && job.fill.startedFrom === "pick-up-dry" && offset.offset_L === 0 && start.volume_L === 0;
  const atStart = (of: (g: EndCurve["grid"][number]) => number) => interpolate(curve.grid, start.reading, of);
  const surface = surfaceNear(curve, fillRuns, slope);
  const serviceBias = (g: EndCurve["grid"][number]) => surface * (g.serviceVolume_L - g.volume_L);
  const serviceStandard = (g: EndCurve["grid"][number]) =>
    surface * Math.sqrt(Math.max(0, g.serviceStandard_L ** 2 - g.standard_L ** 2));
  /** Litres over the dry point that a reading means on a service day, and their standard uncertainty. */
  const over = (reading: number): { litres: number; standard: number } =>
    readDry
      ? {
          litres: volumeAt(curve, reading) - atStart((g) => g.volume_L) + atStart(serviceBias),
          standard: Math.hypot(atStart(serviceStandard), start.standardError * slope),
        }
      : {
          litres: interpolate(curve.grid, reading, (g) => g.volume_L + serviceBias(g)) - offset.offset_L,
          standard: interpolate(curve.grid, reading, (g) =>
            Math.hypot(g.standard_L, serviceStandard(g), offset.standard_L),
          ),
        };
  const credit = Math.max(0, shown.step_L / 2 - at.deadband_L) / (1 + 1 / runOut) / slope;
  const width = Math.abs(curve.overall.fullReading - curve.overall.emptyReading);
  const step = width / 1000;
  // Drawn down, the shown value stands a deadband over the lowest it can come to: from half a displayed step on that is another digit than 0.
  const never = !behind && at.deadband_L >= shown.step_L / 2;
  const chance = (told: number) => {
    if (never) return 0;
    const inside = behind ? behind.firstShown(told) : told + credit;
    if (inside === null) return 0;
    const o = over(edge + inward * inside);
    return normalProbability((o.litres - late_L) / Math.max(1e-9, o.standard));
  };
  if (fillRuns.fixedSteps) {
    const spread_L = Math.hypot(ladderSpread * total_L, offset.standard_L);
    const of = { ...at, dry_L: offset.offset_L, z, spread_L, most: behind?.most ?? 0 };
    return ladderEnd(fillRuns, fillRuns.fixedSteps, of, chance);
  }
  if (never) return { margin: at.least, chance };
  let margin = 0;
  const left = (from: number) => {
    const o = over(edge + inward * from);
    return o.litres - z * o.standard - late_L;
  };
  if (behind) {
    const late = (told: number) => {
      const inside = behind.firstShown(told);
      return inside === null || left(inside) < 0;
    };
    if (!late(behind.most))
      return { margin: Math.max(at.least, late(0) ? changeOver(0, behind.most, late) : 0), chance };
  }
  while (margin < 0.3 * width && left(margin) < 0) margin += step;
  // The stop itself reads a little differently on a service day: 0 must be told far enough inside for that.
  return { margin: Math.max(at.least, margin - credit), chance };
}

/** How far over its level, as a share of the way to the next one, the end of a ladder is told: the first that serves. Named defaults, no source. */
const overLevel = [0.3, 0.4, 0.5];
/** The same where the smoothing is behind the table: what is cut off lifts the volume, and up to the next level nothing more is hidden. */
const furtherOver = [0.6, 0.75, 0.9];

/**
 * On a ladder every level stands for a stretch of litres: 0 is told on all levels that may still read when the pick-up runs dry. Standing still it
 * comes up where the next level ends. On the road slosh blends the levels, and the smoothed reading comes down between them as it would without
 * levels: the end is told as far on towards the next level as that asks for, which hides no level more.
 *
 * @param at `most`: up to here the end may be told further over its level than it is else; 0 where the reading is smoothed. @param blended chance that 0 has come up with the levels blended, by margin.
 */
function ladderEnd(
  fillRuns: EndRuns,
  { intervals, levels }: NonNullable<EndRuns["fixedSteps"]>,
  at: {
    edge: number;
    inward: number;
    least: number;
    late_L: number;
    dry_L: number;
    z: number;
    spread_L: number;
    most: number;
  },
  blended: (margin: number) => number,
): DryEnd {
  const { dry_L, late_L, z, spread_L } = at;
  const inside = intervals.map((i) => ({
    from_L: i.from_L,
    level: (i.reading - at.edge) * at.inward,
    gap: Math.abs(nearestTo(levels, i.reading, at.inward) - i.reading),
  }));
  const reads = inside.filter((i) => i.from_L <= dry_L + z * spread_L + late_L);
  const over = (share: number) => Math.max(at.least, ...reads.map((i) => i.level + share * i.gap));
  const margins = [...overLevel.map(over), ...furtherOver.map(over).filter((m) => m <= at.most)];
  return {
    margin: margins.find((m) => blended(m) >= normalProbability(z)) ?? margins[margins.length - 1]!,
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
        sum += normalProbability((began_L - dry_L - late_L) / spread_L);
      }
      return Math.min(sum / parts, blended(margin));
    },
  };
}
