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
    displayStep_L: job.displayStep * litres(job.displayUnit),
  };
}

/** @param reading one value a device cycle. */
export function runDevice(device: Device, reading: Float64Array): Shown {
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
  for (let i = 0; i < n; i++) {
    if (good(reading[i]!)) last = reading[i]!;
    if (Number.isNaN(last)) last = device.table[0]!.reading;
    const input = inReading ? last : lookUp(device.table, last);
    state = Number.isNaN(state) ? input : state + device.factor * (input - state);
    const volume = inReading ? lookUp(device.table, state) : state;
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
