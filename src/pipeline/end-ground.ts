/** End ground: what both ends stand on, whatever the display is set to; made once and asked by every setting that is weighed. */
import type { Features } from "./device-features";
import { type Shown, shownAs } from "./device-table";
import { liftNearEmpty, type MotionSample, type Moving, type MovingLog, motionSamples, movingOf } from "./end-motion";
import { type End, type EndCurve, type FaultLimits, type Laid, layAt } from "./end-replay";
import type { EndJob, EndRuns } from "./end-table";
import { unusableOffset_L } from "./job";

/** Repeatability of an end from day to day, as a share of the travel. Named default, no source. */
const repeatabilityShare = 0.004;
/** Most that a margin may hide against flicker, as a share of the tank. */
export const mostHidden = 0.025;
/**
 * A margin is to hold for drives whose motion is so many times the log's (named default, no source), the worst of them counting: more motion
 * is not always more flicker, as what is cut off at the stop draws the filtered reading inward.
 */
const rougher = 1.2;
const roughness = [1, rougher];
/** What both ends stand on, whatever the display is set to. */
export interface Ground {
  curve: EndCurve;
  fillRuns: EndRuns;
  job: EndJob;
  limits: FaultLimits;
  shown: Shown;
  /** The sender's travel, and what an end repeats within from day to day: reading unit. */
  span: number;
  repeat: number;
  total_L: number;
  /** Litres from an end inward within which its digit turns: what a margin may hide, a step and a half, one step of a ladder. */
  reach_L: number;
  burn_L_per_s: number;
  /** Litres by which the mean reading on the road stands high when the pick-up runs dry: no filter removes it. */
  lift_L: number;
  /** Readings and motion of the logs; null without a log. */
  motion: {
    logs: Moving[];
    laid: Record<End, Laid[]>;
    /** The motion that comes to the table of a device that smooths behind it. */
    samples(features: Features): MotionSample[];
    /** Of all logs together. */
    hours: number;
  } | null;
}

export function groundOf(
  curve: EndCurve,
  fillRuns: EndRuns,
  noise: { turningBias_L: number | null } | null,
  logs: MovingLog[] | null,
  limits: FaultLimits,
  job: EndJob,
): Ground {
  const span = Math.abs(curve.overall.fullReading - curve.overall.emptyReading);
  const repeat = Math.max(repeatabilityShare * span, fillRuns.readingStep);
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const reach_L = mostHidden * total_L + 1.5 * shown.step_L + (fillRuns.fixedSteps?.height_L ?? 0);
  let sampled: { features: Features; samples: MotionSample[] } | null = null;
  const turning_L = noise?.turningBias_L ?? 0;
  const moving = logs && movingOf(logs, curve, limits, job);
  const lay = (which: End, seen: Moving[]) =>
    layAt(which, seen, curve, job, inwardOf(which, curve) * repeat, reach_L, roughness);
  return {
    curve,
    fillRuns,
    job,
    limits,
    shown,
    span,
    repeat,
    total_L,
    reach_L,
    burn_L_per_s: Math.max(0, ...(logs ?? []).map((l) => l.burn_L_per_h)) / 3600,
    lift_L: moving ? liftNearEmpty(unusableOffset_L(job).offset_L, turning_L, moving, curve, job) : 0,
    motion: moving && {
      logs: moving,
      laid: { empty: lay("empty", moving), full: lay("full", moving) },
      hours: moving.reduce((sum, { record }) => sum + (record.reading.length * record.interval_s) / 3600, 0),
      samples(features) {
        if (sampled?.features !== features)
          sampled = { features, samples: motionSamples(turning_L, moving, curve, job, features, rougher) };
        return sampled.samples;
      },
    },
  };
}

/** +1 or −1: where from an end the travel lies, in readings. */
export const inwardOf = (which: End, curve: EndCurve): number => (which === "empty" ? 1 : -1) * curve.sense;
