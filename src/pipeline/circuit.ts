/**
 * Circuit: does the circuit show the whole travel? Divider, span, bend, heat, fault limits, the error of one reading.
 *
 * Takes what the job states and, if there is one, the fill run. Whatever the readings themselves show is preferred to
 * the statement: working ends come from the run, and the two are held against each other.
 */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import {
  dividerBend,
  dividerBendAt,
  dividerOhms,
  dividerSlope,
  dividerSpan,
  dividerVolts,
  senderHeat,
  widestPullUp,
} from "../math/divider";
import { preferredBetween } from "../math/preferred-values";
import { compareEnds, type MeasuredEnds } from "./circuit-signature";
import type { FillRuns } from "./fill-run";
import { type GaugeMatch, matchGauge } from "./gauge-match";
import type { Job } from "./job";

export interface PullUpOption {
  pullUpOhms: number;
  series: "E24" | "E96";
  spanVolts: number;
  bend_fraction: number;
  senderHeat_W: number;
  shortCircuit_A: number;
  /** Worst over the range: litres that the stated reading noise means. */
  worstNoise_L: number | null;
}

export interface Circuit {
  kind: "pull-up" | "converter" | "none";
  emptyVolts: number | null;
  fullVolts: number | null;
  spanVolts: number | null;
  /** Largest error of a straight line through both ends: fraction of the span, litres, and where. */
  twoPointBend_fraction: number | null;
  twoPointBend_L: number | null;
  bendAt_ohm: number | null;
  senderHeat_W: number | null;
  shortCircuit_A: number | null;
  bestPullUps: PullUpOption[];
  /** The whole trade over the series E24, for the figure; empty where no pull-up applies. */
  trade: PullUpOption[];
  /** Volts over travel, empty to full, and the straight line beside; null where no pull-up applies. */
  travel: { fraction: number[]; volts: number[] } | null;
  /** Readings outside are believed to be faults, in the reading's unit. */
  faultLow: number | null;
  faultHigh: number | null;
  faultLowVolts: number | null;
  faultHighVolts: number | null;
  /** From the working end to the fault limit, reading unit; null with the limit. */
  faultMargins: { low: number | null; high: number | null };
  /** What one reading may be wrong by, part by part (standard uncertainties). `cancels`: constant, so inside the curve. */
  budget: {
    part: string;
    standard_V: number | null;
    standard_ohm: number | null;
    standard_L: number | null;
    cancels: boolean;
    why: string;
  }[];
  /** Measured ends against prediction. */
  measured: MeasuredEnds | null;
  gaugeMatch: GaugeMatch | null;
  runningShift: null;
}

/** No noise is known: the budget and the trade are then in proportion only. */
const root3 = Math.sqrt(3);
/** Supply of a circuit that is not ratiometric, at most ± this share. Named default, no source. */
const supplyLimit = 0.01;
/** A multimeter's ohms, at most ± this share of the reading. Named default, no source; the meter's own sheet is better. */
const meterLimit = 0.01;
/** Fault limits stand this share of the span outside the working ends, but never past half-way to the rail. Named default, no source. */
const faultRoom = 0.15;
/** Least share of the span between a working end and a rail to tell the two apart. Named default, no source. */
const leastRoom = 0.02;

