/** The reading's curve turned round: which volume each reading means if one state of the run is so, and how far that is open. */
import { normalProbability } from "../math/distributions";
import type { NormalPart } from "../math/normal-mixture";
import type { Noise } from "../math/smooth-chain";
import { predictSmooth } from "../math/smooth-predict";
import { noiseGrid, risingValues, type SmoothProblem } from "../math/smoothing";
import type { CurveState } from "./curve-limits";
import type { ReadingModel } from "./reading-model";
import type { Shelf } from "./suspect-states";

/** The joint covariance changes slowly: it is taken at every second of the fine places. */
const every = 2;
/** Fine places on the volume axis, shares of the range; wide enough for what lies between an end step and its stop. */
const fine = Array.from({ length: 92 }, (_, i) => -0.15 + (1.3 * i) / 91);

export type Inverse = Omit<CurveState, "chance">;

/**
 * Volume at each place of the coordinate, with its covariance: the error of the reading's curve over its slope.
 * @param few the model's problem with neighbours drawn together where there are many.
 * @param emptiest_L volume since the start under which the tank would hold less than nothing.
 * @returns with it the settings that may be the likeliest (`SmoothFit`).
 */
export function inverseOf(
  model: ReadingModel,
  few: SmoothProblem,
  noises: Noise[] | null,
  target: number[],
  emptiest_L: number,
): { inverse: Inverse; likeliest: Noise[] } {
  const fit = predictSmooth(few, fine, noises ?? noiseGrid(model.problem), every);
  const joint = Math.ceil(fine.length / every);
  const curve = risingValues(Array.from(fit.mean));
  const step = fine[1]! - fine[0]!;
  const places = target.map((t) => {
    let k = curve.findIndex((c) => c >= t);
    if (k < 0) k = curve.length - 1;
    if (k === 0) k = 1;
    const a = curve[k - 1]!;
    const b = curve[k]!;
    // Past the end of the fine places: along the last slope.
    const share = b > a ? (t - a) / (b - a) : 0.5;
    const at = fine[k - 1]! + Math.max(-2, Math.min(3, share)) * step;
    const from = Math.max(0, k - 3);
    const to = Math.min(curve.length - 1, k + 2);
    const slope = Math.max(0.08, (curve[to]! - curve[from]!) / (fine[to]! - fine[from]!));
    const near = Math.min(joint - 1, Math.round((k - 1 + Math.max(0, Math.min(1, share))) / every));
    return { near, at, slope };
  });
  // One reading stands for all volumes between two turns or contacts: that spread belongs in the band.
  const open = (model.spacing ** 2 / 12 + fit.scatterVariance) * model.range_L ** 2;
  const free: Inverse = {
    mean_L: places.map((p) => model.low_L + model.range_L * p.at),
    covariance_L2: places.map((p, i) =>
      places.map((q, j) => {
        const c = fit.covariance[p.near * joint + q.near]!;
        return (c * model.range_L ** 2 + (i === j ? open : 0)) / (p.slope * q.slope);
      }),
    ),
  };
  return { inverse: betweenSteps(model, noises, target, emptiest_L, free), likeliest: fit.likeliest };
}

/** Standard deviations that two readings must lie apart before it is certain which of them is higher, and that a bound leaves for its step's volume. */
const certain = 3;

/**
 * The more fuel, the higher the float: a reading over that of one step and under that of another means a volume between theirs. Where the
 * curve knows less than that (steps of one level, a fault of unknown size), its normal distribution is cut off there.
 */
