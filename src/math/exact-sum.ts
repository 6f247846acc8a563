/** Sums of products as if in twice the precision: what is left over after a fit is a small difference of large numbers. */

/** Splits a number into two halves of 26 bits (Dekker 1971). */
const splitter = 134217729;

/**
 * Σ aᵢ·bᵢ plus `start`, rounded once at the end: error-free sums and products (Dekker 1971; Ogita, Rump and Oishi 2005).
 * Numbers beyond about 1e290 overflow in the splitting.
 */
export function exactDot(a: ArrayLike<number>, b: ArrayLike<number>, start = 0): number {
  let sum = start;
  let small = 0;
  for (let i = 0; i < a.length; i++) {
    const x = a[i]!;
    const y = b[i]!;
    const p = x * y;
    const sx = splitter * x;
    const sy = splitter * y;
    const xh = sx - (sx - x);
    const yh = sy - (sy - y);
    const xl = x - xh;
    const yl = y - yh;
    const lostInProduct = xl * yl - (p - xh * yh - xl * yh - xh * yl);
    const next = sum + p;
    const back = next - sum;
    small += lostInProduct + (sum - (next - back) + (p - back));
    sum = next;
  }
  return sum + small;
}

/** Σ aᵢ, rounded once (Neumaier 1974). */
export function exactSum(values: ArrayLike<number>): number {
  let sum = 0;
  let small = 0;
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!;
    const next = sum + v;
    const back = next - sum;
    small += sum - (next - back) + (v - back);
    sum = next;
  }
  return sum + small;
}
