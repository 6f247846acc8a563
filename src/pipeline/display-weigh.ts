/** Display, weighed: how steady and how wrong is a pair of time constant and deadband on these logs? */
import type { Issue } from "../answer";
import { fixed } from "../format";
import type { BelievedLimits } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import { steadiness } from "./device-counts";
import { beforeTable, behindTable, type Order, orderOf } from "./device-model";
import { atDeviceRate, believed, type DeviceRecord, minutesOf } from "./device-record";
import { lookUp, type Shown, shownAs, shownValue } from "./device-table";
import { countShown, createSmoothed, type ShownCount, type Smoothed, sumTrend } from "./display-count";
import { afterEarlyRefuel, expectedSquare, settledFrom } from "./display-error";
import type { DriveLog } from "./drive-log";
import { steepestEnd } from "./end-motion";
import type { Job } from "./job";

export interface DisplaySetting {
  timeConstant_s: number;
  deadband_L: number;
  /** Lag in litres at the log's burn, and seconds to show 90 % of a refuel. */
  lag_L: number;
  refuel90_s: number;
  reversalsPerMinute: number;
  /** Half-width of the 95 % interval of that count. */
  reversalsHalfWidth: number;
  digitChangesPerMinute: number;
  rmsError_L: number;
}

/** A setting with what it is chosen by: error expected on a service day, upper limit of the reversals, turns back in a pass of an end. */
export interface Weighed extends DisplaySetting {
  expected_L: number;
  upper: number;
  perPass: number;
}

/** What every pair is replayed on. */
export interface DisplayGround {
  logs: DriveLog[];
  records: DeviceRecord[];
  /** Their readings, what lies outside the fault limits replaced. */
  believed: Float64Array[];
  order: Order;
  /** The curve as the table. */
  table: { reading: number; volume_L: number }[];
  total_L: number;
  shown: Shown;
  interval_s: number;
  burn_L_per_s: number;
  /** Whether readings outside the fault limits are replaced. */
  faults: boolean;
}

export function displayGround(
  logs: DriveLog[],
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: Pick<Job, "tank" | "fill" | "device">,
): DisplayGround {
  const { device } = job;
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const faultLow = limits?.faultLow ?? null;
  const faultHigh = limits?.faultHigh ?? null;
  const faults = device.has.includes("fault-limits") && (faultLow !== null || faultHigh !== null);
  const records = logs.map((l) => atDeviceRate(l, device.rate_Hz, faultLow, faultHigh));
  return {
    logs,
    records,
    believed: records.map((r) => believed(r, faults)),
    order: orderOf(job),
    table: curve.grid.map((g) => ({ reading: g.reading, volume_L: g.volume_L })),
    total_L,
    shown: shownAs(job, total_L),
    interval_s: 1 / device.rate_Hz,
    burn_L_per_s: Math.max(...logs.map((l) => l.burn_L_per_h)) / 3600,
    faults,
  };
}

export interface Weigher {
  weigh(timeConstant_s: number, deadband_L: number): Weighed;
  /** The pair on each log by itself. */
  byLog(pair: { timeConstant_s: number; deadband_L: number }): LogSteadiness[];
}

/** Steadiness on one log: counted over the minutes in which the vehicle moves, the parked ones beside them. */
export interface LogSteadiness {
  file: string;
  minutes: number;
  parkedMinutes: number;
  reversalsPerMinute: number;
}

export function createWeigher(
  ground: DisplayGround,
  curve: VolumeByReading,
  job: Pick<Job, "tank" | "fill" | "circuit" | "device">,
): Weigher {
  const { logs, records, shown, burn_L_per_s } = ground;
  // Turns of the digits go with the square of the motion in litres (σ²/(2d²τ), methods part 8): it may be larger at an end than on the log.
  const steeper = steepestEnd(logs, curve, job) ** 2;
  // On a service day the level falls: what is read then stands this much higher than what is there (0 for a table found in a device).
  const middle = curve.grid[curve.grid.length >> 1]!;
  const high_L = middle.volume_L - (middle.serviceVolume_L ?? middle.volume_L);
  const trends = records.map((r) => sumTrend(r.trend_L));
  const lengths = records.map(minutesOf);
  const starts = records.map((r) => afterEarlyRefuel(r.trend_L));
  const volumes = createSmoothed(records, ground.believed, ground.table, ground.order);
  const countFor = (v: Smoothed[], timeConstant_s: number, deadband_L: number) =>
    v.map((one, k) => {
      const since = settledFrom(timeConstant_s, records[k]!.interval_s, one.volume_L.length, starts[k]!);
      return countShown(one, trends[k]!, deadband_L, shown, 4, since, records[k]!.parked ?? null);
    });
  let bare: { timeConstant_s: number; counts: ShownCount[] } | null = null;
  return {
    weigh(timeConstant_s, deadband_L) {
      let minutes = 0;
      let reversals = 0;
      let changes = 0;
      let squares = 0;
      let n = 0;
      let worst = 0;
      let turns = 0;
      let expected = 0;
      const smoothed = volumes(timeConstant_s);
      if (bare?.timeConstant_s !== timeConstant_s)
        bare = { timeConstant_s, counts: countFor(smoothed, timeConstant_s, 0) };
      const { counts: bareCounts } = bare;
      const counts = deadband_L > 0 ? countFor(smoothed, timeConstant_s, deadband_L) : bareCounts;
      counts.forEach((c, k) => {
        const samples = smoothed[k]!.volume_L.length;
        const { driven, parked } = lengths[k]!;
        minutes += driven;
        reversals += c.reversals;
        changes += c.changes;
        turns += c.turnsElsewhere;
        squares += c.squares;
        expected +=
          samples *
          expectedSquare(c, bareCounts[k]!, {
            high_L,
            lag_L: (timeConstant_s * logs[k]!.burn_L_per_h) / 3600,
            timeConstant_s,
            duration_s: 60 * (driven + parked),
            step_L: shown.step_L,
          });
        n += samples;
        // Settings must hold for every log: the worst one decides.
        worst = Math.max(worst, upperRate(c.reversals, driven));
      });
      return {
        timeConstant_s,
        deadband_L,
        lag_L: timeConstant_s * burn_L_per_s,
        refuel90_s: Math.LN10 * timeConstant_s,
        reversalsPerMinute: reversals / minutes,
        reversalsHalfWidth: halfWidth(reversals, minutes),
        digitChangesPerMinute: changes / minutes,
        rmsError_L: Math.sqrt(squares / n),
        expected_L: Math.sqrt(Math.max(0, expected / n)),
        upper: worst,
        perPass:
          burn_L_per_s > 0
            ? ((steeper * (((reversals + turns) / 4 / minutes / 60) * shown.step_L)) / burn_L_per_s) * 0.5
            : 0,
      };
    },
    byLog: ({ timeConstant_s, deadband_L }) =>
      volumes(timeConstant_s).map((v, k) => {
        const { driven, parked } = lengths[k]!;
        const { reversals } = countShown(v, trends[k]!, deadband_L, shown, 1, 0, records[k]!.parked ?? null);
        return {
          file: logs[k]!.file,
          minutes: driven,
          parkedMinutes: parked,
          reversalsPerMinute: reversals / driven,
        };
      }),
  };
}

