/** Tilt: how much does the reading lean with sustained acceleration, and does the course turn one way on the whole? */
import { fixed } from "../format";
import { lowPass, smoothingFactor } from "../math/filter";
import { createStaticGains, type StaticGains } from "../math/static-gain";
import { type CurveDoubt, weighedStandard_L } from "./curve-doubt";
import type { DriveColumns, DriveLog } from "./drive-log";
import { unfit } from "./even-samples";
import { longestOf } from "./floor-of-log";
import { MARK } from "./marks";

/** Seconds over which acceleration is smoothed: what is quicker is slosh. Named default, no source. */
const sustained_s = 2;
/** Seconds that make one sample of the regression, of one piece of the log, and the fewest pieces. Named defaults, no source. */
const sample_s = 0.5;
const piece_s = 60;
const fewestPieces = 6;
/** A piece in which more of the rows stand at an end of the sender is left out whole: rows left out one by one would leave out what leans that way. */
const mostAtEnd = 0.03;
/** Standard uncertainty, a share of the slope, of taking for straight what bends: surface, walls, sender. It made the interval true on simulated drives. */
const bentShare = 0.03;
/** A reading refreshed more seldom follows no acceleration, hertz. Named default, no source. */
const leastRefresh_Hz = 0.4;

export interface Tilt {
  /** The axis along which the sender leans more, litres per g on it, and half of the 95 % interval over 1.96: scatter, the curve's slope, what bends. */
  told: { axis: "along" | "across"; perG: number; standard: number } | null;
  /** Why that cannot be told. */
  why: string | null;
  /** Standard deviation of the volume that goes with sustained acceleration on both axes, litres. */
  sd_L: number;
  bias_L: number | null;
  biasStandard_L: number | null;
  /** Why the mean sideways acceleration is not taken for turns that go one way, though it leans; null where it is, or leans nowhere. */
  whyNoTurning: string | null;
}

/** How well a turning course's mean error is known, as a share of it: told right within half on most simulated courses. */
export const turningShare = 0.27;

/** No course turns so hard on average: the axis carries a part of gravity. Named default, no source. */
const mostTurning_g = 0.7;
/** A mean of which this share stands there while the vehicle is parked is of the mounting, or of the ground it stands on; and the least rows that tell. Named defaults, no source. */
const parkedShare = 0.5;
const leastParked_s = 10;

/** What of a log tells its tilt, whatever the curve: the accelerations, and what lags of them can explain of an output. */
export interface TiltGround {
  axes: { axis: "along" | "across"; g: Float64Array }[];
  gainsOn(output: Float64Array): StaticGains;
  /** The reading at each sample of the regression. */
  reading: Float64Array;
  /** Rows a sample, and seconds. */
  each: number;
  interval_s: number;
  /** Whether enough of the log stands clear of the sender's ends. */
  isClear: boolean;
  /** Mean sideways acceleration while the vehicle is parked; null where none was logged, or it never stands for long. */
  parkedAcross_g: number | null;
}

/** What is looked at: plain data, so that a log that says the same is not looked at again. */
export type TiltSamples = Pick<DriveColumns, "along_g" | "across_g" | "speed_kmh" | "mark" | "even"> &
  Pick<DriveLog, "sampleRate_Hz" | "refreshRate_Hz">;

/** Of the log that gives the spectrum. */
export function tiltSamples(logs: DriveLog[]): TiltSamples {
  const { columns, sampleRate_Hz, refreshRate_Hz } = longestOf(logs);
  const { along_g, across_g, speed_kmh, mark, even } = columns;
  return { along_g, across_g, speed_kmh, mark, even, sampleRate_Hz, refreshRate_Hz };
}

