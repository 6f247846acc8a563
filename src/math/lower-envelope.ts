/** Lower envelope of parabolas that open upwards, each told where it came from. Grows by one parabola at a time. */

export interface Envelope {
  size: number;
  a: number[];
  b: number[];
  c: number[];
  fromKnot: number[];
  fromParabola: number[];
  /** Least value of all. */
  least: number;
  /** The pieces from left to right: where each begins, and which parabola is lowest there (−1: none). */
  begins: number[];
  lowest: number[];
}

export function emptyEnvelope(): Envelope {
  return {
    size: 0,
    a: [],
    b: [],
    c: [],
    fromKnot: [],
    fromParabola: [],
    least: Number.POSITIVE_INFINITY,
    begins: [Number.NEGATIVE_INFINITY],
    lowest: [-1],
  };
}

/**
 * Adds a v² + b v + c where it is lower than all before it and lower than `cap`; leaves it out if that is nowhere.
 * One that is covered later stays in the list until `dropCovered`.
 */
export function addParabola(
  e: Envelope,
  a: number,
  b: number,
  c: number,
  fromKnot: number,
  fromParabola: number,
  cap: number,
): void {
  if (!(a > 0)) return;
  const middle = -b / (2 * a);
  const value = c - (b * b) / (4 * a);
  if (!(value < cap)) return;
  const reach = Math.sqrt((cap - value) / a);
  const from = cap === Number.POSITIVE_INFINITY ? Number.NEGATIVE_INFINITY : middle - reach;
  const to = cap === Number.POSITIVE_INFINITY ? Number.POSITIVE_INFINITY : middle + reach;
  const begins: number[] = [];
  const lowest: number[] = [];
  let wins = false;
  const put = (begin: number, which: number) => {
    if (lowest.length > 0 && lowest[lowest.length - 1] === which) return;
    if (begins.length > 0 && !(begin > begins[begins.length - 1]!)) {
      begins.pop();
      lowest.pop();
      if (lowest.length > 0 && lowest[lowest.length - 1] === which) return;
    }
    begins.push(begin);
    lowest.push(which);
  };
  const count = e.begins.length;
  for (let i = 0; i < count; i++) {
    const low = e.begins[i]!;
    const high = i + 1 < count ? e.begins[i + 1]! : Number.POSITIVE_INFINITY;
    const which = e.lowest[i]!;
    const left = Math.max(low, from);
    const right = Math.min(high, to);
    if (!(left < right)) {
      put(low, which);
      continue;
    }
    put(low, which);
    // Where on (left, right) is the new one below the one that was lowest? At most two stretches.
    const stretches = which < 0 ? [[left, right]] : lowerStretches(a - e.a[which]!, b - e.b[which]!, c - e.c[which]!);
    for (const [p, q] of stretches) {
      const start = Math.max(left, p!);
      const end = Math.min(right, q!);
      if (!(start < end)) continue;
      wins = true;
      put(start, e.size);
      if (end < high) put(end, which);
    }
  }
  if (!wins) return;
  e.begins = begins;
  e.lowest = lowest;
  e.a.push(a);
  e.b.push(b);
  e.c.push(c);
  e.fromKnot.push(fromKnot);
  e.fromParabola.push(fromParabola);
  e.size++;
  if (value < e.least) e.least = value;
}

/** Forgets the parabolas that are lowest nowhere. */
export function dropCovered(e: Envelope): void {
  const kept = [...new Set(e.lowest)].filter((q) => q >= 0);
  if (kept.length === e.size) return;
  const number = new Map(kept.map((q, i) => [q, i]));
  for (const key of ["a", "b", "c", "fromKnot", "fromParabola"] as const) e[key] = kept.map((q) => e[key][q]!);
  e.lowest = e.lowest.map((q) => number.get(q) ?? -1);
  e.size = kept.length;
}

/** Where a v² + b v + c < 0. */
function lowerStretches(a: number, b: number, c: number): number[][] {
  if (a === 0) {
    if (b === 0) return c < 0 ? [[Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]] : [];
    return b > 0 ? [[Number.NEGATIVE_INFINITY, -c / b]] : [[-c / b, Number.POSITIVE_INFINITY]];
  }
  const disc = b * b - 4 * a * c;
  if (!(disc > 0)) return a < 0 ? [[Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]] : [];
  const q = -0.5 * (b + (b >= 0 ? 1 : -1) * Math.sqrt(disc));
  const r1 = q / a;
  const r2 = q === 0 ? -r1 : c / q;
  const [low, high] = r1 < r2 ? [r1, r2] : [r2, r1];
  return a > 0
    ? [[low, high]]
    : [
        [Number.NEGATIVE_INFINITY, low],
        [high, Number.POSITIVE_INFINITY],
      ];
}
