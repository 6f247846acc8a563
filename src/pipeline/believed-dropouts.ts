/**
 * Drop-outs that a device takes for fuel: a device without fault limits smooths them in, and near empty they lift what it shows (an open wire reads
 * full) or pull it down (a short reads empty). How much, when the light first comes on?
 *
 * The log's own drop-outs are laid over a reading that stands at that level, and replayed through what will be typed; the level then falls at the
 * log's burn, from every moment of the log in turn, until what is shown first comes down to the warning. The log is run over and over, so that none
 * of its moments counts as the first.
 */

import type { Issue } from "../answer";
import { say } from "../said";
import type { BelievedLimits } from "./circuit";
import { type DeviceSettings, replay } from "./device-model";
import { atDeviceRate, type DeviceRecord } from "./device-record";
import { columnsOf, lookUpOne, shownAs } from "./device-table";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";
import { litresTo } from "./litres";
import type { Table } from "./table";

export interface DropoutLift {
  /** Drop-outs on the logs that the device believes. */
  dropouts: number;
  /** What is shown over what is there when the light first comes on, litres: mean and standard uncertainty, for the range. Under 0 it comes on early. */
  lift_L: number;
  standard_L: number;
  /** The same where it is late, an early light counted as one in time: what the warning must allow for. Its spread holds the tail at the stated risk. */
  late_L: number;
  lateStandard_L: number;
  /** Too large, up or down, for a range to be promised; and too late for the reserve to be. */
  tooMuch: boolean;
  tooLate: boolean;
}

/** Shares of the tank from which on nothing is promised: of the mean, and of what it comes to at the stated risk. Named defaults, no source. */
const mostMean = 0.05;
const mostAtRisk = 0.1;
/**
 * Gaps shrink faster than drop-outs grow: by so much more than its share the lift is uncertain. Named default, from falling levels on other drives with
 * the same contact: with 1, 2 and 3 the light came on too late on 2.5–5.0, 0.7–2.8 and 0–2.2 % of them, where 1 % was asked.
 */
const gapsBy = 3;
/** A log is run this often at most, before the moment at which the level passes and after it. */
const mostRuns = 20;

/** One log at the device's updates: the drop-outs in it are those readings that lie outside the fault limits. */
export interface DropoutLog {
  record: DeviceRecord;
  dropouts: number;
}

/**
 * @param at_L volume shown at which the light comes on. @param z of the stated risk, one-sided, and `risk` itself.
 * @returns null where the device knows drop-outs by its fault limits, or the logs hold none.
 */
export function dropoutLift(
  logs: DropoutLog[],
  settings: DeviceSettings,
  limits: { low: number | null; high: number | null },
  at_L: number,
  burn_L_per_s: number,
  total_L: number,
  { z, risk }: { z: number; risk: number },
): DropoutLift | null {
  const dropouts = logs.reduce((n, l) => n + l.dropouts, 0);
  if (settings.faultLimits || dropouts === 0) return null;
  const perLog = logs.map((l) => atFirstLight(liftOf(l.record, settings, limits, at_L), burn_L_per_s, l.record));
  const all = Float64Array.from(perLog.flatMap((d) => [...d])).sort();
  const { mean, sd } = momentsOf(all);
  const late = all.map((d) => Math.max(0, d));
  const ofLate = momentsOf(late);
  // So many drop-outs are known to their square root only, and the light waits for a gap between them; and from log to log they differ as they do.
  const means = perLog.map((d) => momentsOf(d.map((x) => Math.max(0, x))).mean);
  const counted = (of_L: number) => (gapsBy * Math.abs(of_L)) / Math.sqrt(dropouts);
  const between =
    logs.length > 1 ? momentsOf(Float64Array.from(means)).sd * Math.sqrt(logs.length / (logs.length - 1)) : 0;
  const tail = Math.max(0, late[Math.min(late.length - 1, Math.ceil((1 - risk) * late.length))]! - ofLate.mean);
  const standardLate_L = Math.hypot(Math.max(ofLate.sd, z > 0 ? tail / z : 0), counted(ofLate.mean), between);
  const tooLate = ofLate.mean > mostMean * total_L || ofLate.mean + z * standardLate_L > mostAtRisk * total_L;
  return {
    dropouts,
    lift_L: mean,
    standard_L: Math.hypot(sd, counted(mean), between),
    late_L: ofLate.mean,
    lateStandard_L: standardLate_L,
    tooMuch: tooLate || Math.abs(mean) > mostMean * total_L,
    tooLate,
  };
}

/** Litres by which the drop-outs of a log lift what is shown of a level that stands, one value an update: the second of two runs of it. */
export function liftOf(
  record: DeviceRecord,
  settings: DeviceSettings,
  { low, high }: { low: number | null; high: number | null },
  at_L: number,
): Float64Array {
  const rest = readingOf(settings.table, at_L);
  const n = record.reading.length;
  const isOut = (r: number) => (low !== null && r < low) || (high !== null && r > high);
  const twice = <A extends Float64Array | Uint8Array>(v: A, out: A): A => {
    out.set(v);
    out.set(v, n);
    return out;
  };
  const reading = twice(
    record.reading.map((r) => (isOut(r) ? r : rest)),
    new Float64Array(2 * n),
  );
  const { smoothed_L } = replay(
    {
      ...record,
      reading,
      trend_L: new Float64Array(2 * n),
      faulty: new Uint8Array(2 * n),
      across_g: record.across_g && twice(record.across_g, new Float64Array(2 * n)),
      parked: null,
    },
    { ...settings, deadband_L: 0 },
  );
  const still_L = lookUpOne(columnsOf(settings.table), rest);
  return smoothed_L.subarray(n).map((v) => v - still_L);
}

