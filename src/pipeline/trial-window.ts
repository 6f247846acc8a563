/** The roughest few minutes of a trial, as they are drawn. */
import type { Replay } from "./device-model";
import { type Shown, shownValue } from "./device-table";
import type { Replayed } from "./trial-run";

export interface RoughWindow {
  from_s: number;
  to_s: number;
  time_s: number[];
  raw_L: number[];
  smoothed_L: number[];
  shown_L: number[];
  trend_L: number[];
  changes: { bare_s: number[]; smoothed_s: number[]; shown_s: number[] };
}

/** The roughest six minutes, thinned to at most 1,500 points, with every digit change of bare, smoothed and shown. */
export function windowOf({ record, run: done }: Replayed, raw: Replay, shown: Shown): RoughWindow {
  const n = record.reading.length;
  const width = Math.min(n, Math.round(360 / record.interval_s));
  const stride = Math.max(1, Math.floor(width / 6));
  let from = 0;
  let roughest = -1;
  for (let a = 0; a + width <= n; a += stride) {
    let s = 0;
    for (let i = a; i < a + width; i++) s += (raw.smoothed_L[i]! - record.trend_L[i]!) ** 2;
    if (s > roughest) [roughest, from] = [s, a];
  }
  const to = Math.min(n, from + width);
  const keep = Math.max(1, Math.ceil(width / 1500));
  const at: number[] = [];
  for (let i = from; i < to; i += keep) at.push(i);
  const pick = (v: Float64Array) => at.map((i) => v[i]!);
  const smoothedShown = shownValue(done.smoothed_L, shown);
  const changesOf = (v: Float64Array) => {
    const list: number[] = [];
    for (let i = from + 1; i < to; i++) if (v[i] !== v[i - 1]) list.push((i - from) * record.interval_s);
    return list;
  };
  return {
    from_s: from * record.interval_s,
    to_s: to * record.interval_s,
    time_s: at.map((i) => (i - from) * record.interval_s),
    raw_L: pick(raw.smoothed_L),
    smoothed_L: pick(done.smoothed_L),
    shown_L: pick(done.shown_L),
    trend_L: pick(record.trend_L),
    changes: { bare_s: changesOf(raw.shown_L), smoothed_s: changesOf(smoothedShown), shown_s: changesOf(done.shown_L) },
  };
}
