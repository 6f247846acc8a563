/**
 * The device: what it does to a reading, in the one place that display, ends, trial and complaint all replay it by:
 * fault limits (last good value) → median → hold in a corner → low-pass at its own rate, with the refuelling rule → table (end values
 * held) → rate limit → deadband → base → displayed step. What a device does not have is left out.
 *
 * A device may smooth the volume: then the table comes before the low-pass, and all else stays where it is. Median and hold pick one of
 * the readings, so that they do the same on either side of a table that rises; the refuelling rule is a part of the low-pass and goes with it;
 * a rate limit is in litres and lies behind both.
 */
import { countChanges, jump, lowPass, play, smoothingFactor } from "../math/filter";
import { litresPer } from "../units";
import { type Features, holdInCorner, rateLimited, refuelLowPass, runningMedian } from "./device-features";
import type { DriveLog, DrivePart } from "./drive-log";
import { type Job, unusableOffset_L } from "./job";

/** A record at the device's own updates. */
export interface DeviceRecord {
  interval_s: number;
  reading: Float64Array;
  trend_L: Float64Array;
  /** 1 where the reading is outside the fault limits or blank. */
  faulty: Uint8Array;
  /** Sideways acceleration, where it was logged. */
  across_g: Float64Array | null;
  /** 1 where the vehicle is parked; null or left out where everything counts as driving. */
  parked?: Uint8Array | null;
}

/**
 * Shorter than this a drive is no ground for a count a minute: then parked samples are counted with it, and the log's own caution says that it stands.
 * Named default, no source.
 */
export const leastDriven_s = 60;

/**
 * The log at the device's rate: the last logged value is held between rows, gaps over 5 s are left out.
 * @param log its parts tell where the vehicle is parked.
 */
export function atDeviceRate(
  log: Pick<DriveLog, "columns"> & Partial<Pick<DriveLog, "parts" | "startsAt_s">>,
  rate_Hz: number,
  faultLow: number | null,
  faultHigh: number | null,
): DeviceRecord {
  const { time_s, reading, trend_L, across_g } = log.columns;
  const interval_s = 1 / rate_Hz;
  const n = time_s.length;
  const span = time_s[n - 1]! - time_s[0]!;
  const most = Math.floor(span / interval_s) + 1;
  const out = {
    interval_s,
    reading: new Float64Array(most),
    trend_L: new Float64Array(most),
    faulty: new Uint8Array(most),
    across_g: across_g ? new Float64Array(most) : null,
  };
  const parked = createParked(log.parts ?? [], log.startsAt_s ?? 0, most);
  let at = 0;
  let last = Number.NaN;
  let k = 0;
  for (let j = 0; j < most; j++) {
    const t = time_s[0]! + j * interval_s;
    while (at + 1 < n && time_s[at + 1]! <= t + 1e-9) at++;
    if (at + 1 < n && time_s[at + 1]! - time_s[at]! > 5 && t - time_s[at]! > interval_s) continue;
    const v = reading[at]!;
    const bad = Number.isNaN(v) || (faultLow !== null && v < faultLow) || (faultHigh !== null && v > faultHigh);
    if (!Number.isNaN(v)) last = v;
    out.reading[k] = Number.isNaN(v) ? last : v;
    out.trend_L[k] = trend_L[at]!;
    out.faulty[k] = bad ? 1 : 0;
    if (out.across_g) out.across_g[k] = across_g![at]!;
    parked?.mark(k, t - time_s[0]!);
    k++;
  }
  return {
    interval_s,
    reading: out.reading.subarray(0, k),
    trend_L: out.trend_L.subarray(0, k),
    faulty: out.faulty.subarray(0, k),
    across_g: out.across_g ? out.across_g.subarray(0, k) : null,
    parked: parked?.upTo(k, interval_s) ?? null,
  };
}

/** Marks the samples that lie in parked parts, one after the other. Null where there is no such part. */
function createParked(parts: DrivePart[], startsAt_s: number, most: number) {
  const standing = parts.filter((p) => p.kind === "parked" || p.kind === "refuelling");
  if (standing.length === 0) return null;
  const flags = new Uint8Array(most);
  let part = 0;
  let driven = 0;
  return {
    mark(k: number, since_s: number): void {
      const t = startsAt_s + since_s;
      while (part < standing.length && t > standing[part]!.to_s + 1e-9) part++;
      const there = part < standing.length && t > standing[part]!.from_s + 1e-9;
      flags[k] = there ? 1 : 0;
      if (!there) driven++;
    },
    /** Null where so little is driven that nothing can be counted on it alone. */
    upTo: (k: number, interval_s: number): Uint8Array | null =>
      driven * interval_s < leastDriven_s ? null : flags.subarray(0, k),
  };
}

