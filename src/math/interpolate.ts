/** Joined straight pieces, held at their ends. */

/** Value at `x` of the polyline through (xs, ys); `xs` strictly rising, at least one point. */
export function interpolateHeld(xs: ArrayLike<number>, ys: ArrayLike<number>, x: number): number {
  const n = xs.length;
  if (n === 0) throw new Error("interpolateHeld: needs 1 point, got 0");
  if (!(x > xs[0]!)) return ys[0]!;
  if (x >= xs[n - 1]!) return ys[n - 1]!;
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle]! <= x) low = middle;
    else high = middle;
  }
  const t = (x - xs[low]!) / (xs[high]! - xs[low]!);
  return ys[low]! + t * (ys[high]! - ys[low]!);
}