/** @returns stuck `circuit/not-stated` when the job names neither sender resistances nor a pull-up nor a fill run. */
export function checkCircuit(job: Job, fillRuns: FillRuns | null): Answer<Circuit> {
  const { pullUpOhms, supplyVolts, kind, groundOffsetVolts } = job.circuit;
  const stated = job.sender.emptyOhms !== null && job.sender.fullOhms !== null;
  if (!fillRuns && !stated && pullUpOhms === null)
    return stuck({
      code: "circuit/not-stated",
      says: "Neither the sender's resistances nor the pull-up are stated, and there is no fill run to read them from.",
      remedy: "Measure the sender in ohms at both ends of its travel and note the pull-up, or bring in a fill run.",
    });
  const cautions: Issue[] = [];
  const ends = fillRuns ? workingEnds(fillRuns) : null;
  const ohms = senderEnds(job, ends, fillRuns);
  const litres = job.tank.capacity_L ?? fillRuns?.total_L ?? null;
  const divides = kind === "pull-up" && pullUpOhms !== null && supplyVolts !== null && ohms !== null;
  const noise_V = fillRuns ? readingNoise_V(job, fillRuns) : null;

  let facts: Pick<
    Circuit,
    | "emptyVolts"
    | "fullVolts"
    | "spanVolts"
    | "twoPointBend_fraction"
    | "twoPointBend_L"
    | "bendAt_ohm"
    | "senderHeat_W"
    | "shortCircuit_A"
    | "bestPullUps"
    | "trade"
    | "travel"
  > = {
    emptyVolts: fillRuns?.readingUnit === "V" ? (ends?.empty ?? null) : null,
    fullVolts: fillRuns?.readingUnit === "V" ? (ends?.full ?? null) : null,
    spanVolts: fillRuns?.readingUnit === "V" && ends ? Math.abs(ends.full - ends.empty) : null,
    twoPointBend_fraction: null,
    twoPointBend_L: null,
    bendAt_ohm: null,
    senderHeat_W: null,
    shortCircuit_A: null,
    bestPullUps: [],
    trade: [],
    travel: null,
  };
  if (divides) {
    const [least, most] = [Math.min(ohms.empty, ohms.full), Math.max(ohms.empty, ohms.full)];
    const option = (pullUp: number, series: "E24" | "E96"): PullUpOption => ({
      pullUpOhms: pullUp,
      series,
      spanVolts: dividerSpan(least, most, pullUp, supplyVolts),
      bend_fraction: dividerBend(least, most, pullUp),
      senderHeat_W: senderHeat(least, most, pullUp, supplyVolts),
      shortCircuit_A: supplyVolts / pullUp,
      // A straight sender: litres an ohm are the same everywhere, volts an ohm are fewest at the most ohms.
      worstNoise_L:
        litres !== null && noise_V !== null
          ? ((noise_V / dividerSlope(most, pullUp, supplyVolts)) * litres) / (most - least)
          : null,
    });
    const trade = preferredBetween(Math.max(10, most / 20), Math.max(20, most * 8), "E24").map((p) => option(p, "E24"));
    // Worst-level noise goes with (most + Rp)²/Rp: least at Rp = most, whatever the noise is.
    const worst = (o: PullUpOption) => (most + o.pullUpOhms) ** 2 / o.pullUpOhms;
    const best = [...trade].sort((a, b) => worst(a) - worst(b)).slice(0, 5);
    const bend = dividerBend(least, most, pullUpOhms);
    const at = (f: number) => dividerVolts(ohms.empty + f * (ohms.full - ohms.empty), pullUpOhms, supplyVolts);
    const fraction = Array.from({ length: 51 }, (_, i) => i / 50);
    facts = {
      emptyVolts: at(0),
      fullVolts: at(1),
      spanVolts: dividerSpan(least, most, pullUpOhms, supplyVolts),
      twoPointBend_fraction: bend,
      twoPointBend_L: litres === null ? null : bend * litres,
      bendAt_ohm: dividerBendAt(least, most, pullUpOhms),
      senderHeat_W: senderHeat(least, most, pullUpOhms, supplyVolts),
      shortCircuit_A: supplyVolts / pullUpOhms,
      bestPullUps: best,
      trade,
      travel: { fraction, volts: fraction.map(at) },
    };
    const narrow = facts.spanVolts! / supplyVolts;
    if (narrow < 0.15)
      cautions.push({
        code: "circuit/narrow-span",
        says: `The whole travel moves the reading by ${fixed(facts.spanVolts!, 2)} V of ${fixed(supplyVolts, 1)} V: much of the converter's range stays unused.`,
        remedy: `A pull-up near ${fixed(widestPullUp(Math.max(least, 1), most), 0)} to ${fixed(most, 0)} Ω shows more.`,
        weight: "note",
      });
    cautions.push({
      code: "circuit/heat-is-no-safety",
      says: "Heat and current stand for the circuit as stated, inside a fuel tank. A fault can put battery voltage there, so they prove no safety.",
      remedy: "Fuse the wire, and follow your local code and licensed practice.",
      weight: "note",
    });
  }
  if (kind === "converter")
    cautions.push({
      code: "circuit/converter",
      says: "A sender with its own converter has no pull-up, bend or heat to look at; it must be filled with the fuel that it will serve.",
      weight: "note",
    });

  const limits = faultLimits(job, ends, facts, fillRuns);
  cautions.push(...limits.cautions);
  const measured =
    divides && stated && ends && fillRuns?.readingUnit === "V"
      ? compareEnds(
          { empty: ends.empty, full: ends.full },
          { empty: job.sender.emptyOhms!, full: job.sender.fullOhms! },
          pullUpOhms,
          supplyVolts,
          groundOffsetVolts ?? 0,
          ends.whole,
        )
      : null;
  if (measured && measured.signature !== "as-stated" && measured.signature !== "part-travel")
    cautions.push({
      code: `circuit/${measured.signature}`,
      says: measured.says,
      remedy: "Check the wiring and what the job states before you type anything in.",
      weight: measured.signature === "sender-differs" ? "note" : "doubtful",
    });
  const { gaugeEmptyOhms, gaugeFullOhms } = job.sender;
  const gaugeMatch =
    ohms !== null && gaugeEmptyOhms !== null && gaugeFullOhms !== null && gaugeEmptyOhms !== gaugeFullOhms
      ? matchGauge(ohms.empty, ohms.full, gaugeEmptyOhms, gaugeFullOhms)
      : null;
  return ready(
    {
      kind,
      ...facts,
      ...limits.values,
      budget: readingBudget(job, ohms, litres, fillRuns, noise_V),
      measured,
      gaugeMatch,
      runningShift: null,
    },
    cautions,
  );
}