/** Minutes of a record on which the vehicle moves, and those on which it is parked. */
export function minutesOf(record: Pick<DeviceRecord, "reading" | "interval_s" | "parked">): {
  driven: number;
  parked: number;
} {
  const parked = record.parked?.reduce((sum, p) => sum + p, 0) ?? 0;
  const minutes = (samples: number) => (samples * record.interval_s) / 60;
  return { driven: minutes(Math.max(1, record.reading.length - parked)), parked: minutes(parked) };
}

/** Readings that the filter sees: with fault limits a faulty one is replaced by the last good one, without them it goes in as it is. */
export function believed(record: DeviceRecord, faultLimits: boolean): Float64Array {
  const out = Float64Array.from(record.reading);
  let first = 0;
  while (first < out.length && (record.faulty[first] || Number.isNaN(out[first]!))) first++;
  let last = first < out.length ? out[first]! : 0;
  for (let i = 0; i < out.length; i++) {
    if (Number.isNaN(out[i]!) || (faultLimits && record.faulty[i])) out[i] = last;
    else last = out[i]!;
  }
  return out;
}

export interface TablePoint {
  reading: number;
  volume_L: number;
}

/**
 * Straight lines between rows sorted by rising reading; the end value is held outside.
 * @param from @param to samples that are looked up, all of them if left out.
 */
export function lookUp(
  rows: TablePoint[],
  readings: Float64Array,
  out: Float64Array = new Float64Array(readings.length),
  from = 0,
  to = readings.length,
): Float64Array {
  const lowest = rows[0]!;
  const highest = rows[rows.length - 1]!;
  const { reading: least, volume_L: atLeast } = lowest;
  const { reading: most, volume_L: atMost } = highest;
  // The two rows of the sample before: its neighbour mostly lies between them too.
  let below = Number.POSITIVE_INFINITY;
  let above = Number.NEGATIVE_INFINITY;
  let span = 0;
  let start_L = 0;
  let rise_L = 0;
  for (let i = from; i < to; i++) {
    const r = readings[i]!;
    if (r <= least) out[i] = atLeast;
    else if (r >= most) out[i] = atMost;
    else {
      if (!(r >= below && r <= above)) {
        const k = rowBelow(rows, r);
        below = rows[k]!.reading;
        above = rows[k + 1]!.reading;
        span = above - below;
        start_L = rows[k]!.volume_L;
        rise_L = rows[k + 1]!.volume_L - start_L;
      }
      out[i] = start_L + ((r - below) / span) * rise_L;
    }
  }
  return out;
}

/** Last row at or below a reading that lies between the outer rows. */
function rowBelow(rows: TablePoint[], reading: number): number {
  let low = 0;
  let high = rows.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (rows[middle]!.reading <= reading) low = middle;
    else high = middle;
  }
  return low;
}

/** The same for one reading. */
function lookUpOne(rows: TablePoint[], reading: number): number {
  if (reading <= rows[0]!.reading) return rows[0]!.volume_L;
  if (reading >= rows[rows.length - 1]!.reading) return rows[rows.length - 1]!.volume_L;
  const k = rowBelow(rows, reading);
  const a = rows[k]!;
  const b = rows[k + 1]!;
  return a.volume_L + ((reading - a.reading) / (b.reading - a.reading)) * (b.volume_L - a.volume_L);
}

/** What one displayed step is in litres, and the offset of its base. */
export interface Shown {
  step_L: number;
  offset_L: number;
}

export function shownAs(job: Pick<Job, "tank" | "fill" | "device">, total_L: number): Shown {
  const per =
    litresPer(job.device.displayUnit, { density_kg_per_L: null, capacity_L: job.tank.capacity_L ?? total_L }) ?? 1;
  return {
    step_L: job.device.displayStep * per,
    offset_L: job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0,
  };
}

/** Rounds to the displayed step in the device's base; what comes back is litres since the start. */
export function shownValue(
  volume_L: Float64Array,
  shown: Shown,
  out: Float64Array = new Float64Array(volume_L.length),
): Float64Array {
  for (let i = 0; i < volume_L.length; i++)
    out[i] = Math.round((volume_L[i]! - shown.offset_L) / shown.step_L) * shown.step_L + shown.offset_L;
  return out;
}

/** What comes first, smoothing or table. */
export type Order = "reading-then-table" | "table-then-filter";

export const orderOf = ({ device }: { device: Pick<Job["device"], "smooths"> }): Order =>
  device.smooths === "volume" ? "table-then-filter" : "reading-then-table";

export interface DeviceSettings {
  order: Order;
  timeConstant_s: number;
  deadband_L: number;
  deadbandKind: "play" | "jump";
  faultLimits: boolean;
  table: TablePoint[];
  shown: Shown;
  /** What else the device has and is set to; left out: none. */
  features?: Features;
}

export interface Replay {
  smoothed_L: Float64Array;
  held_L: Float64Array;
  shown_L: Float64Array;
}

/** What goes into the table, one value an update. */
export interface BeforeTable {
  interval_s: number;
  reading: Float64Array;
  /** Where a refuel is being followed, in a device that smooths the reading. */
  following: Uint8Array | null;
}

