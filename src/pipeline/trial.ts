/** Trial: would the driver trust this display? Replays the log through exactly what will be typed, as found beside it. */
import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import { type FoundDeadband, foundDeadband, foundRows, foundUnit } from "./as-found";
import type { Circuit } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import { heldVolts } from "./deadband-in-volts";
import { noFeatures } from "./device-features";
import { type DeviceSettings, replay } from "./device-model";
import { atDeviceRate, minutesOf } from "./device-record";
import { shownAs, type TablePoint } from "./device-table";
import { deviceScale, recordIn, rowsIn } from "./device-unit";
import type { Display } from "./display";
import { type LogSteadiness, type TooShort, tooShortIssue, tooShortToTell } from "./display-weigh";
import type { DriveLog, Shows } from "./drive-log";
import type { Job, ReadingUnit } from "./job";
import type { Table } from "./table";
import { offOnAverage } from "./trial-off";
import { type Replayed, runAll, smoothedSd, type TrialRun } from "./trial-run";
import { type RoughWindow, windowOf } from "./trial-window";

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
  window: RoughWindow;
}

/** Why none of the logs shows motion, as the first of them says; null where one does. */
function unseenIn(logs: DriveLog[]): Trial["unseen"] {
  const first = logs[0]?.shows ?? "motion";
  return first === "motion" || logs.some((l) => l.shows === "motion") ? null : first;
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
