/** Noise of a sender that goes in steps (turns of wire, contacts), from how sharp the heaps of its readings stand. */
import { selectSmallest } from "./propagate";

/** Fewest samples; fewest and most heaps that are looked for; bins over all of them; phases tried for each heap more. */
const leastSamples = 2000;
const leastHeaps = 3;
const mostHeaps = 250;
const bins = 4096;
const trials = 4;
/** So many times its own spread by chance (1/√n) a contrast must be, before it says anything. */
const sure = 5;
/** Least contrast in any case (heaps 2.6 deviations apart): a converter's steps written in few digits beat with each other, and look like faint heaps. */
const leastContrast = 0.05;
/** Heaps nearer to each other than so many steps of the converter are the converter's own. */
const leastSteps = 4;

/**
 * An upper limit of the noise that stands by itself in each sample, and that noise itself where the readings stand in heaps at even distances.
 *
 * Reading = what the float says + noise. The characteristic function of a sum is the product of both, and neither is larger than 1: so
 * |φ(k)| ≤ exp(−2π²σ²k²) at every k, whatever the float does, and with heaps at distances of 1/k the two are equal. The least σ over all k is taken.
 * How fast the level changes does not matter: unlike differences of neighbours this holds where the float goes over a turn of wire from one
 * sample to the next.
 *
 * @param places samples on a scale on which the steps are even. @param stretch how many of that scale one unit of the reading is, for each
 *   sample: the noise is as large in the reading everywhere. @param step least step of the converter, reading unit.
 * @returns the reading's unit; infinite where nothing stands out of chance.
 * The product is that of the characteristic functions of independent terms, a textbook matter (from memory).
 */
export function heapNoise(places: Float64Array, stretch: Float64Array, step: number): number {
  const n = places.length;
  if (n < leastSamples) return Number.POSITIVE_INFINITY;
  const at = (share: number) => selectSmallest(places.slice(), Math.floor(share * (n - 1)));
  const low = at(0.005);
  const width = at(0.995) - low;
  if (!(width > 0)) return Number.POSITIVE_INFINITY;
  const seen = binned(places, stretch, low, width);
  const held = seen.samples;
  const typical = Math.sqrt(seen.bins.reduce((sum, b) => sum + b.share * b.stretch2, 0));
  const least = Math.max(leastContrast, sure / Math.sqrt(held));
  const most = Math.min(mostHeaps, width / (leastSteps * step * typical));
  let best = { heaps: 0, contrast: 0, sd: Number.POSITIVE_INFINITY };
  const weigh = (heaps: number) => {
    const contrast = contrastAt(seen.bins, heaps / width);
    if (contrast < least) return;
    const sd = Math.sqrt(-2 * Math.log(Math.min(1, contrast))) / ((2 * Math.PI * heaps) / width);
    if (sd < best.sd) best = { heaps, contrast, sd };
  };
  for (let heaps = leastHeaps; heaps <= most; heaps += 1 / trials) weigh(heaps);
  if (best.heaps === 0) return Number.POSITIVE_INFINITY;
  const coarse = best.heaps;
  for (let j = -7; j <= 7; j++) weigh(coarse + j / (8 * trials));
  return solved(seen.bins, best.heaps / width, best.contrast, best.sd / typical);
}

interface Bin {
  /** Mean place: where a bin holds one step of the converter it is that step's, else the bins would beat with the steps. */
  place: number;
  share: number;
  stretch2: number;
}

function binned(places: Float64Array, stretch: Float64Array, low: number, width: number) {
  const count = new Float64Array(bins);
  const sum = new Float64Array(bins);
  const squares = new Float64Array(bins);
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  for (const p of places) {
    if (p < lowest) lowest = p;
    if (p > highest) highest = p;
  }
  let samples = 0;
  for (let i = 0; i < places.length; i++) {
    const p = places[i]!;
    const b = Math.floor(((p - low) / width) * bins);
    // What stands on a rail has no noise of its own.
    if (!(b >= 0 && b < bins) || p === lowest || p === highest) continue;
    count[b]!++;
    sum[b]! += p - low;
    squares[b]! += stretch[i]! ** 2;
    samples++;
  }
  const list: Bin[] = [];
  for (let b = 0; b < bins; b++)
    if (count[b]! > 0)
      list.push({ place: sum[b]! / count[b]!, share: count[b]! / samples, stretch2: squares[b]! / count[b]! });
  return { bins: list, samples };
}

/** |φ| at k. */
function contrastAt(list: Bin[], k: number): number {
  let re = 0;
  let im = 0;
  for (const { place, share } of list) {
    re += share * Math.cos(2 * Math.PI * k * place);
    im += share * Math.sin(2 * Math.PI * k * place);
  }
  return Math.hypot(re, im);
}

/** The deviation, in the reading's unit, with which heaps 1/k apart have this contrast, each as wide on the even scale as it stands there. */
function solved(list: Bin[], k: number, contrast: number, near: number): number {
  const of = (sd: number) =>
    list.reduce((sum, b) => sum + b.share * Math.exp(-2 * (Math.PI * k * sd) ** 2 * b.stretch2), 0);
  let [low, high] = [near / 4, near * 4];
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (of(middle) > contrast) low = middle;
    else high = middle;
  }
  return high;
}
