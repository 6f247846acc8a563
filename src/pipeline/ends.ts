/** Ends: how much is kept back at each end? Margins from the level-crossing rate of the filtered noise, and from replay at the end. */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { say } from "../said";
import type { Choices } from "./choices";
import type { Circuit } from "./circuit";
import type { Curve } from "./curve-types";
import { heldVolts } from "./deadband-in-volts";
import { leavesAndReturns } from "./device-counts";
import { replay } from "./device-model";
import { atDeviceRate } from "./device-record";
import type { TablePoint } from "./device-table";
import type { Display } from "./display";
import { type TooShort, tooShortForRates } from "./display-weigh";
import type { DriveLog } from "./drive-log";
import { groundOf, mostHidden } from "./end-ground";
import { planEnd } from "./end-margin";
import { carriedFlickers, carry, type End, type FaultLimits, filteredNoise } from "./end-replay";
import { looksLike, tooCoarse } from "./end-table";
import type { FillRuns } from "./fill-run";
import { readingSigns } from "./found-table";
import { type Job, unusableOffset_L } from "./job";
import { litresTo } from "./litres";
import type { Noise } from "./noise";
import { cutTable } from "./table";
import { byJob, mendedBy } from "./ways";

export interface EndMargin {
  /** The reading at which the device is told that this end is reached. */
  reading: number;
  margin: number;
  /** What the display is told to show there, litres since the start: a whole displayed step, so that the end lies in the middle of it. */
  shows_L: number;
  /** The reading from which on the table follows the curve: between the two it runs from what the end shows onto the curve. */
  meets: number;
  /** Usable litres between the sender's own end and this reading. */
  hidden_L: number;
  /** Empty end: chance that 0 has come up when the pick-up runs dry; null at the full end. */
  zeroInTime: number | null;
  flickersPerHour: number;
  /**
   * Where none was counted and the count is the evidence: all that is known then is a rate under three in the hours of it (95 %, methods part 6).
   * Null where one was counted, or where the formula speaks for what is rarer.
   */
  flickersUnder: number | null;
  parts: { part: string; value: number; why: string }[];
  /** Counted on the log where it stood at this end for long enough; else by formula and by the log's motion carried to this end. */
  evidence: "drive-log" | "fill-run";
  /**
   * Flickers an hour by the formula, and by the log's motion laid over a level that falls through this end; null without a log. No formula holds for
   * a device that smooths behind its table: null.
   */
  byFormula: number | null;
  carried: number | null;
  /** A wire fault that looks like this end: nothing in the device can tell them apart. */
  looksLike: "short" | "open" | null;
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
  zeroInTime: number | null;
  flickersPerHour: number;
}

export interface Ends {
  empty: EndMargin;
  full: EndMargin;
  /** Filtered noise that the margins stand on, reading unit. */
  filteredSd: number;
  /** Set where the log is too short to tell what a display does: what was counted and reckoned of flickers then tells nothing. */
  tooShort: TooShort | null;
  /** Usable litres under the sender's own stop, where they are worth telling: no margin hides them, and the display says 0 with them in the tank. */
  underStop_L?: number;
}

/** Share of the run's litres from which on what lies under the sender's stop is told. Named default, no source. */
const leastUnderStop = 0.01;

/** Rate that is shown by so many hours without an event: the 95 % limit of a Poisson count of 0 is −ln 0.05, about 3. */
export const underWithout = (hours: number): number => 3 / hours;

/** Name of the part of the empty margin that the dry pick-up asks for. */
export const dryPart = "0 before the pick-up runs dry";

/** Name of the part that motion asks for where the device smooths behind its table. */
const behindPart = "motion beyond the end row";

const noEffect: EndEffect = { reading: 0, margin: 0, hidden_L: 0, zeroInTime: null, flickersPerHour: 0 };

const remedyFor: Record<string, string> = {
  "filtered noise": "Mend what makes the noise (baffle, damping, wiring), smooth more, or widen the deadband.",
  [behindPart]: "Let the device smooth the reading, if it can, or mend what makes the motion (baffle, damping).",
  "day-to-day spread": "A second fill run tells how far readings really repeat.",
};

/** What would hide less at an end; a margin of one's own is mended where it was typed. */
function hidesLess(end: EndMargin, largest: string): Pick<Issue, "remedy" | "remedyOnCommandLine"> {
  if (end.overridden) return { remedy: "Make it smaller, or take what is recommended." };
  if (largest !== dryPart) return { remedy: remedyFor[largest]! };
  return mendedBy(
    byJob("in the job, under “How good it must be”", "targets.lateZeroRisk=SHARE"),
    (way) =>
      `Pour the first steps smaller, start the run when the pick-up has run dry, or allow 0 to come late on more days ${way}.`,
  );
}

