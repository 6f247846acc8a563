/** Corners and braking in a log, at the device's updates: what lights fall into them. */
import { atDeviceRate, type DeviceRecord } from "./device-record";
import type { DriveLog } from "./drive-log";

/**
 * A corner or a hard braking: this acceleration over `over_s`. The fuel takes some seconds to run to the other side and back, so that a light up
 * to `after_s` later is counted to it. Named defaults, no source.
 */
export const corner = { least_g: 0.15, over_s: 1.5, after_s: 4 };

/** Share of the drive that counts as in or right after a corner. @param turns of `turnsOf`. */
export const shareInCorners = (turns: Float64Array): number =>
  turns.reduce((sum, g) => sum + (Math.abs(g) >= corner.least_g ? 1 : 0), 0) / Math.max(1, turns.length);

/** For every update the acceleration, averaged over a second or two, that was largest in the seconds before; with its sign. */
export function turnsOf(log: DriveLog, record: DeviceRecord, name: "across_g" | "along_g"): Float64Array | null {
  const g = channelOf(log, record, name);
  if (!g) return null;
  const over = Math.max(1, Math.round(corner.over_s / record.interval_s));
  const after = Math.max(1, Math.round(corner.after_s / record.interval_s));
  const averaged = new Float64Array(g.length);
  let sum = 0;
  for (let i = 0; i < g.length; i++) {
    sum += g[i]! - (i >= over ? g[i - over]! : 0);
    averaged[i] = sum / Math.min(i + 1, over);
  }
  // Candidates for the largest of the last `after` updates, largest first: each update enters and leaves once.
  const out = new Float64Array(g.length);
  const queue: number[] = [];
  let head = 0;
  for (let i = 0; i < g.length; i++) {
    while (queue.length > head && Math.abs(averaged[queue[queue.length - 1]!]!) <= Math.abs(averaged[i]!)) queue.pop();
    queue.push(i);
    if (queue[head]! < i - after) head++;
    out[i] = averaged[queue[head]!]!;
  }
  return out;
}

/** Chance of `hits` or more in `n` tries that each hit with `share`: the binomial tail, as if each light stood by itself. */
export function chanceOfAtLeast(hits: number, n: number, share: number): number {
  if (hits === 0) return 1;
  if (!(share > 0)) return 0;
  if (share >= 1) return 1;
  let chance = 0;
  let logTerm = n * Math.log1p(-share);
  for (let k = 0; k <= n; k++) {
    if (k >= hits) chance += Math.exp(logTerm);
    logTerm += Math.log((n - k) / (k + 1)) + Math.log(share) - Math.log1p(-share);
  }
  return chance;
}

/** Another column of the log at the device's updates, gaps left out as for the reading. */
function channelOf(log: DriveLog, record: DeviceRecord, name: "across_g" | "along_g"): Float64Array | null {
  const column = log.columns[name];
  if (!column) return null;
  const blankAsRest = column.map((v) => (Number.isNaN(v) ? 0 : v));
  return atDeviceRate({ columns: { ...log.columns, reading: blankAsRest } }, 1 / record.interval_s, null, null).reading;
}