/** @returns null where no acceleration was logged; in words why nothing can be told of it. */
export function tiltGround(samples: TiltSamples): TiltGround | null | { why: string } {
  const { along_g, across_g, mark: marks, even, sampleRate_Hz: rate_Hz, refreshRate_Hz } = samples;
  if (!along_g && !across_g) return null;
  if (refreshRate_Hz < leastRefresh_Hz) return { why: "the reading is refreshed too seldom to follow it" };
  const each = Math.max(1, Math.round(rate_Hz * sample_s));
  const interval_s = each / rate_Hz;
  const n = Math.floor(even.reading.length / each);
  const axes = (["along", "across"] as const).flatMap((axis) => {
    const column = axis === "along" ? along_g : across_g;
    if (!column) return [];
    const g = sampleMeans(blanksAsRest(column.subarray(even.first)), n, each);
    return spreadOf(g) > 1e-6 ? [{ axis, g }] : [];
  });
  if (axes.length === 0) return { why: "the acceleration logged stands still" };
  const mark = marks.subarray(even.first);
  const good = sampleCounts(mark, n, each, unfit).map((count) => (each - count) / each);
  const atEnd = sampleCounts(mark, n, each, MARK.atEnd).map((count) => count / each);
  const anywhere = piecesOf(n, interval_s, (from, to) => meanOf(good, from, to) > 0.5);
  if (anywhere.length < fewestPieces) return { why: `it takes ${fewestPieces} minutes of good readings` };
  const clear = anywhere.filter(([from, to]) => meanOf(atEnd, from, to) <= mostAtEnd);
  const isClear = clear.length >= fewestPieces;
  const gainsOn = createStaticGains(
    axes.map(({ g }) => g),
    Uint8Array.from(good, (share) => (share > 0.5 ? 1 : 0)),
    isClear ? clear : anywhere,
    interval_s,
  );
  if (!gainsOn) return { why: "the accelerations along and across go together too closely" };
  const parkedAcross_g = across_g && samples.speed_kmh ? parkedMean(across_g, samples.speed_kmh, rate_Hz) : null;
  return { axes, gainsOn, reading: sampleMeans(even.reading, n, each), each, interval_s, isClear, parkedAcross_g };
}

function parkedMean(g: Float64Array, speed_kmh: Float64Array, rate_Hz: number): number | null {
  let sum = 0;
  let rows = 0;
  for (let i = 0; i < g.length; i++)
    if (speed_kmh[i]! <= 1 && !Number.isNaN(g[i]!)) {
      sum += g[i]!;
      rows++;
    }
  return rows >= leastParked_s * rate_Hz ? sum / rows : null;
}

/** Why a mean sideways acceleration is none of turns; null where nothing speaks against that. */
function notOfTurns(mean_g: number, parked_g: number | null): string | null {
  if (Math.abs(mean_g) > mostTurning_g)
    return `the sideways acceleration averages ${fixed(mean_g, 2)} g, so that its axis carries gravity`;
  if (parked_g !== null && parked_g * mean_g > 0 && Math.abs(parked_g) > parkedShare * Math.abs(mean_g))
    return `the sideways acceleration averages ${fixed(mean_g, 2)} g, and ${fixed(parked_g, 2)} g already while the vehicle stands: it is mounted at an angle, or stood on a slope`;
  return null;
}

/**
 * Litres per g on both axes at once by regression on lagged accelerations (`math/static-gain.ts`), and the bias of a net turning direction.
 * @param moved_L what each good reading is worth, less the burn trend. @param doubt how well the curve is known; null for a table found in a device.
 * @returns null where no acceleration was logged. Where much of the log stands at an end of the sender, what its readings do there is no lean of the
 *   surface: then only the bias and the share of the motion are told, which are of the readings.
 */
export function tiltOf(
  ground: ReturnType<typeof tiltGround>,
  moved_L: Float64Array,
  doubt: CurveDoubt | null,
): Tilt | null {
  if (ground === null) return null;
  if ("why" in ground) return untold(ground.why);
  const { axes, reading, each, interval_s, isClear } = ground;
  const found = ground.gainsOn(sampleMeans(moved_L, reading.length, each));
  const alpha = smoothingFactor(sustained_s, interval_s);
  const fits = found.gains.map((gain, k) => {
    const { axis, g } = axes[k]!;
    const ofCurve = doubt ? weighedStandard_L(doubt, reading, gain.influence) : 0;
    const channel = lowPass(g, alpha);
    const mean = takeMean(channel);
    return {
      axis,
      b: gain.gain,
      scatter: gain.standard,
      standard: Math.hypot(gain.standard, ofCurve, bentShare * gain.gain),
      sd_L: Math.abs(gain.gain) * spreadOf(channel),
      mean,
      bias: gain.gain * mean,
      // A mean that chance alone could leave is no turning direction.
      leans: leansOneWay(channel, mean, 1 / interval_s),
    };
  });
  const best = fits.reduce((a, f) => (f.sd_L > a.sd_L ? f : a));
  const across = fits.find((f) => f.axis === "across") ?? null;
  // The curve's doubt scales a lean and makes none: whether there is one is for the scatter to say.
  const leaning = across?.leans && Math.abs(across.b) > 2 * across.scatter ? across : null;
  const whyNoTurning = leaning ? notOfTurns(leaning.mean, ground.parkedAcross_g) : null;
  const leans = whyNoTurning === null ? leaning : null;
  return {
    told: isClear ? { axis: best.axis, perG: best.b, standard: best.standard } : null,
    why: isClear ? null : `under ${fewestPieces} minutes of the log stand clear of the sender’s ends`,
    sd_L: spreadOf(found.followed),
    bias_L: leans ? leans.bias : null,
    // The mean follows a slope that was learnt from what goes to and fro about it: the scatter alone would tell it too well.
    biasStandard_L: leans ? Math.max(Math.abs(leans.mean) * leans.standard, turningShare * Math.abs(leans.bias)) : null,
    whyNoTurning,
  };
}

