/**
 * End margin: how far inside the sender's travel is one end told, and what does the log's motion do there?
 *
 * It depends on time constant and deadband. `ends.ts` asks for those that are set, `display.ts` for those that it weighs against each other: what
 * no setting changes (the motion laid at the end) is made once.
 */
import { crossingRate, crossingsAt, marginFor } from "../math/crossings";
import { volumeAt } from "./curve-lookup";
import type { TablePoint } from "./device-table";
import { type Behind, createBehind } from "./end-behind";
import { dryEnd } from "./end-dry";
import { type Ground, inwardOf, mostHidden } from "./end-ground";
import { evenScale, moves, travelOf } from "./end-motion";
import { carriedFlickers, carry, type End, type EndCurve, type EndSetting, filteredNoise } from "./end-replay";
import {
  blended,
  type EndJob,
  type EndRuns,
  hidden,
  latticeStep,
  onLattice,
  runOut,
  shownEnd,
  slopeNear,
} from "./end-table";
import { unusableOffset_L } from "./job";

/** Standard deviations of the smoothed reading under its mean at which 0 first comes up on a falling level. Named default, no source. */
const firstBy = 0.5;
/** The least margin kept in any case, as a share of the travel. Named default, no source. */
const leastShare = 0.003;
/**
 * Share of the wanted rate that is aimed at by formula at full: other drives are rougher than this log, and nothing else keeps an end back there,
 * as the dry pick-up does at empty. Named default, no source.
 */
const aimedAtFull = 0.5;
/** Share of the wanted rate that a count on carried motion may use up: other drives are rougher than this log. */
export const carriedShare = 0.3;

/**
 * Most that may be hidden for 0 before the pick-up runs dry where a device smooths behind its table, as a share of the tank: what such a device
 * asks for has no end. Named default, no source.
 */
const mostHiddenDry = 0.05;
/** Largest margin that is tried for a device that smooths behind its table, as a share of the travel. Named default, no source. */
const mostTried = 0.3;

export interface EndPlan {
  edge: number;
  inward: number;
  /**
   * Reading unit: what noise asks for, and what of it the display holds by itself. Behind a table it is what the mean of the motion asks for, and
   * what the display holds is counted in.
   */
  noisePart: number;
  held: number;
  dry: ReturnType<typeof dryEnd> | null;
  recommended: number;
  /** Flickers an hour of the carried motion with this margin, the motion as logged or a little rougher, whichever is worse; 0 without a log. */
  flickersAt(margin: number): number;
  /** The same with the rows of a table, the end being its outer row. */
  flickersWith(rows: TablePoint[]): number;
  hiddenAt(margin: number): number;
  showsAt(reading: number): number;
  tableFor(reading: number): { rows: TablePoint[]; meets: number };
  /** Flickers an hour by the formula; null without a log, and in a device that smooths behind its table, for which it does not hold. */
  byFormula(margin: number): number | null;
}

/** The largest margin up to `to` that hides no more than this, at least `from`: against flicker a wide flat foot of a tank must not vanish whole. */
function hidingAtMost(most_L: number, from: number, to: number, hiddenAt: (margin: number) => number): number {
  if (hiddenAt(to) <= most_L) return to;
  let [low, high] = [from, to];
  for (let i = 0; i < 30; i++) {
    const middle = (low + high) / 2;
    if (hiddenAt(middle) <= most_L) low = middle;
    else high = middle;
  }
  return low;
}

/**
 * On a ladder a margin hides a level whole or not at all, and the formula for noise knows nothing of levels: a level is given up to it only where
 * the carried motion is not calm with the end told right before that level.
 *
 * @param from where the end may be told if noise is left aside, and `to` where noise by formula wants it: margins, reading unit.
 * @returns the margin right before a level that need not be hidden; null where there is none.
 */
export function beforeLevel(
  edge: number,
  inward: number,
  from: number,
  to: number,
  { curve, fillRuns, job }: { curve: EndCurve; fillRuns: Pick<EndRuns, "fixedSteps">; job: EndJob },
  calm: (margin: number) => boolean,
): number | null {
  const levels = fillRuns.fixedSteps?.levels ?? [];
  const step = latticeStep(edge, inward, curve, job);
  const inside = levels
    .map((l) => (l - edge) * inward)
    .filter((d) => d > from && d <= onLattice(to, edge, inward, curve, job));
  for (const level of inside.sort((a, b) => a - b)) {
    const margin = onLattice(level - 1.5 * step, edge, inward, curve, job);
    if (margin >= from && margin < level && calm(margin)) return margin;
  }
  return null;
}

