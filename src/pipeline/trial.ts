/** Trial: would the driver trust this display? Replays the log through exactly what will be typed, as found beside it. */
import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import { say } from "../said";
import { type FoundDeadband, foundDeadband, foundRows, foundUnit } from "./as-found";
import type { Circuit } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import { heldVolts } from "./deadband-in-volts";
import { flickersPerHour, steadiness } from "./device-counts";
import { noFeatures } from "./device-features";
import { type DeviceSettings, type Replay, replay } from "./device-model";
import { atDeviceRate, type DeviceRecord, minutesOf } from "./device-record";
import { type Shown, shownAs, shownValue, type TablePoint } from "./device-table";
import { deviceScale, recordIn, rowsIn } from "./device-unit";
import type { Display } from "./display";
import { type LogSteadiness, type TooShort, tooShortIssue, tooShortToTell } from "./display-weigh";
import type { DriveLog, Shows } from "./drive-log";
import type { Job, ReadingUnit } from "./job";
import { litresTo } from "./litres";
import type { Table } from "./table";
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

export interface Trial extends TrialRun {
  /** In which the vehicle moves: turns and digit changes are counted over these; and in which it is parked. */
  minutes: number;
  parkedMinutes: number;
  /** Standard deviation of the volume behind the smoothing about its own mean distance from the trend, litres: before the deadband. */
  smoothedSd_L: number;
  /** Set where a log is too short to tell how often the display turns round. */
  tooShort: TooShort | null;
  /** Why no log shows whether the display stands still on the road; null where one does. */
  unseen: Exclude<Shows, "motion"> | null;
  /** As recommended on each log by itself, and which of them turns the display round most often. */
  byLog: (LogSteadiness & { rmsError_L: number })[];
  worstLog: number;
  asFound: TrialRun | null;
  /** The deadband that it was replayed with. */
  asFoundDeadband: FoundDeadband | null;
  /** Two points with a 1 s filter: the common practice, for comparison. */
  twoPoint: TrialRun;
  bare: TrialRun;
  /** For the figure: the roughest few minutes. */
  window: {
    from_s: number;
    to_s: number;
    time_s: number[];
    raw_L: number[];
    smoothed_L: number[];
    shown_L: number[];
    trend_L: number[];
    changes: { bare_s: number[]; smoothed_s: number[]; shown_s: number[] };
  };
}

/** Why none of the logs shows motion, as the first of them says; null where one does. */
function unseenIn(logs: DriveLog[]): Trial["unseen"] {
  const first = logs[0]?.shows ?? "motion";
  return first === "motion" || logs.some((l) => l.shows === "motion") ? null : first;
}

/** One log and what the device makes of it. */
interface Replayed {
  record: DeviceRecord;
  run: Replay;
}

/**
 * Replays what will be typed. Without a fill run there is no new table: then the one found in the device is replayed with the recommended
 * smoothing and deadband, against its own litres.
 *
 * @returns never stuck; caution `trial/unsteady` when the replay with the rounded table misses the wanted steadiness on any log; the worst is named.
 */