interface Ends {
  empty: number;
  full: number;
  low: number;
  high: number;
  standard: number;
  /** The run went over (nearly) the whole tank. */
  whole: boolean;
}

/** Readings at the least and the most litres, and the lowest and highest of all that stand on the run. */
function workingEnds(fillRuns: FillRuns): Ends | null {
  const steps = fillRuns.runs.flatMap((r) => r.steps);
  if (steps.length < 2) return null;
  const byVolume = [...steps].sort((a, b) => a.volume_L - b.volume_L);
  const first = byVolume[0]!;
  const last = byVolume[byVolume.length - 1]!;
  // The ends of a run are as monotone as the sender: a single odd reading inside must not widen the fault limits.
  const low = Math.min(first.reading, last.reading);
  const high = Math.max(first.reading, last.reading);
  const errors = steps.map((s) => s.standardError).sort((a, b) => a - b);
  return {
    empty: first.reading,
    full: last.reading,
    low,
    high,
    standard: Math.max(errors[errors.length >> 1]!, fillRuns.readingStep / Math.sqrt(12)),
    whole: fillRuns.capacity_L === null || fillRuns.total_L >= 0.93 * fillRuns.capacity_L,
  };
}

/** Sender's ohms at both ends: as stated, else as read in ohms, else back through the divider. */
function senderEnds(job: Job, ends: Ends | null, fillRuns: FillRuns | null): { empty: number; full: number } | null {
  const { emptyOhms, fullOhms } = job.sender;
  if (emptyOhms !== null && fullOhms !== null)
    return emptyOhms === fullOhms ? null : { empty: emptyOhms, full: fullOhms };
  if (!ends || !fillRuns) return null;
  if (fillRuns.readingUnit === "ohm") return { empty: ends.empty, full: ends.full };
  const { pullUpOhms, supplyVolts, kind } = job.circuit;
  if (fillRuns.readingUnit !== "V" || kind !== "pull-up" || pullUpOhms === null || supplyVolts === null) return null;
  const empty = dividerOhms(ends.empty, pullUpOhms, supplyVolts);
  const full = dividerOhms(ends.full, pullUpOhms, supplyVolts);
  return Number.isFinite(empty) && Number.isFinite(full) && empty >= 0 && full >= 0 && empty !== full
    ? { empty, full }
    : null;
}

