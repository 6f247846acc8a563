/** The device of a complaint: as it was found, and what a replay gives with one thing changed. */

import { capital, fixed, setText } from "../format";
import { type Said, say } from "../said";
import { flickersPerHour } from "./device-counts";
import { type DeviceSettings, replay } from "./device-model";
import { type DeviceRecord, minutesOf } from "./device-record";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";
import { litresSetTo } from "./litres";

export interface FoundDevice {
  settings: DeviceSettings;
  /** `held`: the same with everything marked faulty that no fuel does: beyond the fault limits, blank, or a leap there and back. */
  records: { log: DriveLog; record: DeviceRecord; held: DeviceRecord }[];
  /** Warning found, litres since the start; null if none. */
  warn_L: number | null;
  /** Whether fault limits are set in it, if that is stated. */
  faultLimits: boolean | null;
  /** What is no fuel, in the readings' unit; null where it cannot be told. */
  limits: { low: number | null; high: number | null };
}

/** Fewer flickers or lights than this in the log are no complaint yet. Named default, no source. */
export const fewest = 3;
/** A cause is named if mending it leaves at most this share of the trouble. Named default, no source. */
export const mends = 0.2;
/** What comes from the line and not from the fuel is named if leaving it out takes away more than half: the rest is motion. Named default, no source. */
export const mostly = 0.4;

/** The same device with what the display leaf recommends of smoothing and deadband. */
export const smoothed = (
  settings: DeviceSettings,
  { timeConstant_s, deadband_L }: Pick<Display, "timeConstant_s" | "deadband_L">,
): DeviceSettings => ({ ...settings, timeConstant_s, deadband_L });

/**
 * A leap: the reading goes so far (share of the table's readings) from one update to the next, and as abruptly back within `within_s`. Fuel takes
 * longer. Logs slower than `least_Hz` cannot show how abrupt it was. Named defaults, no source.
 */
const leap = { share: 0.2, back: 0.1, within_s: 2.5, least_Hz: 4 };

/** @param record at the device's updates. @param span of the table's readings. */
export function withLeaps(log: Pick<DriveLog, "sampleRate_Hz">, record: DeviceRecord, span: number): DeviceRecord {
  if (log.sampleRate_Hz < leap.least_Hz) return record;
  const { reading, interval_s } = record;
  const faulty = Uint8Array.from(record.faulty);
  const most = Math.ceil(leap.within_s / interval_s);
  for (let i = 1; i < reading.length; i++) {
    const before = reading[i - 1]!;
    if (!(Math.abs(reading[i]! - before) > leap.share * span)) continue;
    for (let j = i + 1; j < Math.min(reading.length, i + most); j++) {
      if (Math.abs(reading[j]! - before) > leap.back * span) continue;
      if (Math.abs(reading[j]! - reading[j - 1]!) > leap.share * span) {
        faulty.fill(1, i, j);
        i = j;
      }
      break;
    }
  }
  return { ...record, faulty };
}

/** Updates that a single reading gone astray lasts at most; what is longer is a contact that opens. Named default, no source. */
const spikeUpdates = 2;

/** Stretches of the records in which the reading is no fuel: all, those beyond a fault limit, and single readings that lie within the limits. */
function runsOf(device: FoundDevice): { all: number; beyond: number; spikes: number } {
  const runs = { all: 0, beyond: 0, spikes: 0 };
  for (const { record, held } of device.records) {
    const { faulty } = held;
    for (let from = 0; from < faulty.length; from++) {
      if (!faulty[from]) continue;
      let to = from;
      let beyond = false;
      for (; to < faulty.length && faulty[to]; to++) beyond ||= record.faulty[to] === 1;
      runs.all++;
      if (beyond) runs.beyond++;
      else if (to - from <= spikeUpdates) runs.spikes++;
      from = to;
    }
  }
  return runs;
}

/** Stretches of the records in which the reading is no fuel. */
export const dropoutsOf = (device: FoundDevice): number => runsOf(device).all;

/** Whether most of what is no fuel are single readings that no fault limit holds back: then a median is tried before drop-outs are named. */
export const mostlySpikes = (device: FoundDevice): boolean => {
  const { all, spikes } = runsOf(device);
  return spikes > all / 2;
};

/** The device on the records with the last good reading held wherever the reading is no fuel. */
export const holdingLastGood = (device: FoundDevice): FoundDevice => ({
  ...device,
  settings: { ...device.settings, faultLimits: true },
  records: device.records.map((r) => ({ ...r, record: r.held })),
});

export function countFlickers(device: FoundDevice, settings: DeviceSettings, end_L: number) {
  const { step_L, offset_L } = settings.shown;
  const onStep = Math.round((end_L - offset_L) / step_L) * step_L + offset_L;
  let flickers = 0;
  let hours = 0;
  for (const { record } of device.records) {
    const f = flickersPerHour(replay(record, settings).shown_L, onStep, record.interval_s);
    flickers += f?.flickers ?? 0;
    hours += f?.hours ?? 0;
  }
  return { flickers, hours, perHour: hours > 0 ? flickers / Math.max(hours, 1 / 60) : 0 };
}

