/** Truth of a complaint: what the device really does on the drives, with all as it was found and with one thing mended. */
import { restReading } from "../../datasets/world/job";
import type { ComplaintCase } from "./complaint-case";
import { lookUp } from "./naive";
import { type Device, runDevice } from "./replay";
import { countChanges, countFlickers } from "./score";

export interface Troubles {
  flickers: Record<"empty" | "full", number>;
  /** An hour in which the display stands at that end, of at least a minute. */
  flickersPerHour: Record<"empty" | "full", number>;
  falseLights: number;
  reversalsPerMinute: number;
  /** Shown less true at rest, litres: the worst of the inner volumes. */
  middle_L: number;
  /** From the end of the refuel until nine tenths of it are shown, the rest of the drive if they never are; null where none is in the drives. */
  refuel_s: number | null;
}

export type Changed = Partial<Pick<Device, "table" | "factor" | "deadband_L" | "faultLow" | "faultHigh">> & {
  /** The sender stands in the middle of the tank, this way. */
  centred?: "across" | "along";
  warnAt_L?: number;
  /** Without spikes and drop-outs. */
  unmarked?: boolean;
};

/** Everything that can be complained of, counted on the true readings at the device's rate. */
export function troublesOf(
  c: ComplaintCase,
  { centred, unmarked, warnAt_L = c.warnAt_L, ...change }: Changed = {},
): Troubles {
  const device: Device = { ...c.device, ...change };
  const flickers = { empty: 0, full: 0 };
  const hours = { empty: 0, full: 0 };
  let falseLights = 0;
  let reversals = 0;
  let minutes = 0;
  let refuel_s: number | null = null;
  for (const drive of c.drives) {
    const reading = centred && drive.centred ? drive.centred[centred]() : unmarked ? drive.unmarked : drive.reading;
    const { dragged_L, shown_L, lowEnd_L, highEnd_L } = runDevice(device, reading, drive.across_g);
    for (const [end, value] of [
      ["empty", lowEnd_L],
      ["full", highEnd_L],
    ] as const) {
      flickers[end] += countFlickers(shown_L, value);
      hours[end] += shown_L.filter((v) => v === value).length / device.rate_Hz / 3600;
    }
    const inBase = (added_L: number) => added_L - c.sound.base_L;
    for (let i = 1; i < dragged_L.length; i++)
      if (
        dragged_L[i]! <= warnAt_L &&
        dragged_L[i - 1]! > warnAt_L &&
        inBase(drive.added_L[i]!) > warnAt_L + device.displayStep_L
      )
        falseLights++;
    reversals += countChanges(shown_L).reversals;
    minutes += shown_L.length / device.rate_Hz / 60;
    if (drive.refuel) {
      const { from, to } = drive.refuel;
      const before = shown_L[from]!;
      // Against what it shows in the end, right or wrong: the table's error is another matter.
      const rested = runDevice({ ...device, factor: 0.02, deadband_L: 0 }, reading.subarray(to)).smoothed_L;
      const target_L = before + 0.9 * (rested[rested.length - 1]! - before);
      let at = to;
      while (at < shown_L.length && shown_L[at]! < target_L) at++;
      refuel_s = (at - to) / device.rate_Hz;
    }
  }
  return {
    flickers,
    flickersPerHour: {
      empty: flickers.empty / Math.max(hours.empty, 1 / 60),
      full: flickers.full / Math.max(hours.full, 1 / 60),
    },
    falseLights,
    reversalsPerMinute: reversals / minutes,
    middle_L: middleError_L(c, device),
    refuel_s,
  };
}

/** Largest error of a table between 10 and 90 % of the tank, litres, with its sign. */
export function middleError_L(c: ComplaintCase, device: Pick<Device, "table">): number {
  const { truth } = c.sound.world;
  const rest = restReading(truth, "fill");
  let worst = 0;
  for (let k = 10; k <= 90; k++) {
    const added_L = (k / 100) * (truth.tank.capacity_L - truth.fill.start_L);
    const off = lookUp(device.table, rest(added_L)) + c.sound.base_L - added_L;
    if (Math.abs(off) > Math.abs(worst)) worst = off;
  }
  return worst;
}