/** Behind fault limits, median and hold, and where the device smooths the reading behind the low-pass too: up to the table. */
export function beforeTable(
  record: DeviceRecord,
  settings: Pick<DeviceSettings, "order" | "timeConstant_s" | "faultLimits" | "table" | "features">,
): BeforeTable {
  const { features } = settings;
  const { interval_s } = record;
  let reading = believed(record, settings.faultLimits);
  if (features) {
    reading = runningMedian(reading, features.medianOf);
    if (features.holdOver_g !== null && record.across_g)
      reading = holdInCorner(reading, record.across_g, features.holdOver_g);
  }
  if (settings.order === "table-then-filter") return { interval_s, reading, following: null };
  const { filtered, following } = smooth(reading, interval_s, settings, (r) => lookUpOne(settings.table, r));
  return { interval_s, reading: filtered, following };
}

/** From the table on to litres, and where the device smooths the volume through the low-pass: up to the rate limit. */
export function behindTable(
  before: BeforeTable,
  settings: Pick<DeviceSettings, "order" | "timeConstant_s" | "table" | "features">,
): { volume_L: Float64Array; following: Uint8Array | null } {
  const volume_L = lookUp(settings.table, before.reading);
  if (settings.order === "reading-then-table") return { volume_L, following: before.following };
  const { filtered, following } = smooth(volume_L, before.interval_s, settings, (litres) => litres, volume_L);
  return { volume_L: filtered, following };
}

/** Low-pass, with the refuelling rule where one is set. */
function smooth(
  values: Float64Array,
  interval_s: number,
  { timeConstant_s, features }: Pick<DeviceSettings, "timeConstant_s" | "features">,
  volumeOf: (value: number) => number,
  out?: Float64Array,
): { filtered: Float64Array; following: Uint8Array | null } {
  return features?.refuel
    ? refuelLowPass(values, timeConstant_s, interval_s, features.refuel, volumeOf)
    : { filtered: lowPass(values, smoothingFactor(timeConstant_s, interval_s), out), following: null };
}

/** The whole device on one record. */
export function replay(record: DeviceRecord, settings: DeviceSettings): Replay {
  const { features } = settings;
  const { volume_L, following } = behindTable(beforeTable(record, settings), settings);
  const smoothed_L =
    features && features.rateLimit_L_per_s !== null
      ? rateLimited(volume_L, features.rateLimit_L_per_s * record.interval_s, following)
      : volume_L;
  const held_L =
    settings.deadband_L > 0
      ? (settings.deadbandKind === "play" ? play : jump)(smoothed_L, settings.deadband_L)
      : smoothed_L;
  return { smoothed_L, held_L, shown_L: shownValue(held_L, settings.shown) };
}

export interface Steadiness {
  /** Changes and reversals while the vehicle moves, and the minutes in which it does; the changes while it is parked beside them. */
  minutes: number;
  changes: number;
  reversals: number;
  parkedMinutes: number;
  parkedChanges: number;
  rmsError_L: number;
  meanError_L: number;
  worstError_L: number;
}

/** Counts of a shown record, and its errors against the trend; errors over all of it, parked or not. */
export function steadiness(
  shown_L: Float64Array,
  record: Pick<DeviceRecord, "trend_L" | "interval_s" | "reading" | "parked">,
): Steadiness {
  const { trend_L } = record;
  const { changes, reversals, apart } = countChanges(shown_L, record.parked ?? null);
  let squares = 0;
  let sum = 0;
  let worst = 0;
  for (let i = 0; i < shown_L.length; i++) {
    const d = shown_L[i]! - trend_L[i]!;
    squares += d * d;
    sum += d;
    if (Math.abs(d) > worst) worst = Math.abs(d);
  }
  const n = Math.max(1, shown_L.length);
  const minutes = minutesOf(record);
  return {
    minutes: minutes.driven,
    changes,
    reversals,
    parkedMinutes: minutes.parked,
    parkedChanges: apart,
    rmsError_L: Math.sqrt(squares / n),
    meanError_L: sum / n,
    worstError_L: worst,
  };
}

/** Flickers at an end: leaving the end value and coming back, an hour. Null when the record never stands there. */
export function flickersPerHour(
  shown_L: Float64Array,
  end_L: number,
  interval_s: number,
): { perHour: number; flickers: number; hours: number } | null {
  let at = 0;
  let flickers = 0;
  let left = false;
  for (let i = 0; i < shown_L.length; i++) {
    const on = Math.abs(shown_L[i]! - end_L) < 1e-9;
    if (on) {
      at++;
      if (left) flickers++;
      left = false;
    } else if (at > 0 && i > 0 && Math.abs(shown_L[i - 1]! - end_L) < 1e-9) left = true;
  }
  const hours = (at * interval_s) / 3600;
  return hours > 0 ? { perHour: flickers / Math.max(hours, 1 / 60), flickers, hours } : null;
}
