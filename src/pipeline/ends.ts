/** Ends: how much is kept back at each end? Margins from the level-crossing rate of the filtered noise, checked by replay. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { crossingRate, crossingsAt, marginFor } from "../math/crossings";
import { autocorrelation, lowPass } from "../math/filter";
import type { Choices } from "./choices";
import { type Curve, volumeAt } from "./curve";
import { atDeviceRate, believed, flickersPerHour, replay, shownAs } from "./device-model";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { FillRuns } from "./fill-run";
import { type Job, unusableOffset_L } from "./job";
import type { Noise } from "./noise";

export interface EndMargin {
  /** The reading at which the device is told that this end is reached. */
  reading: number;
  margin: number;
  /** What the display is told to show there, litres since the start: the lowest volume at the empty end, the highest at the full one. */
  shows_L: number;
  hidden_L: number;
  flickersPerHour: number;
  parts: { part: string; value: number; why: string }[];
  evidence: "drive-log" | "fill-run";
  recommendedMargin: number;
  /** What the recommended margin would do: the same as above unless another one was chosen. */
  recommended: EndEffect;
  overridden: boolean;
}

/** What a margin does to the driver. */
export interface EndEffect {
  reading: number;
  margin: number;
  hidden_L: number;
  flickersPerHour: number;
}

export interface Ends {
  empty: EndMargin;
  full: EndMargin;
  /** Filtered noise that the margins stand on, reading unit. */
  filteredSd: number;
}

/** Repeatability of an end from day to day, as a share of the travel; and the least margin kept in any case. Named defaults, no source. */
const repeatabilityShare = 0.004;
const leastShare = 0.003;
/** Most that a margin may hide, as a share of the tank. */
const mostHidden = 0.02;

/**
 * Sets both ends.
 *
 * A display that rounds to steps of q holds an end for q/2 by itself, and a deadband for its half-width more: only what the filtered
 * noise needs beyond that is kept back.
 *
 * @see Rice 1944/45 for the crossing rate; methods part 6.
 */
export function setEnds(
  curve: Curve,
  fillRuns: FillRuns,
  noise: Noise | null,
  display: Display | null,
  logs: DriveLog[] | null,
  job: Job,
  choice: Choices["ends"],
): Answer<Ends> {
  const span = Math.abs(curve.overall.fullReading - curve.overall.emptyReading);
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const filtered = logs && display && noise ? filteredNoise(logs, curve, display, job) : null;
  const rate = job.targets.endFlickersPerHour / 3600;
  const hold_L = shown.step_L / 2 + (display?.deadband_L ?? 0);
  const offset_L = unusableOffset_L(job).offset_L;
  const cautions: Issue[] = [];
  const oneEnd = (which: "empty" | "full"): EndMargin => {
    const zone = fillRuns.deadZones.find((d) => d.end === which);
    const edge = which === "empty" ? curve.overall.emptyReading : curve.overall.fullReading;
    // Zero must show before the pick-up runs dry: the empty end never lies below the unusable volume.
    const start = which === "empty" && offset_L > volumeAt(curve, edge) ? readingAt(curve, offset_L) : edge;
    const inward = (which === "empty" ? 1 : -1) * curve.sense;
    const slope = slopeNear(curve, start, inward, span);
    const noisePart = filtered ? marginFor(filtered.sd, filtered.f0_Hz, rate, 0.01) : 0;
    const repeat = Math.max(repeatabilityShare * span, fillRuns.readingStep);
    const need = Math.hypot(noisePart, repeat);
    const held = Math.min(hold_L / slope, need);
    let recommended = Math.max(leastShare * span, need - held);
    while (recommended > leastShare * span && hidden(curve, start, inward * recommended) > mostHidden * total_L)
      recommended *= 0.9;
    const stated = which === "empty" ? choice.emptyMargin : choice.fullMargin;
    const withMargin = (margin: number): EndEffect & { evidence: EndMargin["evidence"] } => {
      const reading = start + inward * margin;
      const visits = logs && display ? visitsOf(logs, curve, display, job, reading, which) : null;
      const evidence = visits && visits.hours * job.targets.endFlickersPerHour >= 3 ? "drive-log" : "fill-run";
      const beyond = (margin + hold_L / slope) / Math.max(filtered?.sd ?? repeat, 1e-12);
      const byFormula = filtered ? crossingsAt(beyond * filtered.sd, filtered.sd, filtered.f0_Hz) * 3600 : 0;
      return {
        reading,
        margin,
        hidden_L: hidden(curve, start, inward * margin),
        flickersPerHour: evidence === "drive-log" && visits ? visits.flickers / visits.hours : byFormula,
        evidence,
      };
    };
    const chosen = withMargin(stated ?? recommended);
    const overridden = stated !== null && stated !== recommended;
    const { evidence: _evidence, ...asRecommended } = overridden ? withMargin(recommended) : chosen;
    return {
      ...chosen,
      shows_L:
        which === "empty"
          ? Math.max(
              zone ? Math.min(...fillRuns.runs[0]!.steps.map((s) => s.volume_L)) : Math.max(0, volumeAt(curve, start)),
              job.device.shows === "usable" ? offset_L : 0,
            )
          : // The edge of a dead zone is where the curve meets the stop's reading: treated pours count there, written ones do not.
            volumeAt(curve, start),
      parts: [
        {
          part: "filtered noise",
          value: noisePart,
          why: filtered ? "level-crossing rate and share of time off the end" : "no drive log: not known",
        },
        {
          part: "day-to-day spread",
          value: repeat,
          why: "named default, no source: 0.4 % of the travel, at least one reading step",
        },
        {
          part: "held by the displayed step and the deadband",
          value: -held,
          why: "half a displayed step and the deadband hold the end by themselves",
        },
      ],
      recommendedMargin: recommended,
      recommended: asRecommended,
      overridden,
    };
  };
  const empty = oneEnd("empty");
  const full = oneEnd("full");
  if (!filtered)
    cautions.push({
      code: "ends/no-drive-log",
      says: "Without a drive log the margins rest on the fill run alone; slosh may need more.",
      remedy: "Bring a drive log.",
      weight: "holds-if",
      condition: "the display is smoothed well",
    });
  if (!((full.reading - empty.reading) * curve.sense > 0.5 * span))
    return stuck({
      code: "ends/no-travel",
      says: "The margins take up most of the sender's travel.",
      remedy: "Smooth more, or make the margins smaller by hand.",
    });
  return ready({ empty, full, filteredSd: filtered?.sd ?? 0 }, cautions);
}