/** @param setting null where nothing is known of the display: no smoothing, no deadband, no motion. */
export function planEnd(which: End, ground: Ground, setting: EndSetting | null): EndPlan {
  const { curve, fillRuns, job, shown, span, repeat, total_L } = ground;
  const motion = setting && ground.motion;
  const edge = which === "empty" ? curve.overall.emptyReading : curve.overall.fullReading;
  const filtered = motion ? filteredNoise(motion.logs, setting) : null;
  // Through a pull-up the same motion moves the reading differently at each level: what the log saw is brought to this end.
  const sd = filtered ? filtered.sd * moves(curve, job, edge, filtered.middle) : 0;
  const f0_Hz = filtered ? crossingRate(filtered.rho, filtered.interval_s) : 0;
  const wanted = job.targets.endFlickersPerHour;
  const aimed = (which === "full" ? aimedAtFull : 1) * wanted;
  const deadband_L = setting?.deadband_L ?? 0;
  const offset = unusableOffset_L(job);
  const inward = inwardOf(which, curve);
  const slope = slopeNear(curve, edge, inward, span);
  // Under its stop the sender cannot tell litres apart: the lowest of them is shown there, the highest over the upper stop is not known.
  const lowest_L = Math.min(...fillRuns.runs[0]!.steps.map((s) => s.volume_L));
  // Full shows what its reading means, not what the stop means: the table would have to make up the difference, and be steeper there.
  const showsAt = (reading: number) =>
    shownEnd(which === "empty" ? Math.max(lowest_L, offset.offset_L) : volumeAt(curve, reading), shown);
  const late_L = (setting?.timeConstant_s ?? 0) * ground.burn_L_per_s;
  const tableFor = (reading: number) => blended(curve, which, reading, showsAt(reading));
  // Fuel under the pick-up is no fuel that an end could hide.
  const hiddenAt = (margin: number) => {
    const all_L = hidden(curve, fillRuns, edge, inward * margin);
    return which === "empty"
      ? Math.min(all_L, Math.max(0, volumeAt(curve, edge + inward * margin) - offset.offset_L))
      : all_L;
  };
  // A ladder hides whole levels or none, yet the display stops short of its end by what the curve holds up to there.
  const keptBack = (margin: number) =>
    Math.max(
      hiddenAt(margin),
      which === "full" ? hidden(curve, { ...fillRuns, fixedSteps: null }, edge, inward * margin) : 0,
    );
  const behind = motion && setting.order === "table-then-filter" ? behindAt(motion, setting) : null;
  const noisePart = behind ? behind.reach : filtered ? marginFor(sd, f0_Hz, aimed / 3600, 0.01) : 0;
  const need = behind ? noisePart : Math.hypot(noisePart, repeat);
  // What the display holds by itself, as long as the table is about as steep as the curve.
  const heldBeyond = (shown.step_L / 2 + deadband_L) / (slope * (1 + 1 / runOut));
  const held = behind ? 0 : Math.min(heldBeyond, need);
  // A falling level that still moves comes to 0 first by a move down, not by its mean.
  const lift_L = Math.max(0, ground.lift_L - firstBy * sd * slope);
  const dry =
    which === "empty"
      ? dryEnd(curve, fillRuns, job, shown, {
          edge,
          inward,
          slope,
          least: repeat,
          deadband_L,
          late_L,
          lift_L,
          behind: behind && {
            firstShown: behind.firstShown,
            most: hidingAtMost(mostHiddenDry * total_L, 0, mostTried * span, hiddenAt),
          },
        })
      : null;
  const carried = motion ? motion.laid[which].map((laid) => carry(laid, curve, setting)) : [];
  const worst = (rows: TablePoint[], end_L: number) =>
    Math.max(0, ...carried.map((c) => carriedFlickers(c, rows, end_L, deadband_L, shown)));
  const flickersAt = (margin: number) => {
    const reading = edge + inward * margin;
    return worst(tableFor(reading).rows, showsAt(reading));
  };
  const most_L = mostHidden * total_L;
  // Where 0 must come up is a chance, and goes to the nearest of the device's reading steps; what noise needs is rounded up to one.
  const nearest = dry ? dry.margin - 0.5 * latticeStep(edge, inward, curve, job) : 0;
  const unforced = Math.max(leastShare * span, nearest);
  const byNoise =
    fillRuns.fixedSteps && !behind
      ? Math.max(unforced, need - held)
      : hidingAtMost(most_L, unforced, Math.max(unforced, need - held), behind ? keptBack : hiddenAt);
  const calm = (margin: number) =>
    flickersAt(margin) <= carriedShare * wanted && (behind === null || behind.reached(margin));
  const least =
    (motion && beforeLevel(edge, inward, unforced, byNoise, ground, calm)) ||
    onLattice(byNoise, edge, inward, curve, job);
  // Further in while the carried motion still flickers too often, until too much would be hidden; then the stillest place.
  let recommended = least;
  if (motion && wanted > 0) {
    let best = flickersAt(least);
    const room = () => hiddenAt(recommended) < most_L;
    const step = Math.max(0.006 * span, latticeStep(edge, inward, curve, job));
    for (let margin = least + step; best > carriedShare * wanted && margin < 0.2 * span; margin += step) {
      const snapped = onLattice(margin, edge, inward, curve, job);
      if (hiddenAt(snapped) > most_L || !room()) break;
      const rate = flickersAt(snapped);
      if (rate < best - 0.05) [best, recommended] = [rate, snapped];
    }
  }
  return {
    edge,
    inward,
    noisePart,
    held,
    dry,
    recommended,
    flickersAt,
    flickersWith: (rows) => {
      const outer = inward > 0 ? rows[0]! : rows[rows.length - 1]!;
      return worst(rows, outer.volume_L);
    },
    hiddenAt,
    showsAt,
    tableFor,
    byFormula: (margin) =>
      behind ? null : filtered && sd > 0 ? 3600 * crossingsAt(margin + heldBeyond, sd, f0_Hz) : filtered ? 0 : null,
  };

  /** How the motion of the logs comes to the end through the table, before it is smoothed. */
  function behindAt(seen: NonNullable<Ground["motion"]>, { features, uses }: EndSetting): Behind {
    const unfiltered = filteredNoise(seen.logs, { timeConstant_s: 0, uses }).sd;
    const at = {
      ...travelOf(curve),
      samples: seen.samples(features),
      scale: evenScale(curve, job),
      edge,
      inward,
      dayShift: inward * repeat,
      end: which,
      step_L: shown.step_L,
      deadband_L,
      left: filtered && unfiltered > 0 ? filtered.sd / unfiltered : 1,
      late: late_L / slope,
      tableAt: (margin: number) => {
        const reading = edge + inward * margin;
        return { rows: tableFor(reading).rows, end_L: showsAt(reading) };
      },
    };
    return createBehind(at, firstBy, mostTried * span);
  }
}