/** Means of `each` rows, `n` of them. */
function sampleMeans(column: Float64Array, n: number, each: number): Float64Array {
  const out = new Float64Array(n);
  for (let k = 0, i = 0; k < n; k++) {
    let sum = 0;
    for (const to = i + each; i < to; i++) sum += column[i]!;
    out[k] = sum / each;
  }
  return out;
}

/** How many of each sample's rows carry one of the flags. */
function sampleCounts(mark: Uint8Array, n: number, each: number, flags: number): Float64Array {
  const out = new Float64Array(n);
  for (let k = 0, i = 0; k < n; k++) {
    let count = 0;
    for (const to = i + each; i < to; i++) if ((mark[i]! & flags) !== 0) count++;
    out[k] = count;
  }
  return out;
}

/** An acceleration that was not logged on a row is taken for none. */
const blanksAsRest = (column: Float64Array): Float64Array => {
  const out = column.slice();
  for (let i = 0; i < out.length; i++) if (Number.isNaN(out[i]!)) out[i] = 0;
  return out;
};

const untold = (why: string): Tilt => ({
  told: null,
  why,
  sd_L: 0,
  bias_L: null,
  biasStandard_L: null,
  whyNoTurning: null,
});

/** Stretches of a minute that say something. */
function piecesOf(n: number, interval_s: number, counts: (from: number, to: number) => boolean): [number, number][] {
  // Ten minutes are ten pieces, though the last row of such a log stands a sample short of them.
  const pieces = Math.floor((n * interval_s) / piece_s + 0.01);
  const edge = (k: number) => Math.floor((k * n) / pieces);
  return Array.from({ length: pieces }, (_, k): [number, number] => [edge(k), edge(k + 1)]).filter(([from, to]) =>
    counts(from, to),
  );
}

const meanOf = (values: Float64Array, from: number, to: number) =>
  values.subarray(from, to).reduce((s, v) => s + v, 0) / (to - from);

/** Standard deviation about the mean. */
function spreadOf(values: Float64Array): number {
  const mean = values.reduce((s, v) => s + v, 0) / values.length;
  return Math.sqrt(values.reduce((s, v) => s + (v - mean) ** 2, 0) / values.length);
}

/** Takes the mean off in place. @returns the mean. */
function takeMean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  const mean = sum / values.length;
  for (let i = 0; i < values.length; i++) values[i]! -= mean;
  return mean;
}

/**
 * Whether a mean stands out of the means of the log's parts: laps repeat, so that the parts agree although single corners scatter widely.
 * Student's t over four to eight parts of 150 s or more, 99 % two-sided (tables of the t distribution).
 */
function leansOneWay(centred: Float64Array, mean: number, rate_Hz: number): boolean {
  const limits: Record<number, number> = { 4: 5.84, 5: 4.6, 6: 4.03, 7: 3.71, 8: 3.5 };
  // Ten minutes are four parts, though the last row of such a log stands a sample short of them.
  const parts = Math.min(8, Math.floor(centred.length / rate_Hz / 150 + 0.01));
  const limit = limits[parts];
  if (limit === undefined) return false;
  const size = Math.floor(centred.length / parts);
  let squares = 0;
  for (let p = 0; p < parts; p++) {
    let sum = 0;
    for (let i = p * size; i < (p + 1) * size; i++) sum += centred[i]!;
    squares += (sum / size) ** 2;
  }
  return Math.abs(mean) > limit * Math.sqrt(squares / (parts - 1) / parts);
}
