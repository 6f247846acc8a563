/** Few points whose straight-line interpolation stays near a curve: least worst distance, by dynamic programming, then on a lattice. */

export interface Place {
  x: number;
  y: number;
}

/** Worst distance of the chord from i to j from the points between them. */
function chordErrors(curve: Place[]): Float64Array[] {
  const n = curve.length;
  return curve.map((a, i) => {
    const row = new Float64Array(n);
    for (let j = i + 1; j < n; j++) {
      const b = curve[j]!;
      const slope = (b.y - a.y) / (b.x - a.x);
      let worst = 0;
      for (let k = i + 1; k < j; k++) {
        const d = Math.abs(a.y + slope * (curve[k]!.x - a.x) - curve[k]!.y);
        if (d > worst) worst = d;
      }
      row[j] = worst;
    }
    return row;
  });
}

/**
 * Best places on the curve for each number of points from 2 to `most`, both ends fixed.
 * @param curve dense, x strictly rising.
 * @returns for each count the indices and the least worst distance.
 */
export function bestPlaces(curve: Place[], most: number): { indices: number[]; error: number }[] {
  const n = curve.length;
  const errors = chordErrors(curve);
  let best = new Float64Array(n).map((_, j) => errors[0]![j]!);
  const from: Int32Array[] = [new Int32Array(n)];
  const results: { indices: number[]; error: number }[] = [];
  const trace = (level: number) => {
    const indices = [n - 1];
    let at = n - 1;
    for (let k = level; k > 0; k--) {
      at = from[k]![at]!;
      indices.unshift(at);
    }
    indices.unshift(0);
    return indices;
  };
  results.push({ indices: [0, n - 1], error: best[n - 1]! });
  for (let level = 1; level <= most - 2; level++) {
    const next = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    const origin = new Int32Array(n);
    for (let j = 1; j < n; j++)
      for (let i = level; i < j; i++) {
        const worst = Math.max(best[i]!, errors[i]![j]!);
        if (worst < next[j]!) {
          next[j] = worst;
          origin[j] = i;
        }
      }
    if (!Number.isFinite(next[n - 1]!)) break;
    from.push(origin);
    best = next;
    results.push({ indices: trace(level), error: next[n - 1]! });
  }
  return results;
}

/** Straight lines between points with rising x; the end value is held outside. */
export function pieceValue(points: Place[], x: number): number {
  const n = points.length;
  if (x <= points[0]!.x) return points[0]!.y;
  if (x >= points[n - 1]!.x) return points[n - 1]!.y;
  let k = 0;
  while (points[k + 1]!.x < x) k++;
  const a = points[k]!;
  const b = points[k + 1]!;
  return a.y + ((x - a.x) / (b.x - a.x)) * (b.y - a.y);
}

/**
 * Worst and root-mean-square distance of the pieces from the curve, and where the worst is.
 * @param beyond from a distance over it on nothing more is of interest: it comes back as the worst, with no mean.
 */
export function pieceError(
  points: Place[],
  curve: Place[],
  beyond = Number.POSITIVE_INFINITY,
): { worst: number; rms: number; at: number } {
  let worst = 0;
  let at = curve[0]!.x;
  let squares = 0;
  let k = 0;
  for (const c of curve) {
    while (k < points.length - 2 && points[k + 1]!.x < c.x) k++;
    const a = points[k]!;
    const b = points[k + 1]!;
    const y = c.x <= a.x ? a.y : c.x >= b.x ? b.y : a.y + ((c.x - a.x) / (b.x - a.x)) * (b.y - a.y);
    const d = Math.abs(y - c.y);
    if (d > beyond) return { worst: d, rms: Number.POSITIVE_INFINITY, at: c.x };
    squares += d * d;
    if (d > worst) [worst, at] = [d, c.x];
  }
  return { worst, rms: Math.sqrt(squares / curve.length), at };
}

/**
 * Lifts points off the curve: each inner ordinate is moved until the errors on both sides of it are as far above as below.
 * On a curve that bends one way this halves the worst distance of points that lie on it. End points and all x stay.
 * @returns the best ordinates met; never worse than `points`.
 */
export function levelOrdinates(points: Place[], curve: Place[], rounds = 24): Place[] {
  const n = points.length;
  let best = points.map((p) => ({ ...p }));
  let least = pieceError(best, curve).worst;
  const now = points.map((p) => ({ ...p }));
  const above = new Float64Array(n);
  const below = new Float64Array(n);
  for (let round = 0; round < rounds && n > 2; round++) {
    above.fill(0);
    below.fill(0);
    let k = 0;
    for (const c of curve) {
      while (k < n - 2 && now[k + 1]!.x < c.x) k++;
      const a = now[k]!;
      const b = now[k + 1]!;
      const t = Math.max(0, Math.min(1, (c.x - a.x) / (b.x - a.x)));
      const e = a.y + t * (b.y - a.y) - c.y;
      for (const i of [k, k + 1]) {
        if (e > above[i]!) above[i] = e;
        if (e < below[i]!) below[i] = e;
      }
    }
    for (let i = 1; i + 1 < n; i++) now[i]!.y -= 0.5 * (above[i]! + below[i]!);
    const worst = pieceError(now, curve).worst;
    if (worst < least) {
      least = worst;
      best = now.map((p) => ({ ...p }));
    }
  }
  return best;
}

/**
 * Moves inner points on the lattice of what the device takes, one step at a time, while the worst distance shrinks (ties: the
 * mean square). Points need not lie on the curve: that alone can halve the distance. End points stay.
 * @param freeX false keeps the x of all points (equal spacing).
 */
export function searchLattice(points: Place[], curve: Place[], stepX: number, stepY: number, freeX: boolean): Place[] {
  const rising = points[points.length - 1]!.y >= points[0]!.y ? 1 : -1;
  const now = points.map((p) => ({ ...p }));
  let cost = pieceError(now, curve);
  const snap = (v: number, step: number) => Math.round(v / step) * step;
  const inOrder = (before: Place, p: Place) => p.x > before.x + stepX / 2 && rising * (p.y - before.y) > stepY / 2;
  const ordered = () => now.every((p, i) => i === 0 || inOrder(now[i - 1]!, p));
  for (let pass = 0; pass < 40; pass++) {
    let moved = false;
    for (let i = 1; i + 1 < now.length; i++)
      for (const [dx, dy] of [
        [0, 1],
        [0, -1],
        [1, 0],
        [-1, 0],
        [1, 1],
        [-1, -1],
        [1, -1],
        [-1, 1],
        [0, 3],
        [0, -3],
        [3, 0],
        [-3, 0],
      ] as const) {
        if (dx !== 0 && !freeX) continue;
        const stood = now[i]!;
        now[i] = { x: snap(stood.x + dx * stepX, stepX), y: snap(stood.y + dy * stepY, stepY) };
        const e = ordered() ? pieceError(now, curve, cost.worst + 1e-12) : null;
        if (e && (e.worst < cost.worst - 1e-12 || (e.worst <= cost.worst + 1e-12 && e.rms < cost.rms - 1e-9))) {
          cost = e;
          moved = true;
        } else now[i] = stood;
      }
    if (!moved) break;
  }
  return now;
}