/** Minutes of all records: driven, and all. */
export function minutesIn(device: FoundDevice): { driven: number; all: number } {
  let driven = 0;
  let all = 0;
  for (const { record } of device.records) {
    driven += minutesOf(record).driven;
    all += (record.reading.length * record.interval_s) / 60;
  }
  return { driven, all };
}

/** A median of five readings before the smoothing: spikes of one and two samples do not come through. */
export const withoutSpikes = (settings: DeviceSettings): DeviceSettings => ({
  ...settings,
  features: { medianOf: 5, holdOver_g: null, rateLimit_L_per_s: null, refuel: null },
});

/** Where more of the log than this is taken for no fuel, the limits are not those of its sender. Named default, no source. */
const mostFaulty = 0.2;

/** Whether anything drops out that the device follows, and so little that it can be no fuel. */
export function dropsOut(device: FoundDevice): boolean {
  let faulty = 0;
  let followed = 0;
  let n = 0;
  for (const { record, held } of device.records) {
    for (let i = 0; i < held.faulty.length; i++) {
      faulty += held.faulty[i]!;
      if (held.faulty[i] && !(device.settings.faultLimits && record.faulty[i])) followed++;
    }
    n += held.faulty.length;
  }
  return followed > 0 && faulty < mostFaulty * n;
}

/** Spikes: those that the drive log marks, or the single readings that leap there and back, whichever are more. */
export const spikesIn = (device: FoundDevice): number =>
  Math.max(
    device.records.reduce((sum, { log }) => sum + log.counts.spikes, 0),
    runsOf(device).spikes,
  );

export const unitOf = (job: Pick<Job, "readingUnit">): string =>
  job.readingUnit === "ohm" ? "Ω" : job.readingUnit === "count" ? "counts" : "V";

export const digitsOf = (job: Pick<Job, "readingUnit">): number => (unitOf(job) === "V" ? 2 : 0);

/** `5 times`, `twice`, `once`, `never`. */
export const times = (n: number): string => ["never", "once", "twice"][n] ?? `${n} times`;

/** Minutes as they are told, under one of them as seconds. */
export const minutesText = (minutes: number): string =>
  minutes < 0.95 ? `${fixed(60 * minutes, 0)} s` : `${fixed(minutes, minutes < 9.5 ? 1 : 0)} min`;

/** Smoothing as it was found. */
export const smoothingText = (timeConstant_s: number): string =>
  timeConstant_s > 0 ? `${setText(timeConstant_s, "s")} of smoothing` : "no smoothing";

/** What is recommended of both: `38 s and a deadband of ± 0.6 L`. */
export const settingText = ({ timeConstant_s, deadband_L }: Pick<Display, "timeConstant_s" | "deadband_L">): Said =>
  say`${timeConstant_s > 0 ? `${setText(timeConstant_s, "s")} of smoothing` : "no smoothing"} and ${deadband_L > 0 ? say`a deadband of ±\u00a0${litresSetTo(deadband_L)}` : "no deadband"}`;

/** `because the reading drops out 12 times …`: not said of limits that may well be set. */
export function dropoutText(device: FoundDevice): string {
  const n = dropoutsOf(device);
  const told = limitsTold(device).length > 0;
  return `because the reading drops out ${times(n)} and the device follows it${told ? (device.faultLimits === false ? ": no fault limits are set" : device.faultLimits === null ? ", unless fault limits are set in it" : " in spite of its fault limits") : ""}`;
}

/** The limits that are told: none where most of what drops out stays within them, since they would hold nothing back. */
function limitsTold(device: FoundDevice): { name: string; at: number }[] {
  const { low, high } = device.limits;
  const { all, beyond } = runsOf(device);
  if (all > 0 && beyond < all / 2) return [];
  return [
    ...(low !== null ? [{ name: "lower", at: low }] : []),
    ...(high !== null ? [{ name: "upper", at: high }] : []),
  ];
}

export function limitsRemedy(device: FoundDevice, job: Job): string {
  const [unit, digits] = [unitOf(job), digitsOf(job)];
  const wiring = "look for the loose connection that the drop-outs come from";
  const at = limitsTold(device)
    .map(({ name, at }) => `the ${name} one at ${fixed(at, digits)} ${unit}`)
    .join(", ");
  if (at === "") return `${capital(wiring)}.`;
  return job.device.has.includes("fault-limits")
    ? `Set the fault limits, ${at}, and ${wiring}.`
    : `${capital(wiring)}; a device with fault limits (${at}) would hold the last good value meanwhile.`;
}

/** `because single readings spike …: with a median of five readings`: what then is, the caller says. */
export const spikeText = ({ settings }: FoundDevice): string =>
  `because single readings spike and ${smoothingText(settings.timeConstant_s)} lets them through: with a median of five readings`;

export const spikeRemedy = ({ device }: Job): string =>
  device.has.includes("median")
    ? "Set the device’s median, and look for the loose connection that spikes come from."
    : "Look for the loose connection that spikes come from; more smoothing, as the display leaf works out, makes them small.";