/** Reading at which the table shows a volume; its end rows beyond them. */
function readingOf(table: DeviceSettings["table"], volume_L: number): number {
  const rows = [...table].sort((a, b) => a.volume_L - b.volume_L);
  if (volume_L <= rows[0]!.volume_L) return rows[0]!.reading;
  const k = rows.findIndex((r) => r.volume_L >= volume_L);
  if (k < 0) return rows[rows.length - 1]!.reading;
  const [a, b] = [rows[k - 1]!, rows[k]!];
  return a.reading + ((volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
}

/**
 * What is shown over what is there at the first passage, for a level that would pass the warning at each update of the log in turn.
 * Without a burn the level passes by itself at any moment: then the lift of that moment.
 */
export function atFirstLight(
  lift_L: Float64Array,
  burn_L_per_s: number,
  { interval_s }: Pick<DeviceRecord, "interval_s">,
): Float64Array {
  const fall = burn_L_per_s * interval_s;
  if (!(fall > 0)) return lift_L;
  const n = lift_L.length;
  let [least, most] = [0, 0];
  for (const v of lift_L) {
    if (v < least) least = v;
    if (v > most) most = v;
  }
  const of = (s: number) => lift_L[((s % n) + n) % n]!;
  // A level that falls comes to the warning at the first s with lift(s) ≤ fall·(s − passing); later passings cannot light earlier.
  let s = -Math.min(mostRuns * n, Math.ceil((most - least) / fall));
  const out = new Float64Array(n);
  for (let passing = 0; passing < n; passing++) {
    while (of(s) > fall * (s - passing) && s < passing + mostRuns * n) s++;
    out[passing] = fall * (s - passing);
  }
  return out;
}

function momentsOf(values: Float64Array): { mean: number; sd: number } {
  let sum = 0;
  for (const v of values) sum += v;
  const mean = sum / values.length;
  let squares = 0;
  for (const v of values) squares += (v - mean) ** 2;
  return { mean, sd: Math.sqrt(squares / values.length) };
}

/** A log that reads outside the fault limits for more of its rows than this is another sender's or circuit's, and no contact that opens. Named default, no source. */
const mostOutside = 0.5;

const ofThisSender = ({ record: { faulty } }: DropoutLog): boolean =>
  faulty.reduce((n, f) => n + f, 0) <= mostOutside * faulty.length;

/**
 * What the drop-outs of the logs do to what is shown at this volume, litres since the start. Logs that mostly read outside the fault limits are left out:
 * that they do not belong here is said of the log itself.
 */
export function believedDropouts(
  display: Display,
  table: Pick<Table, "rows">,
  logs: DriveLog[],
  limits: BelievedLimits,
  job: Job,
  at: { volume_L: number; burn_L_per_s: number; total_L: number; z: number },
): DropoutLift | null {
  const rate_Hz = job.device.rate_Hz;
  const { faultLow: low, faultHigh: high } = limits;
  return dropoutLift(
    logs
      .map((log) => ({ record: atDeviceRate(log, rate_Hz, low, high), dropouts: log.counts.dropouts }))
      .filter(ofThisSender),
    {
      order: display.order,
      timeConstant_s: display.timeConstant_s,
      deadband_L: 0,
      deadbandKind: display.deadbandKind,
      faultLimits: display.uses.includes("fault-limits"),
      table: [...table.rows].sort((a, b) => a.reading - b.reading),
      shown: shownAs(job, at.total_L),
      features: display.features,
    },
    { low, high },
    at.volume_L,
    at.burn_L_per_s,
    at.total_L,
    { z: at.z, risk: job.targets.runDryRisk },
  );
}

/** What mends drop-outs that are taken for fuel: the contact first, since fault limits only hide it. */
const mendContact =
  "Mend the wire or the contact first, or take a device with fault limits that holds the last good value; then bring a new log.";

/** Said by warning and range left alike. */
export function ofDropouts({ dropouts, lift_L, tooMuch, tooLate }: DropoutLift): Issue {
  const many = `${dropouts} drop-out${dropouts === 1 ? "" : "s"}`;
  const moved = say`this device takes the ${many} on the logs for fuel, and near empty they move what it shows by ${litresTo(Math.abs(lift_L), 1)} ${lift_L > 0 ? "up" : "down"} on average`;
  return {
    code: "low-fuel/dropouts",
    says: tooLate
      ? say`Neither warning nor range left can be promised: ${moved}.`
      : tooMuch
        ? say`No range left can be promised, and the light comes on early: ${moved}.`
        : say`Warning and range left count drop-outs: ${moved}.`,
    remedy: mendContact,
    ...(tooMuch
      ? { weight: "doubtful" as const }
      : { weight: "holds-if" as const, condition: "the contact drops out no more than on these logs" }),
  };
}
