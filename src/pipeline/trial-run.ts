/** Trial runs: what a display does on logs that were replayed through it, in figures. */
import { flickersPerHour, steadiness } from "./device-counts";
import type { DeviceSettings, Replay } from "./device-model";
import type { DeviceRecord } from "./device-record";
import { lagOf } from "./trial-lag";

export interface TrialRun {
  /** Shown minus trend, litres: root mean square, mean, and worst. */
  rmsError_L: number;
  meanError_L: number;
  worstError_L: number;
  reversalsPerMinute: number;
  digitChangesPerMinute: number;
  digitChanges: number;
  /** Digit changes while the vehicle is parked, in none of the others. */
  parkedDigitChanges: number;
  emptyFlickersPerHour: number;
  fullFlickersPerHour: number;
  /** Time constant that was replayed, and how far behind it hangs on this log's trend, replayed without motion, litres. */
  lag_s: number;
  lag_L: number;
}

/** One log and what the device makes of it. */
export interface Replayed {
  record: DeviceRecord;
  run: Replay;
}

/** After a refuel the smoothing runs after the level for so many time constants: a hundredth of the refuel is then left to catch up. */
const caughtUp = 5;

/**
 * About each record's own mean, so that lag and a level that reads wrong stay out of it. What the display runs after a refuel by is no motion either:
 * filling, and the time constants in which the smoothing catches up, are left out. 0 where nothing else is there to tell it.
 */
export function smoothedSd(
  logs: { record: DeviceRecord; run: Pick<Replay, "smoothed_L"> }[],
  timeConstant_s: number,
): number {
  let squares = 0;
  let n = 0;
  for (const { record, run } of logs) {
    const { trend_L, interval_s } = record;
    const wait = Math.ceil((caughtUp * timeConstant_s) / interval_s);
    let settled = 0;
    let count = 0;
    let sum = 0;
    let own = 0;
    for (let i = 0; i < trend_L.length; i++) {
      if (i > 0 && trend_L[i]! - trend_L[i - 1]! > 1e-6) settled = i + wait;
      if (i < settled) continue;
      const d = run.smoothed_L[i]! - trend_L[i]!;
      count++;
      sum += d;
      own += d * d;
    }
    if (count === 0) continue;
    squares += own - sum ** 2 / count;
    n += count;
  }
  return n === 0 ? 0 : Math.sqrt(Math.max(0, squares / n));
}

/** All logs of one setting, counted together. */
export function runAll(logs: Replayed[], settings: DeviceSettings): TrialRun {
  let minutes = 0;
  let changes = 0;
  let parkedChanges = 0;
  let reversals = 0;
  let squares = 0;
  let sum = 0;
  let n = 0;
  let worst = 0;
  const flicker = { empty: { count: 0, hours: 0 }, full: { count: 0, hours: 0 } };
  const rows = settings.table;
  const ends = [rows[0]!.volume_L, rows[rows.length - 1]!.volume_L].sort((a, b) => a - b);
  const onStep = (v: number) =>
    Math.round((v - settings.shown.offset_L) / settings.shown.step_L) * settings.shown.step_L + settings.shown.offset_L;
  for (const {
    record,
    run: { shown_L },
  } of logs) {
    const s = steadiness(shown_L, record);
    minutes += s.minutes;
    changes += s.changes;
    parkedChanges += s.parkedChanges;
    reversals += s.reversals;
    squares += s.rmsError_L ** 2 * shown_L.length;
    sum += s.meanError_L * shown_L.length;
    n += shown_L.length;
    worst = Math.max(worst, s.worstError_L);
    for (const [which, end] of [
      ["empty", ends[0]!],
      ["full", ends[1]!],
    ] as const) {
      const f = flickersPerHour(shown_L, onStep(end), record.interval_s);
      if (f) {
        flicker[which].count += f.flickers;
        flicker[which].hours += f.hours;
      }
    }
  }
  const perHour = (f: { count: number; hours: number }) => (f.hours > 0 ? f.count / Math.max(f.hours, 1 / 60) : 0);
  return {
    rmsError_L: Math.sqrt(squares / n),
    meanError_L: sum / n,
    worstError_L: worst,
    reversalsPerMinute: reversals / minutes,
    digitChangesPerMinute: changes / minutes,
    digitChanges: changes,
    parkedDigitChanges: parkedChanges,
    emptyFlickersPerHour: perHour(flicker.empty),
    fullFlickersPerHour: perHour(flicker.full),
    lag_s: settings.timeConstant_s,
    lag_L: lagOf(
      logs.map((l) => l.record),
      settings,
    ),
  };
}
