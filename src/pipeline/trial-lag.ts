/** How far the display hangs behind on this log: the burn trend alone, as the sender would read it, through what will be typed. */
import { interpolateHeld } from "../math/interpolate";
import { type DeviceSettings, replay } from "./device-model";
import type { DeviceRecord } from "./device-record";
import { lookUp } from "./device-table";

/** Time constants after which a filter has settled to a steady fall; at most this share of the log goes by. Named defaults, no source. */
const settled = 5;
const mostWaited = 0.5;

/**
 * Shown less true while the level falls, without motion: smoothing, rate limit and features in it, deadband and rounding not.
 * @returns litres, averaged over the log once the filter has settled; above 0 where a falling level is shown too high.
 */
export function lagOf(records: DeviceRecord[], settings: DeviceSettings): number {
  const rows = [...settings.table].sort((a, b) => a.volume_L - b.volume_L);
  const rising = rows.filter((r, i) => i === 0 || r.volume_L > rows[i - 1]!.volume_L);
  const [volumes, readings] = [rising.map((r) => r.volume_L), rising.map((r) => r.reading)];
  let sum = 0;
  let n = 0;
  for (const record of records) {
    const reading = record.trend_L.map((v) => interpolateHeld(volumes, readings, v));
    const still: DeviceRecord = { ...record, reading, faulty: new Uint8Array(reading.length), across_g: null };
    const { smoothed_L } = replay(still, { ...settings, deadband_L: 0 });
    const there = lookUp(settings.table, reading);
    const wait = Math.round((settled * settings.timeConstant_s) / record.interval_s);
    for (let i = Math.min(wait, Math.floor(mostWaited * reading.length)); i < reading.length; i++) {
      sum += smoothed_L[i]! - there[i]!;
      n++;
    }
  }
  return n > 0 ? sum / n : 0;
}
