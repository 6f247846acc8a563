/** Noise of one sample that stands by itself, told apart from motion that is slow against the samples. */
import { normalProbability, normalQuantile } from "./distributions";
import { selectSmallest } from "./propagate";

/** Share of the smallest differences that is looked at: jumps of the sender and spikes fall into the rest. */
const kept = 0.35;

/**
 * Standard deviation of the part of a record that is independent from sample to sample.
 *
 * Differences of `order` take off a polynomial of one degree less; white noise keeps C(2·order, order) times its
 * variance in them. From the smallest third of the differences that variance is found as for a truncated normal
 * distribution, so that jumps (the levels of a ladder) do not count. Motion that is fast against the samples still adds.
 * @throws if there are no 8 differences.
 */
export function differenceNoise(values: ArrayLike<number>, order: 2 | 3): number {
  const gain = order === 2 ? 6 : 20;
  const n = values.length - order;
  if (n < 8) throw new Error(`differenceNoise: needs ${8 + order} samples, got ${values.length}`);
  const size = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const [a, b, c] = [values[i]!, values[i + 1]!, values[i + 2]!];
    size[i] = Math.abs(order === 2 ? c - 2 * b + a : values[i + 3]! - 3 * c + 3 * b - a);
  }
  const count = Math.floor(kept * n);
  selectSmallest(size, Math.max(0, count - 1));
  let sum = 0;
  for (let i = 0; i < count; i++) sum += size[i]! ** 2;
  const edge = normalQuantile((1 + kept) / 2);
  const density = Math.exp((-edge * edge) / 2) / Math.sqrt(2 * Math.PI);
  return Math.sqrt(sum / count / ((kept - 2 * edge * density) / kept) / gain);
}

/**
 * Standard deviation of the sample-to-sample noise of a sender that goes in steps (turns of wire, contacts): from pairs of neighbours that
 * stand on the same level. Their differences make a half-normal heap at nothing, with a gap before the first step's heap.
 *
 * Grows a bound from below: below three deviations the deviation of a half-normal is found from the mean square under the bound, until it
 * grows no more. Where there are no steps it meets the deviation of all differences, motion included.
 * @returns 0 where too few pairs are under the bound to tell.
 */
export function sameLevelNoise(values: ArrayLike<number>): number {
  const n = values.length - 1;
  const size = new Float64Array(Math.max(0, n));
  for (let i = 0; i < n; i++) size[i] = Math.abs(values[i + 1]! - values[i]!);
  size.sort();
  let s = size[Math.floor(0.1 * n)] ?? 0;
  if (!(s > 0)) s = (size.find((d) => d > 0) ?? 0) / 2;
  let sum = 0;
  let count = 0;
  for (let round = 0; round < 60 && s > 0; round++) {
    const bound = 3 * s;
    while (count < n && size[count]! < bound) sum += size[count++]! ** 2;
    if (count < 50) return 0;
    const next = halfNormal(sum / count, bound);
    if (next <= s) return s / Math.SQRT2;
    s = Math.min(1.25 * s, next);
  }
  return s / Math.SQRT2;
}

/** Deviation of a half-normal distribution cut off at `bound`, from its mean square there; infinite when it looks even. */
function halfNormal(meanSquare: number, bound: number): number {
  const of = (s: number) => {
    const a = bound / s;
    const density = Math.exp((-a * a) / 2) / Math.sqrt(2 * Math.PI);
    return s * s * (1 - (2 * a * density) / (2 * normalProbability(a) - 1));
  };
  let low = bound / 50;
  let high = bound * 4;
  if (of(high) < meanSquare) return Number.POSITIVE_INFINITY;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (of(middle) < meanSquare) low = middle;
    else high = middle;
  }
  return low;
}