/** Typical standard error of a reading at rest, in volts; null where volts are not known. */
function readingNoise_V(job: Job, fillRuns: FillRuns): number | null {
  const perUnit = voltsPerUnit(job, fillRuns.readingUnit);
  const errors = fillRuns.runs.flatMap((r) => r.steps.map((s) => s.standardError)).sort((a, b) => a - b);
  if (perUnit === null || errors.length === 0) return null;
  return Math.max(errors[errors.length >> 1]!, fillRuns.readingStep / Math.sqrt(12)) * perUnit;
}

/** Volts in one of the reading's unit; null where the job does not say (volts are never invented). */
function voltsPerUnit(job: Job, unit: FillRuns["readingUnit"]): number | null {
  if (unit === "V") return 1;
  const { adcBits, supplyVolts, ratiometric } = job.circuit;
  return unit === "count" && adcBits !== null && supplyVolts !== null && ratiometric
    ? supplyVolts / 2 ** adcBits
    : null;
}

function faultLimits(
  job: Job,
  ends: Ends | null,
  facts: Pick<Circuit, "emptyVolts" | "fullVolts">,
  fillRuns: FillRuns | null,
): {
  values: Pick<Circuit, "faultLow" | "faultHigh" | "faultLowVolts" | "faultHighVolts" | "faultMargins">;
  cautions: Issue[];
} {
  const none = {
    faultLow: null,
    faultHigh: null,
    faultLowVolts: null,
    faultHighVolts: null,
    faultMargins: { low: null, high: null },
  };
  const unit = fillRuns?.readingUnit ?? "V";
  const { pullUpOhms, supplyVolts, kind, adcBits } = job.circuit;
  let low = ends?.low ?? null;
  let high = ends?.high ?? null;
  if (facts.emptyVolts !== null && facts.fullVolts !== null && unit === "V") {
    const a = Math.min(facts.emptyVolts, facts.fullVolts);
    const b = Math.max(facts.emptyVolts, facts.fullVolts);
    const span = b - a;
    // The stated travel widens the measured one where both agree about; a wrong statement must not.
    if (low === null || high === null) [low, high] = [a, b];
    else {
      if (Math.abs(a - low) < 0.1 * span || !ends!.whole) low = Math.min(low, a);
      if (Math.abs(b - high) < 0.1 * span || !ends!.whole) high = Math.max(high, b);
    }
  }
  if (low === null || high === null || !(low < high)) return { values: none, cautions: [] };
  const lowRail = 0;
  const highRail =
    unit === "ohm"
      ? Number.POSITIVE_INFINITY
      : unit === "count"
        ? adcBits !== null
          ? 2 ** adcBits - 1
          : null
        : kind === "pull-up"
          ? supplyVolts
          : null;
  const span = high - low;
  const least = Math.max(leastRoom * span, 6 * (ends?.standard ?? 0));
  const room = (gap: number) => (gap >= least ? Math.min(faultRoom * span, gap / 2) : null);
  const below = room(low - lowRail);
  const above = highRail === null ? faultRoom * span : room(highRail - high);
  const faultLow = below === null ? null : low - below;
  const faultHigh = above === null ? null : high + above;
  const cautions: Issue[] = [];
  const name = unit === "ohm" ? "Ω" : unit === "count" ? "counts" : "V";
  const digits = unit === "V" ? 2 : 0;
  if (faultLow === null)
    cautions.push({
      code: "circuit/short-looks-like-an-end",
      says: `The sender's own end reads ${fixed(low, digits)} ${name}, so a short circuit cannot be told from it and no lower fault limit is set.`,
      weight: "note",
    });
  if (faultHigh === null)
    cautions.push({
      code: "circuit/open-looks-like-an-end",
      says: `The sender's own end reads ${fixed(high, digits)} ${name}, so a broken wire cannot be told from it and no upper fault limit is set.`,
      weight: "note",
    });
  const toVolts = (x: number | null): number | null => {
    if (x === null) return null;
    if (unit === "ohm")
      return kind === "pull-up" && pullUpOhms !== null && supplyVolts !== null
        ? dividerVolts(x, pullUpOhms, supplyVolts)
        : null;
    const per = voltsPerUnit(job, unit);
    return per === null ? null : x * per;
  };
  return {
    values: {
      faultLow,
      faultHigh,
      faultLowVolts: toVolts(faultLow),
      faultHighVolts: toVolts(faultHigh),
      faultMargins: { low: below, high: above },
    },
    cautions,
  };
}

