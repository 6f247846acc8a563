/** Rows, clock and parts of a drive log. */
import type { ColumnRole, LogPart } from "./choices";
import type { DrivePart } from "./drive-log";
import type { Column, Recording } from "./recording";
import { heldValues } from "./slow-channels";

/** Rows with a time that does not go back, inside the wanted range. */
export function orderTime(recording: Recording, time: Column, reading: Column, range: LogPart | null) {
  const keep = new Int32Array(recording.rows);
  let kept = 0;
  let last = Number.NEGATIVE_INFINITY;
  let start: number | null = null;
  let whole = Number.NEGATIVE_INFINITY;
  let backwards = 0;
  let firstBackwards = 0;
  let repeatedStamps = 0;
  for (let i = 0; i < recording.rows; i++) {
    if (!time.valid[i]) continue;
    const t = time.values[i]!;
    // A single stamp far ahead, with the row after it in place again, is that row's own slip: it must not hide all that follow.
    // Of a long log nearly every row is followed by a later one, and need not be looked at further.
    if (!(time.values[i + 1]! >= t) && leapsAlone(time, i, last)) {
      backwards++;
      if (firstBackwards === 0) firstBackwards = recording.line[i]!;
      continue;
    }
    start ??= t;
    if (t > whole) whole = t;
    if (range && (t - start < range.from_s || (range.to_s !== null && t - start > range.to_s))) continue;
    if (t < last) {
      backwards++;
      if (firstBackwards === 0) firstBackwards = recording.line[i]!;
      continue;
    }
    if (t === last) repeatedStamps++;
    last = t;
    // A row without a reading stays, as a blank: another channel may have been logged on it.
    if (reading.valid[i] || kept > 0) keep[kept++] = i;
  }
  const start_s = start ?? 0;
  return {
    keep: keep.subarray(0, kept),
    backwards,
    firstBackwards,
    repeatedStamps,
    start_s,
    whole_s: start === null ? 0 : whole - start_s,
  };
}

/** Whether row `i` is stamped later than both rows after it, which go on from `last`. */
function leapsAlone({ values, valid }: Column, i: number, last: number): boolean {
  const after = (k: number) => {
    let at = k + 1;
    while (at < values.length && !valid[at]) at++;
    return at;
  };
  const one = after(i);
  if (!(values[one]! < values[i]!)) return false;
  const two = after(one);
  return two < values.length && values[two]! < values[i]! && values[one]! >= last && values[two]! >= values[one]!;
}

/** Rows that share a stamp are spread evenly up to the next one. */
export function spreadStamps(time_s: Float64Array): void {
  let from = 0;
  for (let i = 1; i <= time_s.length; i++) {
    if (i < time_s.length && time_s[i] === time_s[from]) continue;
    const next = i < time_s.length ? time_s[i]! : time_s[from]! + 1;
    const start = time_s[from]!;
    const gap = Math.min(next - start, 2);
    for (let k = from; k < i; k++) time_s[k] = start + (gap * (k - from)) / (i - from);
    from = i;
  }
}

/** A column at the rows kept; NaN where it is blank. */
export function keptValues({ values, valid }: Pick<Column, "values" | "valid">, keep: Int32Array): Float64Array {
  const out = new Float64Array(keep.length);
  for (let k = 0; k < keep.length; k++) out[k] = valid[keep[k]!] ? values[keep[k]!]! : Number.NaN;
  return out;
}

/** What was logged beside the reading, at the rows kept; blanks between two values hold the one before. */
export function channel(recording: Recording, role: ColumnRole, keep: Int32Array): Float64Array | null {
  const column = recording.columns.find((c) => c.role === role);
  return column ? heldValues(column, keep) : null;
}

/**
 * The clock of a log: its usual step, and how uneven it is (the inner four fifths of the steps, as a share of the usual one).
 * @param time_s does not go back; two rows or more, and one step that is not nothing.
 */
export function clockOf(time_s: Float64Array): { interval_s: number; jitter: number } {
  const all = new Float64Array(time_s.length - 1);
  let n = 0;
  for (let i = 1; i < time_s.length; i++) {
    const step = time_s[i]! - time_s[i - 1]!;
    if (step > 0) all[n++] = step;
  }
  const steps = all.subarray(0, n).sort();
  const typical_s = steps[n >> 1]!;
  // Jitter shifts the median; the mean of the steps that are near it is the clock's own.
  let sum = 0;
  let near = 0;
  for (const step of steps)
    if (step > 0.5 * typical_s && step < 1.5 * typical_s) {
      sum += step;
      near++;
    }
  const interval_s = sum / near;
  return { interval_s, jitter: (steps[Math.floor(0.9 * (n - 1))]! - steps[Math.floor(0.1 * (n - 1))]!) / interval_s };
}