export function replayTrial(
  logs: DriveLog[],
  table: Table | null,
  display: Display,
  circuit: Circuit | null,
  curve: VolumeByReading,
  job: Job,
): Answer<Trial> {
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const faults = display.uses.includes("fault-limits");
  const read = logs.map((l) =>
    atDeviceRate(l, job.device.rate_Hz, circuit?.faultLow ?? null, circuit?.faultHigh ?? null),
  );
  /** The logs, and rows in the curve's unit, in the unit that a table stands in. */
  const inUnitOf = (tableUnit: ReadingUnit | "mV") => {
    const own = deviceScale(curve.readingUnit, tableUnit, job);
    const scale = own?.scale ?? null;
    return {
      unit: own?.unit ?? curve.readingUnit,
      records: read.map((r) => recordIn(r, scale)),
      rows: (rows: TablePoint[]) =>
        rowsIn(
          rows.map(({ reading, volume_L }) => ({ reading, volume_L })),
          scale,
        ).sort((a, b) => a.reading - b.reading),
    };
  };
  const typed = inUnitOf(table?.readingUnit ?? foundUnit(job));
  const asItWas = inUnitOf(foundUnit(job));
  const settings: DeviceSettings = {
    order: display.order,
    timeConstant_s: display.timeConstant_s,
    deadband_L: display.deadband_L,
    deadbandKind: display.deadbandKind,
    faultLimits: faults,
    table: table ? typed.rows(table.rows) : foundRows(job, typed.unit),
    shown,
    features: display.features,
    holds: heldVolts({ litres: display.deadband_L, volts: display.asked.deadband }, typed.unit, job),
  };
  const ends = [settings.table[0]!, settings.table[settings.table.length - 1]!];
  const twoRows = table ? typed.rows(table.twoPoint.rows) : ends;
  const bareSettings: DeviceSettings = {
    ...settings,
    timeConstant_s: 0,
    deadband_L: 0,
    faultLimits: false,
    features: noFeatures,
  };
  const twoPoint: DeviceSettings = { ...bareSettings, table: twoRows, timeConstant_s: 1 };
  const replayed = (as: DeviceSettings, records = typed.records): Replayed[] =>
    records.map((record) => ({ record, run: replay(record, as) }));
  const asTyped = replayed(settings);
  const bare = replayed(bareSettings);
  const one = runAll(asTyped, settings);
  const foundBand = foundDeadband(job, total_L);
  const foundTable = foundRows(job, asItWas.unit);
  const found =
    foundTable.length >= 2
      ? {
          ...bareSettings,
          table: foundTable,
          faultLimits: job.asFound.faultLimits === true,
          timeConstant_s: job.asFound.timeConstant_s ?? 0,
          deadband_L: foundBand.deadband_L,
          holds: heldVolts({ litres: foundBand.deadband_L, volts: foundBand.typed }, asItWas.unit, job),
        }
      : null;
  const byLog = asTyped.map((log, k) => {
    const { reversalsPerMinute, rmsError_L } = runAll([log], settings);
    const { driven: minutes, parked: parkedMinutes } = minutesOf(log.record);
    return { file: logs[k]!.file, minutes, parkedMinutes, reversalsPerMinute, rmsError_L };
  });
  // Settings must hold for all logs: the worst one is judged, and shown.
  const worstLog = byLog.reduce((w, l, k) => (l.reversalsPerMinute > byLog[w]!.reversalsPerMinute ? k : w), 0);
  const worst = byLog[worstLog]!;
  const cautions: Issue[] = [];
  const tooShort = tooShortToTell(byLog, job.targets.displayReversalsPerMinute);
  if (tooShort) cautions.push(tooShortIssue("trial/too-short", tooShort, job.targets.displayReversalsPerMinute));
  if (worst.reversalsPerMinute > job.targets.displayReversalsPerMinute)
    cautions.push({
      code: "trial/unsteady",
      says: `Replayed as typed${byLog.length > 1 ? ` on ${worst.file}, the worst of ${byLog.length} logs` : ""}, the display turns back ${fixed(worst.reversalsPerMinute, 1)} times a minute, more than the ${job.targets.displayReversalsPerMinute} that you want.`,
      remedy: "Smooth more, or widen the deadband.",
      weight: "doubtful",
    });
  const believed = faults ? 0 : logs.reduce((n, l) => n + l.counts.dropouts, 0);
  const off = offOnAverage(
    one,
    total_L,
    believed,
    table && { tableError_L: table.error_L, rows: table.rows.length, step_L: shown.step_L },
  );
  if (off) cautions.push(off);
  return ready(
    {
      ...one,
      // Drop-outs that the device takes for fuel are no motion that lights the warning early: what they do is counted by itself.
      smoothedSd_L: smoothedSd(
        believed > 0 ? replayed({ ...settings, faultLimits: true }) : asTyped,
        display.timeConstant_s,
      ),
      minutes: byLog.reduce((s, l) => s + l.minutes, 0),
      parkedMinutes: byLog.reduce((s, l) => s + l.parkedMinutes, 0),
      tooShort,
      unseen: unseenIn(logs),
      byLog,
      worstLog,
      asFound: found ? runAll(replayed(found, asItWas.records), found) : null,
      asFoundDeadband: found ? foundBand : null,
      twoPoint: runAll(replayed(twoPoint), twoPoint),
      bare: runAll(bare, bareSettings),
      window: windowOf(asTyped[worstLog]!, bare[worstLog]!.run, shown),
    },
    cautions,
  );
}

/** Mean distance from the trend, beyond the lag, as a share of the tank: from here on it is said by itself. Named default, no source. */
const muchOff = 0.05;

/** A display may stand still and yet far from the fuel: steadiness alone would pass for a sound result. */
export function offOnAverage(
  run: TrialRun,
  total_L: number,
  believedDropouts: number,
  coarse: { tableError_L: number; rows: number; step_L: number } | null = null,
): Issue | null {
  const { meanError_L, lag_L } = run;
  if (!(Math.abs(meanError_L) - Math.abs(lag_L) > muchOff * total_L)) return null;
  // What is typed may be off by so much without any motion: then the drive is not to blame.
  if (coarse && believedDropouts === 0) {
    const byTable = coarse.tableError_L >= 0.5 * Math.abs(meanError_L);
    if (byTable || coarse.step_L / 2 >= 0.5 * Math.abs(meanError_L))
      return {
        code: "trial/off-on-average",
        says: say`Replayed as typed, the display shows ${litresTo(Math.abs(meanError_L), 1)} too ${meanError_L > 0 ? "much" : "little"} on average on these logs, because ${
          byTable
            ? say`the ${coarse.rows} rows of the table stray by up to ${litresTo(coarse.tableError_L, 1)} from the curve`
            : say`it shows whole steps of ${litresTo(coarse.step_L, 1)}`
        }. The ends do not count with that.`,
        remedy: byTable
          ? "Allow more rows in the job if the device takes them, or a finer step for them."
          : "State a smaller displayed step, if the device has one.",
        weight: "doubtful",
      };
  }
  const many = `${believedDropouts} drop-out${believedDropouts === 1 ? "" : "s"}`;
  return {
    code: "trial/off-on-average",
    says: say`Replayed as typed, the display shows ${litresTo(Math.abs(meanError_L), 1)} too ${meanError_L > 0 ? "much" : "little"} on average on these logs${
      believedDropouts > 0
        ? `: the device takes ${many} for fuel and smooths ${believedDropouts === 1 ? "it" : "them"} in`
        : ", far more than its lag"
    }. The ends do not count with that.`,
    remedy:
      believedDropouts > 0
        ? "Mend the wire or the contact first, or take a device with fault limits that holds the last good value."
        : "Look at the drive log: another tank, a float that hangs, or a course that turns one way.",
    weight: "doubtful",
  };
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

function runAll(logs: Replayed[], settings: DeviceSettings): TrialRun {
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

/** The roughest six minutes, thinned to at most 1,500 points, with every digit change of bare, smoothed and shown. */
function windowOf({ record, run: done }: Replayed, raw: Replay, shown: Shown): Trial["window"] {
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
