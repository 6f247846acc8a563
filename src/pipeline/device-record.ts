/** Device record: a log as the device would have read it, at its own updates, with what it believes and where the vehicle stands. */
import type { DriveLog, DrivePart } from "./drive-log";

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
  let parked = 0;
  for (const flag of record.parked ?? []) parked += flag;
  const minutes = (samples: number) => (samples * record.interval_s) / 60;
  return { driven: minutes(Math.max(1, record.reading.length - parked)), parked: minutes(parked) };
}

/** Readings that the filter sees: with fault limits a faulty one is replaced by the last good one, without them it goes in as it is. */
export function believed(record: DeviceRecord, faultLimits: boolean): Float64Array {
  const out = record.reading.slice();
  let first = 0;
  while (first < out.length && (record.faulty[first] || Number.isNaN(out[first]!))) first++;
  let last = first < out.length ? out[first]! : 0;
  for (let i = 0; i < out.length; i++) {
    if (Number.isNaN(out[i]!) || (faultLimits && record.faulty[i])) out[i] = last;
    else last = out[i]!;
  }
  return out;
}
