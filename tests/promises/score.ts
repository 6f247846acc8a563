/** Scoring: pure counts and shares. Nothing here comes from the pipeline, so that it can judge it. */

export const rms = (x: ArrayLike<number>): number => {
  let sum = 0;
  for (let i = 0; i < x.length; i++) sum += x[i]! * x[i]!;
  return x.length > 0 ? Math.sqrt(sum / x.length) : Number.NaN;
};

export const mean = (x: number[]): number => (x.length > 0 ? x.reduce((a, b) => a + b, 0) / x.length : Number.NaN);

/** Sample quantile by linear interpolation between order statistics (Hyndman and Fan 1996, type 7). */
export function quantile(x: number[], p: number): number {
  if (x.length === 0) return Number.NaN;
  const sorted = [...x].sort((a, b) => a - b);
  const at = p * (sorted.length - 1);
  const low = Math.floor(at);
  const high = Math.min(sorted.length - 1, low + 1);
  return sorted[low]! + (at - low) * (sorted[high]! - sorted[low]!);
}

/** Exact 95 % interval of a share (Clopper and Pearson 1934): the binomial tails are solved by bisection. */
export function clopperPearson(hits: number, n: number, level = 0.95): [number, number] {
  if (n === 0) return [0, 1];
  const tail = (1 - level) / 2;
  const lower = hits === 0 ? 0 : bisect((p) => 1 - binomialCdf(hits - 1, n, p) - tail);
  const upper = hits === n ? 1 : bisect((p) => tail - binomialCdf(hits, n, p));
  return [lower, upper];
}

/** Chance of at most k hits in n trials, summed in logarithms. */
export function binomialCdf(k: number, n: number, p: number): number {
  if (p <= 0) return 1;
  if (p >= 1) return k >= n ? 1 : 0;
  let sum = 0;
  let logTerm = n * Math.log1p(-p);
  for (let i = 0; i <= k; i++) {
    sum += Math.exp(logTerm);
    logTerm += Math.log((n - i) / (i + 1)) + Math.log(p) - Math.log1p(-p);
  }
  return Math.min(1, sum);
}

/** Zero of a function that rises from below to above on 0 to 1. */
function bisect(f: (p: number) => number): number {
  let [low, high] = [0, 1];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (f(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Digit changes (any change of the shown value) and reversals (a change opposite in sign to the one before it). */
export function countChanges(shown: ArrayLike<number>): { changes: number; reversals: number } {
  let changes = 0;
  let reversals = 0;
  let before = 0;
  for (let i = 1; i < shown.length; i++) {
    const sign = Math.sign(shown[i]! - shown[i - 1]!);
    if (sign === 0) continue;
    changes++;
    if (before !== 0 && sign !== before) reversals++;
    before = sign;
  }
  return { changes, reversals };
}

/** Flickers: leaving an end value and coming back to it. */
export function countFlickers(shown: ArrayLike<number>, end: number): number {
  let flickers = 0;
  let away = false;
  let been = false;
  for (let i = 0; i < shown.length; i++) {
    const at = shown[i] === end;
    if (at && away) flickers++;
    if (at) been = true;
    away = been && !at;
  }
  return flickers;
}

/** Share of a job's points inside their interval, and the mean half-width. */
export function coverage(points: { truth: number; lower: number; upper: number }[]): {
  share: number;
  halfWidth: number;
} {
  const inside = points.filter((p) => p.lower <= p.truth && p.truth <= p.upper).length;
  return { share: inside / points.length, halfWidth: mean(points.map((p) => (p.upper - p.lower) / 2)) };
}

/**
 * The least RMS that any single-valued table of readings can reach: for each reading the mean of the volumes that show it.
 * @param volumes evenly spread true volumes, litres. @param readings what stands there for each.
 */
export function leastPossibleRms(volumes: number[], readings: number[], bins = 400): number {
  const low = Math.min(...readings);
  const high = Math.max(...readings);
  const groups = new Map<number, number[]>();
  readings.forEach((r, i) => {
    // Readings that differ by less than one part in 4 million of the travel are the same stop or level.
    const key = Math.round(((r - low) / (high - low)) * bins * 1e4);
    groups.set(key, [...(groups.get(key) ?? []), volumes[i]!]);
  });
  let sum = 0;
  for (const group of groups.values()) {
    const middle = mean(group);
    for (const v of group) sum += (v - middle) ** 2;
  }
  return Math.sqrt(sum / volumes.length);
}

export interface FoundEvent {
  kind: string;
  step: number;
}
export interface TrueFault extends FoundEvent {
  inStandardErrors: number;
}

/** A hung float on one step moves one reading: to call it a wrong reading is right too. */
const sameKind = (found: string, truth: string) =>
  found === truth || (truth === "hung-float" && found === "wrong-reading");

/**
 * Faults of at least `least` standard errors: found (something named at that step), named (right kind and step).
 * False: events with no fault within one step. "Cannot be told" counts as not found, and as no false flag beside a fault.
 */
export function matchFaults(
  events: FoundEvent[],
  faults: TrueFault[],
  least = 5,
): { worthy: number; found: number; named: number; falseFlags: number } {
  const worthy = faults.filter((f) => f.inStandardErrors >= least);
  const told = events.filter((e) => e.kind !== "cannot-be-told");
  return {
    worthy: worthy.length,
    found: worthy.filter((f) => told.some((e) => e.step === f.step)).length,
    named: worthy.filter((f) => told.some((e) => e.step === f.step && sameKind(e.kind, f.kind))).length,
    falseFlags: told.filter((e) => !faults.some((f) => Math.abs(f.step - e.step) <= 1)).length,
  };
}
