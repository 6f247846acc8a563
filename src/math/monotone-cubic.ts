/** A curve through points that never swings past them: piecewise cubic, monotone where the points are (Fritsch and Carlson 1980). */

export interface CurveThrough {
  /** Value at x; null outside the points. */
  at(x: number): number | null;
  /** Weight of each point on the straight line to x between its neighbours: what errors of the points do to the value, to first order. */
  weights(x: number): number[] | null;
}

/**
 * @param x strictly rising.
 * @throws if x does not rise, or lengths differ.
 */
export function curveThrough(x: number[], y: number[]): CurveThrough {
  const n = x.length;
  if (n !== y.length) throw new Error(`curveThrough: ${n} x for ${y.length} y`);
  for (let i = 1; i < n; i++)
    if (!(x[i]! > x[i - 1]!)) throw new Error("curveThrough: x must rise from point to point");
  const width = x.slice(1).map((v, i) => v - x[i]!);
  const rise = width.map((w, i) => (y[i + 1]! - y[i]!) / w);
  const slope = x.map((_, i) => {
    if (n < 2) return 0;
    if (i === 0) return rise[0]!;
    if (i === n - 1) return rise[n - 2]!;
    const [a, b] = [rise[i - 1]!, rise[i]!];
    if (a * b <= 0) return 0;
    // Harmonic mean weighted by the widths: at most three times the smaller slope.
    const [p, q] = [2 * width[i]! + width[i - 1]!, width[i]! + 2 * width[i - 1]!];
    return (p + q) / (p / a + q / b);
  });
  const pieceOf = (v: number) => {
    if (n === 0 || v < x[0]! || v > x[n - 1]!) return -1;
    let k = 0;
    while (k < n - 2 && v >= x[k + 1]!) k++;
    return k;
  };
  return {
    at(v) {
      const k = pieceOf(v);
      if (k < 0) return null;
      if (n === 1) return y[0]!;
      const w = width[k]!;
      const t = (v - x[k]!) / w;
      const s = 1 - t;
      return (
        y[k]! * s * s * (1 + 2 * t) + y[k + 1]! * t * t * (1 + 2 * s) + w * t * s * (slope[k]! * s - slope[k + 1]! * t)
      );
    },
    weights(v) {
      const k = pieceOf(v);
      if (k < 0) return null;
      if (n === 1) return [1];
      const t = (v - x[k]!) / width[k]!;
      return x.map((_, i) => (i === k ? 1 - t : i === k + 1 ? t : 0));
    },
  };
}
