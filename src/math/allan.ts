/** Allan deviation: how much neighbouring averages of a record differ; tells noise that averages away from drift that does not. */

/** Means of m values each, end to end. */
export function averages(values: ArrayLike<number>, m: number): number[] {
  const out: number[] = [];
  for (let i = 0; i + m <= values.length; i += m) {
    let s = 0;
    for (let k = 0; k < m; k++) s += values[i + k]!;
    out.push(s / m);
  }
  return out;
}

/**
 * Allan deviation of averages over m values: √(½ mean square of the difference of neighbouring averages).
 * @throws if there are not two averages.
 * @see NIST Special Publication 1065 (Riley 2008).
 */
export function allanDeviation(values: ArrayLike<number>, m: number): number {
  const means = averages(values, m);
  if (means.length < 2) throw new Error(`allanDeviation: ${values.length} values give no two averages of ${m}`);
  let s = 0;
  for (let i = 1; i < means.length; i++) s += (means[i]! - means[i - 1]!) ** 2;
  return Math.sqrt(s / (2 * (means.length - 1)));
}

/** The same over all starting places: uses each value more than once, and is steadier. @throws as `allanDeviation`. */
export function overlappingAllanDeviation(values: ArrayLike<number>, m: number): number {
  const total = runningTotal(values);
  const count = values.length - 2 * m + 1;
  if (count < 1) throw new Error(`overlappingAllanDeviation: ${values.length} values give no two averages of ${m}`);
  let s = 0;
  for (let i = 0; i < count; i++) s += (total[i + 2 * m]! - 2 * total[i + m]! + total[i]!) ** 2;
  return Math.sqrt(s / (2 * m * m * count));
}

/** Modified Allan deviation: averaged over m neighbouring starts too; tells white from flicker noise. @throws as `allanDeviation`. */
export function modifiedAllanDeviation(values: ArrayLike<number>, m: number): number {
  const total = runningTotal(values);
  const count = values.length - 3 * m + 2;
  if (count < 1) throw new Error(`modifiedAllanDeviation: ${values.length} values are too few for ${m}`);
  let s = 0;
  for (let j = 0; j < count; j++) {
    let inner = 0;
    for (let i = j; i < j + m; i++) inner += total[i + 2 * m]! - 2 * total[i + m]! + total[i]!;
    s += inner * inner;
  }
  return Math.sqrt(s / (2 * m ** 4 * count));
}

/** Time deviation: what a clock of this frequency would be off over m values of `interval_s`, seconds a unit. @throws as `allanDeviation`. */
export const timeDeviation = (values: ArrayLike<number>, m: number, interval_s: number): number =>
  (m * interval_s * modifiedAllanDeviation(values, m)) / Math.sqrt(3);

function runningTotal(values: ArrayLike<number>): Float64Array {
  const total = new Float64Array(values.length + 1);
  for (let i = 0; i < values.length; i++) total[i + 1] = total[i]! + values[i]!;
  return total;
}
