/** Noise of one sample that stands by itself, told apart from motion that is slow against the samples. */
import { normalQuantile } from "./distributions";

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
  size.sort();
  const count = Math.floor(kept * n);
  let sum = 0;
  for (let i = 0; i < count; i++) sum += size[i]! ** 2;
  const edge = normalQuantile((1 + kept) / 2);
  const density = Math.exp((-edge * edge) / 2) / Math.sqrt(2 * Math.PI);
  return Math.sqrt(sum / count / ((kept - 2 * edge * density) / kept) / gain);
}