/**
 * Parked, driving, refuelling and gaps; without a speed channel all but gaps and refuelling counts as driving.
 * @param start_s from which the parts count their time.
 */
export function partsOf(
  time_s: Float64Array,
  trend_L: Float64Array,
  speed: Float64Array | null,
  interval_s: number,
  start_s: number,
): DrivePart[] {
  const parts: DrivePart[] = [];
  const push = (kind: DrivePart["kind"], from_s: number, to_s: number) => {
    const last = parts[parts.length - 1];
    if (last && last.kind === kind && from_s - last.to_s <= 2 * interval_s) last.to_s = to_s;
    else parts.push({ kind, from_s, to_s });
  };
  for (let i = 1; i < time_s.length; i++) {
    const from = time_s[i - 1]! - start_s;
    const to = time_s[i]! - start_s;
    if (to - from > Math.max(5, 20 * interval_s)) push("gap", from, to);
    else if (trend_L[i]! - trend_L[i - 1]! > 1e-6) push("refuelling", from, to);
    else push(speed && !(speed[i]! > 1) ? "parked" : "driving", from, to);
  }
  // Stops at a light are part of a drive: only half a minute and more counts as parked.
  return parts.reduce<DrivePart[]>((list, part) => {
    const kind = part.kind === "parked" && part.to_s - part.from_s < 30 ? "driving" : part.kind;
    const last = list[list.length - 1];
    if (last && last.kind === kind) last.to_s = part.to_s;
    else list.push({ ...part, kind });
    return list;
  }, []);
}

/** Stands that matter to a burn: share of the log, and seconds of each. Named defaults, no source. */
const leastParked = 0.1;
const leastStand_s = 30;

/**
 * Seconds driven up to each row, stands of half a minute and more left out.
 * @returns null without a speed, and where the vehicle stands for under a tenth of the log or for all of it.
 */
export function drivenSeconds(time_s: Float64Array, speed: Float64Array | null): Float64Array | null {
  if (!speed) return null;
  const n = time_s.length;
  const driven_s = new Float64Array(n);
  let parked_s = 0;
  let stood = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && !(speed[i]! > 1)) continue;
    // Rows `stood + 1` to `i - 1` stand still.
    const stand_s = time_s[i - 1]! - time_s[stood]!;
    const stands = stand_s >= leastStand_s;
    if (stands) parked_s += stand_s;
    for (let k = stood + 1; k < i; k++) driven_s[k] = driven_s[k - 1]! + (stands ? 0 : time_s[k]! - time_s[k - 1]!);
    if (i < n) driven_s[i] = driven_s[i - 1]! + time_s[i]! - time_s[i - 1]!;
    stood = i;
  }
  const whole_s = time_s[n - 1]! - time_s[0]!;
  return parked_s > leastParked * whole_s && driven_s[n - 1]! > leastParked * whole_s ? driven_s : null;
}

/** Lowest and highest of each bin, at most 2,000 bins. @param start_s from which the trace counts its time. */
export function traceOf(time_s: Float64Array, volume_L: Float64Array, trend_L: Float64Array, start_s: number) {
  const n = time_s.length;
  const width = Math.max(1, Math.ceil(n / 1200));
  const trace = { time_s: [] as number[], low_L: [] as number[], high_L: [] as number[], trend_L: [] as number[] };
  for (let from = 0; from < n; from += width) {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let i = from; i < Math.min(n, from + width); i++) {
      const v = volume_L[i]!;
      if (v < low) low = v;
      if (v > high) high = v;
    }
    if (high < low) continue;
    trace.time_s.push(time_s[from]! - start_s);
    trace.low_L.push(low);
    trace.high_L.push(high);
    trace.trend_L.push(trend_L[from]!);
  }
  return trace;
}

/**
 * Litres by which the volume rises from the first eighth to the last, when every eighth stands above the one before
 * and no single step makes up most of it; null otherwise.
 */
export function steadyRise(volume_L: Float64Array, good: (i: number) => boolean): number | null {
  const n = volume_L.length;
  const parts = 8;
  const level: number[] = [];
  for (let p = 0; p < parts; p++) {
    let sum = 0;
    let count = 0;
    for (let i = Math.floor((p * n) / parts); i < Math.floor(((p + 1) * n) / parts); i++) {
      if (!good(i)) continue;
      sum += volume_L[i]!;
      count++;
    }
    if (count === 0) return null;
    level.push(sum / count);
  }
  const rise = level[parts - 1]! - level[0]!;
  const steps = level.slice(1).map((v, i) => v - level[i]!);
  return rise > 0 && steps.every((d) => d > 0) && Math.max(...steps) < 0.5 * rise ? rise : null;
}
