/** Device: an independent reading of what the typed settings do, one sample after the other. */

import { factorOfSamples } from "../../src/math/filter";
import type { Settings } from "../../src/pipeline/settings";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../../src/units";
import { lookUp, type Point } from "./naive";

export interface Device {
  /** Rising readings in the log's unit; litres in the display's base. */
  table: Point[];
  /** α at the device's rate; 1: no smoothing. */
  factor: number;
  deadband_L: number;
  deadbandKind: "play" | "jump";
  faultLow: number;
  faultHigh: number;
  order: "reading-then-table" | "table-then-filter";
  rate_Hz: number;
  /** What else is typed: median, hold in a corner, rate limit, refuelling rule. */
  features: NonNullable<Settings["features"]>;
  /** Litres in one displayed step. */
  displayStep_L: number;
}

export interface Shown {
  /** Filtered litres, after the deadband, and after rounding to the displayed step. */
  smoothed_L: Float64Array;
  dragged_L: Float64Array;
  shown_L: Float64Array;
  /** What the display shows at its two ends. */
  lowEnd_L: number;
  highEnd_L: number;
}

/** Litres in one unit as the settings name it. A unit that nobody knows would make every score false, so it throws. */
export function litresInUnit(unit: string, capacity_L: number): number {
  if (unit === "L") return 1;
  if (unit === "percent" || unit === "%") return capacity_L / 100;
  if (unit === "USgal" || unit === "US gal") return LITRES_PER_USGAL;
  if (unit === "impgal" || unit === "imp gal") return LITRES_PER_IMPGAL;
  throw new Error(`litresInUnit: no volume unit "${unit}"`);
}

/** What a refuelling rule does by itself in such a device, as the pipeline says on the page: quick filter, and when it lets go. */
const quickTime_s = 1.5;
const letGo_s = 5;

/** Settings as typed to a device that can be run. */
export function deviceFrom(
  settings: Settings,
  order: Device["order"],
  job: { capacity_L: number; rate_Hz: number; displayUnit: string; displayStep: number },
): Device {
  const litres = (unit: string) => litresInUnit(unit, job.capacity_L);
  const table = settings.table
    .map((row) => ({
      reading: row.readingUnit === "mV" ? row.reading / 1000 : row.reading,
      volume_L: row.volume * litres(row.volumeUnit),
    }))
    .sort((a, b) => a.reading - b.reading);
  const smoothing = settings.smoothing;
  const value = smoothing?.value ?? null;
  let factor = 1;
  if (smoothing && value !== null && value > 0) {
    if (smoothing.asks === "factor") factor = value;
    else if (smoothing.asks === "samples") factor = factorOfSamples(value);
    else if (smoothing.asks === "cutoff") factor = 1 - Math.exp((-2 * Math.PI * value) / job.rate_Hz);
    else if (smoothing.asks === "seconds") factor = 1 - Math.exp(-1 / (job.rate_Hz * value));
  }
  const inVolts = (limit: number) => (settings.faultLimits?.unit === "mV" ? limit / 1000 : limit);
  const deadband = settings.deadband;
  // A deadband in volts becomes litres by the mean slope of the table.
  const perVolt =
    table.length > 1
      ? Math.abs(table[table.length - 1]!.volume_L - table[0]!.volume_L) /
        (table[table.length - 1]!.reading - table[0]!.reading)
      : 0;
  return {
    table,
    factor,
    deadband_L: deadband ? deadband.value * (deadband.unit === "V" ? perVolt : litres(deadband.unit)) : 0,
    deadbandKind: deadband?.kind ?? "play",
    faultLow: settings.faultLimits ? inVolts(settings.faultLimits.low) : Number.NEGATIVE_INFINITY,
    faultHigh: settings.faultLimits ? inVolts(settings.faultLimits.high) : Number.POSITIVE_INFINITY,
    order,
    rate_Hz: job.rate_Hz,
    features: settings.features ?? { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null },
    displayStep_L: job.displayStep * litres(job.displayUnit),
  };
}

/** @param reading one value a device cycle; `across_g` beside it, for a device that holds in corners. */
export function runDevice(device: Device, reading: Float64Array, across_g?: Float64Array): Shown {
  const n = reading.length;
  const smoothed_L = new Float64Array(n);
  const dragged_L = new Float64Array(n);
  const shown_L = new Float64Array(n);
  const good = (r: number) => Number.isFinite(r) && r >= device.faultLow && r <= device.faultHigh;
  const show = (v: number) => Math.round(v / device.displayStep_L) * device.displayStep_L;
  let last = Number.NaN;
  let state = Number.NaN;
  let dragged = Number.NaN;
  const inReading = device.order === "reading-then-table";
  const { medianOf, holdOver_g, rateLimit_L_per_s, refuel } = device.features;
  const dt = 1 / device.rate_Hz;
  const queue: number[] = [];
  let heldInput = Number.NaN;
  let limited = Number.NaN;
  let quick = Number.NaN;
  let over_s = 0;
  let following_s = 0;
  let top_L = 0;
  for (let i = 0; i < n; i++) {
    if (good(reading[i]!)) last = reading[i]!;
    if (Number.isNaN(last)) last = device.table[0]!.reading;
    queue.push(last);
    if (queue.length > medianOf) queue.shift();
    const middle = [...queue].sort((a, b) => a - b)[(queue.length - 1) >> 1]!;
    const corner = holdOver_g !== null && across_g !== undefined && Math.abs(across_g[i]!) > holdOver_g;
    if (!corner || Number.isNaN(heldInput)) heldInput = middle;
    const input = inReading ? heldInput : lookUp(device.table, heldInput);
    const litres = (x: number) => (inReading ? lookUp(device.table, x) : x);
    if (refuel) {
      const fast = Math.max(device.factor, 1 - Math.exp(-dt / quickTime_s));
      quick = Number.isNaN(quick) ? input : quick + fast * (input - quick);
    }
    let free = false;
    if (refuel && following_s > 0) {
      free = true;
      state = quick;
      following_s -= dt;
      if (litres(quick) > top_L + 0.2 * refuel.rise_L) {
        top_L = litres(quick);
        following_s = letGo_s;
      }
    } else {
      state = Number.isNaN(state) ? input : state + device.factor * (input - state);
      if (refuel) {
        over_s = litres(quick) - litres(state) >= refuel.rise_L ? over_s + dt : 0;
        if (over_s >= refuel.seconds) {
          over_s = 0;
          following_s = letGo_s;
          free = true;
          state = quick;
          top_L = litres(quick);
        }
      }
    }
    let volume = inReading ? lookUp(device.table, state) : state;
    if (rateLimit_L_per_s !== null) {
      const most = rateLimit_L_per_s * dt;
      limited = Number.isNaN(limited) || free ? volume : limited + Math.max(-most, Math.min(most, volume - limited));
      volume = limited;
    }
    const d = device.deadband_L;
    if (Number.isNaN(dragged)) dragged = volume;
    else if (device.deadbandKind === "jump") {
      if (Math.abs(volume - dragged) >= d) dragged = volume;
    } else dragged = Math.min(volume + d, Math.max(volume - d, dragged));
    smoothed_L[i] = volume;
    dragged_L[i] = dragged;
    shown_L[i] = show(dragged);
  }
  const ends = [device.table[0]!.volume_L, device.table[device.table.length - 1]!.volume_L];
  return { smoothed_L, dragged_L, shown_L, lowEnd_L: show(Math.min(...ends)), highEnd_L: show(Math.max(...ends)) };
}