/** Steadiness of the reading as it comes, or behind a filter of one second: for comparison. */
export function steadinessOf(
  ground: DisplayGround,
  filter_s: number,
): { reversalsPerMinute: number; digitChangesPerMinute: number } {
  let minutes = 0;
  let reversals = 0;
  let changes = 0;
  for (const r of ground.records) {
    const set = { ...ground, timeConstant_s: filter_s, faultLimits: false };
    const volume_L =
      filter_s > 0 ? behindTable(beforeTable(r, set), set).volume_L : lookUp(ground.table, believed(r, false));
    const s = steadiness(shownValue(volume_L, ground.shown), r);
    minutes += s.minutes;
    reversals += s.reversals;
    changes += s.changes;
  }
  return { reversalsPerMinute: reversals / minutes, digitChangesPerMinute: changes / minutes };
}

/**
 * Seconds without a turn that would show a rate under the wanted one: a log with none in t only shows a rate under 3/t (95 %, methods part 6).
 * Null where none is wanted at all: no log is long enough for that.
 */
export const secondsToTell = (perMinute: number): number | null => (perMinute > 0 ? 180 / perMinute : null);

/** A log on which no setting could be shown to be steady, since it is too short for any. */
export interface TooShort {
  file: string;
  driven_s: number;
  needed_s: number;
}

/** The shortest log, where it is too short to tell: settings must hold for every log. */
export function tooShortToTell(byLog: LogSteadiness[], perMinute: number): TooShort | null {
  const shortest = byLog.reduce((a, b) => (b.minutes < a.minutes ? b : a));
  const needed_s = secondsToTell(perMinute);
  const driven_s = 60 * shortest.minutes;
  return needed_s !== null && driven_s < needed_s ? { file: shortest.file, driven_s, needed_s } : null;
}

/** Turns a minute of a usual display. Named default, the job's own. */
const usualTurns = 2;

/** Shorter than this a log shows a swing of the fuel and no rate of anything. */
export const leastForRates_s = secondsToTell(usualTurns)!;

/**
 * Whether all logs together are too short for any rate. Other than the display's settings, which must hold on each log, a rate is counted over all
 * of them; and a stricter wish asks for a longer log only of the display.
 */
export function tooShortForRates(byLog: LogSteadiness[]): TooShort | null {
  const driven_s = 60 * byLog.reduce((sum, l) => sum + l.minutes, 0);
  if (byLog.length === 0 || driven_s >= leastForRates_s) return null;
  return { file: byLog.map((l) => l.file).join(" and "), driven_s, needed_s: leastForRates_s };
}

/** The same doubt of all that a display does on such a log: in the same words, so that the head names it once. */
export const tooShortIssue = (code: string, { file, driven_s, needed_s }: TooShort, perMinute: number): Issue => ({
  code,
  says: `${file} holds ${fixed(driven_s, 0)} s of driving: too short to tell what holds the display to ${perMinute} reversals a minute.`,
  remedy: `Bring ten minutes or more: ${fixed(needed_s, 0)} s without a turn would just show it.`,
  weight: "doubtful",
});

/** Half of the 95 % interval of a rate, from its count. */
export const halfWidth = (count: number, minutes: number): number => (1.96 * Math.sqrt(count + 1)) / minutes;

/** Upper 95 % limit of a rate from a count (one-sided, normal to the Poisson), with a tenth for drives rougher than this one. */
function upperRate(count: number, minutes: number): number {
  return (1.1 * (count + 1.645 * Math.sqrt(count + 1))) / minutes;
}