/** Parts of the error of one reading at mid travel. Constant parts are inside a curve that was read through the same circuit. */
function readingBudget(
  job: Job,
  ohms: { empty: number; full: number } | null,
  litres: number | null,
  fillRuns: FillRuns | null,
  noise_V: number | null,
): Circuit["budget"] {
  const { pullUpOhms, pullUpLimit, supplyVolts, ratiometric, adcBits, groundOffsetVolts, kind } = job.circuit;
  const inOhms = (fillRuns?.readingUnit ?? job.readingUnit) === "ohm";
  const perOhm_L = ohms && litres !== null ? litres / Math.abs(ohms.full - ohms.empty) : null;
  const rows: Circuit["budget"] = [];
  const middle = ohms ? (ohms.empty + ohms.full) / 2 : null;
  if (inOhms && middle !== null) {
    const u = (meterLimit * middle) / root3;
    rows.push({
      part: "multimeter",
      standard_V: null,
      standard_ohm: u,
      standard_L: perOhm_L === null ? null : u * perOhm_L,
      cancels: false,
      why: `at most ± ${meterLimit * 100} % of the reading, over √3 (named default, no source)`,
    });
  }
  if (kind !== "pull-up" || pullUpOhms === null || supplyVolts === null || middle === null) return rows;
  const slope = dividerSlope(middle, pullUpOhms, supplyVolts);
  const add = (part: string, standard_V: number, cancels: boolean, why: string) =>
    rows.push({
      part,
      standard_V,
      standard_ohm: standard_V / slope,
      standard_L: perOhm_L === null ? null : (standard_V / slope) * perOhm_L,
      cancels: cancels && !inOhms,
      why,
    });
  add(
    "pull-up",
    (((supplyVolts * middle) / (middle + pullUpOhms) ** 2) * (pullUpOhms * pullUpLimit)) / root3,
    true,
    `at most ± ${fixed(100 * pullUpLimit, 1)} %, over √3`,
  );
  if (!ratiometric)
    add(
      "supply",
      (dividerVolts(middle, pullUpOhms, supplyVolts) * supplyLimit) / root3,
      false,
      `at most ± ${supplyLimit * 100} %, over √3 (named default, no source); its changes count, its constant part is inside the curve`,
    );
  if (groundOffsetVolts !== null)
    add("ground", (Math.abs(groundOffsetVolts) * pullUpOhms) / (middle + pullUpOhms), true, "as stated, in full");
  if (adcBits !== null) add("converter step", supplyVolts / 2 ** adcBits / Math.sqrt(12), false, "step over √12");
  if (noise_V !== null && !inOhms) add("reading at rest", noise_V, false, "median standard error of the steps");
  return rows;
}