/** Reading of a volume on the curve. */
function readingAt(curve: Curve, volume_L: number): number {
  const grid = curve.sense > 0 ? curve.grid : [...curve.grid].reverse();
  for (let i = 1; i < grid.length; i++) {
    const a = grid[i - 1]!;
    const b = grid[i]!;
    if (b.volume_L >= volume_L && b.volume_L > a.volume_L)
      return a.reading + ((volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
  }
  return grid[grid.length - 1]!.reading;
}

/** Litres per reading just inside an end. */
function slopeNear(curve: Curve, start: number, inward: number, span: number): number {
  const d = 0.02 * span;
  return Math.max(1e-9, Math.abs(volumeAt(curve, start + inward * d) - volumeAt(curve, start)) / d);
}

const hidden = (curve: Curve, start: number, step: number): number =>
  Math.abs(volumeAt(curve, start + step) - volumeAt(curve, start));

/** Filtered noise over the logs: standard deviation in the reading's unit, and its crossing rate at the display's updates. */
function filteredNoise(logs: DriveLog[], curve: Curve, display: Display, job: Job): { sd: number; f0_Hz: number } {
  let worst = { sd: 0, f0_Hz: 0 };
  for (const log of logs) {
    const record = atDeviceRate(log, job.device.rate_Hz, null, null);
    const filtered = lowPass(believed(record, display.uses.includes("fault-limits")), display.smoothingFactor);
    // What the trend alone would read is taken off through the curve itself.
    const expected = lowPass(
      record.trend_L.map((v) => readingAt(curve, v)),
      display.smoothingFactor,
    );
    const rest = filtered.map((v, i) => v - expected[i]!);
    const mean = rest.reduce((s, v) => s + v, 0) / rest.length;
    for (let i = 0; i < rest.length; i++) rest[i]! -= mean;
    const sd = Math.sqrt(rest.reduce((s, v) => s + v * v, 0) / rest.length);
    if (sd > worst.sd) worst = { sd, f0_Hz: crossingRate(autocorrelation(rest, 1), record.interval_s) };
  }
  return worst;
}

/** Flickers seen on the logs while they stand at this end. */
function visitsOf(
  logs: DriveLog[],
  curve: Curve,
  display: Display,
  job: Job,
  reading: number,
  which: "empty" | "full",
): { flickers: number; hours: number } {
  let flickers = 0;
  let hours = 0;
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const inside = curve.grid.filter((g) =>
    which === "empty" ? (g.reading - reading) * curve.sense > 0 : (reading - g.reading) * curve.sense > 0,
  );
  const end_L = volumeAt(curve, reading);
  const table = [
    ...inside.map((g) => ({ reading: g.reading, volume_L: g.volume_L })),
    { reading, volume_L: end_L },
  ].sort((a, b) => a.reading - b.reading);
  for (const log of logs) {
    const record = atDeviceRate(log, job.device.rate_Hz, null, null);
    const { shown_L } = replay(record, {
      timeConstant_s: display.timeConstant_s,
      deadband_L: display.deadband_L,
      deadbandKind: display.deadbandKind,
      faultLimits: display.uses.includes("fault-limits"),
      table,
      shown,
    });
    const seen = flickersPerHour(
      shown_L,
      Math.round((end_L - shown.offset_L) / shown.step_L) * shown.step_L + shown.offset_L,
      record.interval_s,
    );
    if (seen) {
      flickers += seen.flickers;
      hours += seen.hours;
    }
  }
  return { flickers, hours };
}
