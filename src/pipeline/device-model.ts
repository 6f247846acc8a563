/**
 * The device: what it does to a reading, in the one place that display, ends, trial and complaint all replay it by:
 * fault limits (last good value) → median → hold in a corner → low-pass at its own rate, with the refuelling rule → table (end values
 * held) → rate limit → deadband → base → displayed step. What a device does not have is left out.
 *
 * A device may smooth the volume: then the table comes before the low-pass, and all else stays where it is. Median and hold pick one of
 * the readings, so that they do the same on either side of a table that rises; the refuelling rule is a part of the low-pass and goes with it;
 * a rate limit is in litres and lies behind both.
 *
 * A deadband given in volts holds what goes into the table instead of what comes out of it, with all that lies behind it.
 */
import { jump, lowPass, play, smoothingFactor } from "../math/filter";
import type { HeldVolts } from "./deadband-in-volts";
import { type Features, holdInCorner, rateLimited, refuelLowPass, runningMedian } from "./device-features";
import { believed, type DeviceRecord } from "./device-record";
import { columnsOf, lookUpAlong, lookUpOne, rowsAlong, type Shown, shownValue, type TablePoint } from "./device-table";
import type { Job } from "./job";

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
  /** What the table is straight in between its rows, of a reading; left out: the reading itself. */
  along?: ((reading: number) => number) | null;
  shown: Shown;
  /** What else the device has and is set to; left out: none. */
  features?: Features;
  /** Where the deadband is given in volts; left out: it holds litres. */
  holds?: HeldVolts | null;
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
  settings: Pick<DeviceSettings, "order" | "timeConstant_s" | "faultLimits" | "table" | "along" | "features">,
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
  const { along } = settings;
  const table = columnsOf(rowsAlong(settings.table, along));
  const { filtered, following } = smooth(reading, interval_s, settings, (r) => lookUpOne(table, along ? along(r) : r));
  return { interval_s, reading: filtered, following };
}

/** From the table on to litres, and where the device smooths the volume through the low-pass: up to the rate limit. */
export function behindTable(
  before: BeforeTable,
  settings: Pick<DeviceSettings, "order" | "timeConstant_s" | "table" | "along" | "features">,
): { volume_L: Float64Array; following: Uint8Array | null } {
  const volume_L = lookUpAlong(settings.table, before.reading, settings.along);
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

/** What is done to the volts of a reading, in the reading's own unit. */
const inVolts = (reading: Float64Array, { scale }: HeldVolts, done: (volts: Float64Array) => Float64Array) =>
  done(reading.map(scale.to)).map(scale.from);

/** The whole device on one record. */
export function replay(record: DeviceRecord, settings: DeviceSettings): Replay {
  const { features } = settings;
  const before = beforeTable(record, settings);
  const limited = (into: BeforeTable) => {
    const { volume_L, following } = behindTable(into, settings);
    return features && features.rateLimit_L_per_s !== null
      ? rateLimited(volume_L, features.rateLimit_L_per_s * record.interval_s, following)
      : volume_L;
  };
  const smoothed_L = limited(before);
  const hold = settings.deadbandKind === "play" ? play : jump;
  const { deadband_L, holds } = settings;
  const held_L = !(deadband_L > 0)
    ? smoothed_L
    : holds
      ? limited({ ...before, reading: inVolts(before.reading, holds, (v) => hold(v, deadband_L / holds.perVolt_L)) })
      : hold(smoothed_L, deadband_L);
  return { smoothed_L, held_L, shown_L: shownValue(held_L, settings.shown) };
}