/**
 * Sets both ends.
 *
 * A display that rounds to steps of q holds an end for q/2 by itself, and a deadband for its half-width more, as long as the table runs
 * on with the curve's own slope: so it is led onto the curve gently, and only what the filtered noise needs beyond that is kept back. Behind a
 * table no noise is filtered that the end row has not cut off: there the margin follows from the mean of the motion (`end-behind.ts`) and from replay.
 * The empty end moreover lies where 0 has come up before the pick-up runs dry: over the unusable volume by what is not known of the
 * level on a service day, lag, motion that the stop cuts off below, and deadband.
 *
 * @see Rice 1944/45 for the crossing rate; methods part 6.
 */
export function setEnds(
  curve: Curve,
  fillRuns: FillRuns,
  noise: Noise | null,
  display: Display | null,
  logs: DriveLog[] | null,
  circuit: Circuit | null,
  job: Job,
  choice: Choices["ends"],
  tableChoice: Choices["table"],
): Answer<Ends> {
  const limits: FaultLimits = { low: circuit?.faultLow ?? null, high: circuit?.faultHigh ?? null };
  const moving = logs && display && noise ? { logs, display } : null;
  const ground = groundOf(curve, fillRuns, noise, moving?.logs ?? null, limits, job);
  const { span, repeat, total_L, shown } = ground;
  const filtered = ground.motion && moving ? filteredNoise(ground.motion.logs, moving.display) : null;
  const wanted = job.targets.endFlickersPerHour;
  const deadband_L = display?.deadband_L ?? 0;
  const behind = moving?.display.order === "table-then-filter";
  const cautions: Issue[] = [];

  const oneEnd = (which: End): { at: (margin: number) => EndMargin; recommended: number; chosen: number } => {
    const plan = planEnd(which, ground, display);
    const { edge, inward, dry, recommended } = plan;
    const stated = which === "empty" ? choice.emptyMargin : choice.fullMargin;
    const at = (margin: number): EndMargin => {
      const reading = edge + inward * margin;
      return {
        reading,
        margin,
        shows_L: plan.showsAt(reading),
        meets: plan.tableFor(reading).meets,
        hidden_L: plan.hiddenAt(margin),
        zeroInTime: dry ? dry.chance(margin) : null,
        flickersPerHour: 0,
        flickersUnder: null,
        parts: [
          behind
            ? {
                part: behindPart,
                value: plan.noisePart,
                why: "the end row cuts it off before it is smoothed: the mean of the log's motion, cut off so, must lie within what the digit of the end holds, half a displayed step and the deadband counted, the end reading as on another day",
              }
            : {
                part: "filtered noise",
                value: plan.noisePart,
                why: filtered
                  ? `level-crossing rate, ${which === "full" ? "aimed at half of the wanted one, " : ""}and share of time off the end`
                  : "no drive log: not known",
              },
          {
            part: "day-to-day spread",
            value: repeat,
            why: "named default, no source: 0.4 % of the travel, at least one reading step",
          },
          ...(behind
            ? []
            : [
                {
                  part: "held by the displayed step and the deadband",
                  value: -plan.held,
                  why: "half a displayed step and the deadband hold the end by themselves",
                },
              ]),
          ...(dry
            ? [
                {
                  part: dryPart,
                  value: dry.margin,
                  why: `unusable volume, spread of a service day (0 may come late on ${fixed(100 * job.targets.lateZeroRisk, 0)} % of days), lag, what motion lifts the mean reading by near the stop, and deadband, less half a displayed step; counts by itself where it is larger`,
                },
              ]
            : []),
        ],
        evidence: "fill-run",
        byFormula: plan.byFormula(margin),
        carried: moving ? plan.flickersAt(margin) : null,
        looksLike: looksLike(edge, limits, circuit, curve),
        recommendedMargin: recommended,
        recommended: noEffect,
        overridden: stated !== null && stated !== recommended,
      };
    };
    return { at, recommended, chosen: stated ?? recommended };
  };

  const sides = { empty: oneEnd("empty"), full: oneEnd("full") };
  const empty = sides.empty.at(sides.empty.chosen);
  const full = sides.full.at(sides.full.chosen);
  const coarse = tooCoarse(curve, job);
  if (coarse)
    return stuck({
      code: "ends/coarse-readings",
      says: `The device is stated to take its table’s readings in steps of ${coarse.step} ${readingSigns[coarse.unit]}, and the sender’s whole travel is ${fixed(coarse.steps, 1)} of them: no table can be typed.`,
      ...mendedBy(
        byJob("in the job", "device.tableReadingStep=0.01"),
        (way) => `Correct the step, or the unit of the table’s readings, ${way}.`,
      ),
    });
  if (!((full.reading - empty.reading) * curve.sense > 0.5 * span))
    return stuck({
      code: "ends/no-travel",
      says: "The margins take up most of the sender’s travel.",
      remedy: "Smooth more, or make the margins smaller by hand.",
    });
  const filteredSd = filtered?.sd ?? 0;
  const tooShort = tooShortForRates(moving?.display.byLog ?? []);
  const underStop_L = Math.min(...curve.grid.map((g) => g.volume_L)) - unusableOffset_L(job).offset_L;
  const ends = {
    ...counted({ empty, full, filteredSd, tooShort }),
    ...(underStop_L > leastUnderStop * total_L && { underStop_L }),
  };
  const asRecommended =
    empty.overridden || full.overridden
      ? counted({
          empty: sides.empty.at(sides.empty.recommended),
          full: sides.full.at(sides.full.recommended),
          filteredSd,
          tooShort,
        })
      : ends;
  for (const which of ["empty", "full"] as const) {
    const { reading, margin, hidden_L, zeroInTime, flickersPerHour } = asRecommended[which];
    ends[which].recommended = { reading, margin, hidden_L, zeroInTime, flickersPerHour };
  }
  for (const which of ["empty", "full"] as const) {
    const end = ends[which];
    if (end.hidden_L <= mostHidden * total_L) continue;
    const largest = end.parts.filter((p) => p.value > 0).reduce((a, b) => (b.value > a.value ? b : a));
    const ladder = fillRuns.fixedSteps?.resolved && fillRuns.fixedSteps.height_L > 0.5 * mostHidden * total_L;
    cautions.push({
      code: "ends/much-hidden",
      says: say`At ${which} ${litresTo(end.hidden_L, 1)}, ${fixed((100 * end.hidden_L) / total_L, 1)} % of the run’s volume, is hidden: ${
        ladder
          ? say`one step of this sender stands for about ${litresTo(fillRuns.fixedSteps!.height_L, 1)}, and a step is hidden whole or not at all`
          : end.overridden
            ? "that is the margin you chose"
            : `most of it for ${largest.part}`
      }.`,
      ...(ladder ? { remedy: "Only a sender with finer steps hides less." } : hidesLess(end, largest.part)),
      weight: "note",
    });
  }
  if (tooShort)
    cautions.push({
      code: "ends/too-short",
      says: `The margins rest on a log that is too short: ${tooShort.file}, ${fixed(tooShort.driven_s, 0)} s of driving.`,
      remedy: "Bring ten minutes or more.",
      weight: "doubtful",
    });
  if (!filtered)
    cautions.push({
      code: "ends/no-drive-log",
      says: "Without a drive log the margins rest on the fill run alone; slosh may need more.",
      remedy: "Bring a drive log.",
      weight: "holds-if",
      condition: "the display is smoothed well",
    });
  return ready(ends, cautions);

  /** Counted with what will really be typed: the table is cut from these very ends. */
  function counted(set: Ends): Ends {
    const table = moving ? cutTable(curve, set, job, tableChoice) : null;
    if (!moving || table?.state !== "ready") return set;
    const rows = table.value.rows
      .map(({ reading, volume_L }) => ({ reading, volume_L }))
      .sort((a, b) => a.reading - b.reading);
    const one = (which: End): EndMargin => {
      const outer = (which === "empty") === curve.sense > 0 ? rows[0]! : rows[rows.length - 1]!;
      // As logged.
      const motion = carry(ground.motion!.laid[which][0]!, curve, moving.display);
      const carried = carriedFlickers(motion, rows, outer.volume_L, deadband_L, shown);
      const visits = visitsOf(moving.logs, moving.display, limits, rows, outer.volume_L);
      const evidence = visits.hours * wanted >= 3 ? "drive-log" : "fill-run";
      const flickersPerHour =
        evidence === "drive-log" ? visits.flickers / visits.hours : Math.max(set[which].byFormula ?? 0, carried);
      // Laid at several levels it is still the same motion: its own hours count.
      const hours =
        evidence === "drive-log" ? visits.hours : set[which].byFormula === null ? ground.motion!.hours : null;
      const flickersUnder = flickersPerHour === 0 && hours ? underWithout(hours) : null;
      return { ...set[which], carried, evidence, flickersPerHour, flickersUnder };
    };
    return { ...set, empty: one("empty"), full: one("full") };
  }

  /** Flickers seen on the logs while they really stand at this end, with the rows as typed. */
  function visitsOf(
    seen: DriveLog[],
    set: Display,
    fault: FaultLimits,
    rows: TablePoint[],
    end_L: number,
  ): { flickers: number; hours: number } {
    const sum = { flickers: 0, hours: 0 };
    const shows = Math.round((end_L - shown.offset_L) / shown.step_L) * shown.step_L + shown.offset_L;
    for (const log of seen) {
      const record = atDeviceRate(log, job.device.rate_Hz, fault.low, fault.high);
      const { shown_L } = replay(record, {
        order: set.order,
        timeConstant_s: set.timeConstant_s,
        deadband_L: set.deadband_L,
        deadbandKind: set.deadbandKind,
        faultLimits: set.uses.includes("fault-limits"),
        table: rows,
        shown,
        features: set.features,
        holds: heldVolts({ litres: set.deadband_L, volts: set.asked.deadband }, curve.readingUnit, job),
      });
      const { flickers, samples } = leavesAndReturns(shown_L, shows);
      sum.flickers += flickers;
      sum.hours += (samples * record.interval_s) / 3600;
    }
    return sum;
  }
}