function betweenSteps(
  model: ReadingModel,
  noises: Noise[] | null,
  target: number[],
  emptiest_L: number,
  free: Inverse,
): Inverse {
  const { x, y, readingVariance } = model.problem;
  const settings = noises ?? noiseGrid(model.problem);
  const n = x.length;
  const apart = new Float64Array(n);
  const lowest_L = new Float64Array(n);
  const highest_L = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    let noise = Number.NEGATIVE_INFINITY;
    for (const { factor, scatter } of settings)
      noise = Math.max(noise, factor ** 2 * readingVariance[k]! + scatter ** 2);
    const volume_L = model.low_L + model.range_L * x[k]!;
    apart[k] = certain * Math.sqrt(noise + model.ownVariance[k]!);
    lowest_L[k] = volume_L - certain * Math.sqrt(model.errors.own_L2[k]!);
    highest_L[k] = volume_L + certain * Math.sqrt(model.errors.own_L2[k]!);
  }
  const cut = target.map((t, i) => {
    // Every reading of the grid was met while the run was poured: at most a pour beyond the steps that count.
    let lower = Math.max(emptiest_L, model.low_L + model.range_L * fine[0]!);
    let upper = model.low_L + model.range_L * fine[fine.length - 1]!;
    for (let k = 0; k < n; k++) {
      if (y[k]! < t - apart[k]!) lower = Math.max(lower, lowest_L[k]!);
      if (y[k]! > t + apart[k]!) upper = Math.min(upper, highest_L[k]!);
    }
    return cutOff(free.mean_L[i]!, Math.sqrt(free.covariance_L2[i]![i]!), lower, upper);
  });
  if (cut.every((c) => c.share === 1)) return free;
  return {
    mean_L: cut.map((c) => c.mean),
    covariance_L2: free.covariance_L2.map((row, i) => row.map((c, j) => c * cut[i]!.share * cut[j]!.share)),
  };
}

/**
 * Mean of a normal distribution cut off at two finite limits, and what share of its standard deviation is left.
 * @see Johnson, Kotz and Balakrishnan 1994, 13.10.1 (from memory).
 */
export function cutOff(mean: number, standard: number, lower: number, upper: number): { mean: number; share: number } {
  const a = (lower - mean) / standard;
  const b = (upper - mean) / standard;
  // Steps that contradict each other bound nothing.
  if (!(upper > lower) || (a < -certain && b > certain)) return { mean, share: 1 };
  const density = (z: number) => Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
  const inside = normalProbability(b) - normalProbability(a);
  // Flat between the limits, or all of it beyond one of them: nothing but the limits is known.
  if (inside < 1e-4 || b - a < 0.05) return { mean: (lower + upper) / 2, share: (b - a) / Math.sqrt(12) };
  const shift = (density(a) - density(b)) / inside;
  const tails = a * density(a) - b * density(b);
  return { mean: mean + standard * shift, share: Math.sqrt(Math.max(1e-6, 1 + tails / inside - shift * shift)) };
}

/**
 * Puts a second room back in: a reading under the wall holds none of it, one over the wall all of it, and near the wall's height
 * it is not known which. The volume without the room is taken as normal, so that the share over the wall is Φ.
 */
export function overShelf(shelf: Shelf | null, curve: Inverse): Inverse {
  if (!shelf) return curve;
  const over = curve.mean_L.map((_, i) => chanceOver(shelf, curve, i));
  const sizes = sizesOf(shelf);
  const size_L = sizes.reduce((s, { chance, size_L }) => s + chance * size_L, 0);
  const square_L2 = sizes.reduce((s, { chance, size_L }) => s + chance * size_L ** 2, 0);
  return {
    mean_L: curve.mean_L.map((m, i) => m + size_L * over[i]!),
    covariance_L2: curve.covariance_L2.map((row, i) =>
      row.map((c, j) => c + square_L2 * Math.min(over[i]!, over[j]!) - size_L ** 2 * over[i]! * over[j]!),
    ),
  };
}

/** What the room may hold: as the sheet says, or with a pour in it that is not as written. */
function sizesOf({ size_L, unseen }: Shelf): { size_L: number; chance: number }[] {
  const all = 1 + unseen.reduce((s, u) => s + u.odds, 0);
  return [{ size_L, chance: 1 / all }, ...unseen.map((u) => ({ size_L: size_L + u.more_L, chance: u.odds / all }))];
}

const chanceOver = (shelf: Shelf, bare: Inverse, i: number) =>
  normalProbability(
    (bare.mean_L[i]! - shelf.from_L) / Math.hypot(Math.sqrt(bare.covariance_L2[i]![i]!), shelf.spread_L, 1e-9),
  );

/** One state's word on a reading; a second room that may or may not stand full behind it makes two of it. */
export function partsAt(weight: number, bare: Inverse, shelf: Shelf | null, i: number): NormalPart[] {
  const mean = bare.mean_L[i]!;
  const standard = Math.sqrt(bare.covariance_L2[i]![i]!);
  if (!shelf) return [{ weight, mean, standard }];
  const over = chanceOver(shelf, bare, i);
  return [
    { weight: weight * (1 - over), mean, standard },
    ...sizesOf(shelf).map(({ size_L, chance }) => ({ weight: weight * over * chance, mean: mean + size_L, standard })),
  ];
}
