/** Refuelling stop: a drive, a standing vehicle that is filled, and the time after it. Draws its own chance, so that no job changes by it. */
import { createRandom } from "../../src/math/random";
import { roundByConverter } from "./drive";
import { addedOf, freshDrive, type Truth } from "./job";
import { readingAt, unitsPerVolt } from "./sender";
import { createTank } from "./tank";

/** Litres a second of an ordinary pump. From memory. */
const pump_L_per_s = 0.6;

export interface RefuelRecord {
  reading: Float64Array;
  across_g: Float64Array;
  added_L: Float64Array;
  /** 0 while it stands. */
  speed_kmh: Float64Array;
  /** Samples at which the fill begins and ends. */
  from: number;
  to: number;
}

/**
 * Ten minutes of driving from 30 % of the tank, half a minute at the pump, a fill to `toShare` of the tank, then `after_s` seconds standing.
 * @param toShare of the capacity; less for a small refuel.
 */
export function refuelDrive(truth: Truth, seed: number, toShare = 0.75, after_s = 600): RefuelRecord {
  const drive = freshDrive(truth, 5000 + seed, 10, { from: 0.3 });
  const random = createRandom(truth.seed * 104729 + seed);
  const tank = createTank(truth.tank);
  const rate = truth.deviceRate_Hz;
  const low_L = drive.contents_L[drive.contents_L.length - 1]!;
  const high_L = toShare * tank.capacity_L;
  const fill_s = (high_L - low_L) / pump_L_per_s;
  const standing = Math.round((30 + fill_s + after_s) * rate);
  const n = drive.reading.length + standing;
  const record: RefuelRecord = {
    reading: new Float64Array(n),
    across_g: new Float64Array(n),
    added_L: new Float64Array(n),
    speed_kmh: new Float64Array(n),
    from: drive.reading.length + 30 * rate,
    to: drive.reading.length + Math.round((30 + fill_s) * rate),
  };
  record.reading.set(drive.reading);
  record.across_g.set(drive.record.across_g);
  record.added_L.set(drive.added_L);
  record.speed_kmh.set(drive.record.speed_kmh);
  const perVolt = unitsPerVolt(truth.circuit);
  for (let k = 0; k < standing; k++) {
    const filled_s = Math.max(0, Math.min(fill_s, k / rate - 30));
    const contents_L = low_L + filled_s * pump_L_per_s;
    // Rising, the float hangs the other way.
    const hang = filled_s > 0 ? Math.abs(truth.serviceDay.hang) : truth.serviceDay.hang;
    const clean = readingAt(truth.sender, truth.circuit, { ...truth.serviceDay, hang }, tank.heightAt(contents_L));
    const i = drive.reading.length + k;
    record.reading[i] = roundByConverter(truth.circuit, clean + truth.drive.floor * perVolt * random.normal());
    record.added_L[i] = addedOf(truth, contents_L);
  }
  return record;
}
