/** Drain: the tank of an invented job drawn down instead of filled, until the pick-up draws air. A drain is a fill of negative pours, read while the float hangs high. */
import { createRandom } from "../../src/math/random";
import { drawFaults, span, to } from "./draw";
import { roundByConverter } from "./drive";
import { type FillRecord, pourFill } from "./fill";
import { readingAt, unitsPerVolt } from "./sender";
import { createTank, type Tank, type TankTruth } from "./tank";
import type { Truth } from "./truth";

export interface DrainTruth {
  /** Litres in the tank at the first row of the sheet, and where the pump drew air. */
  from_L: number;
  to_L: number;
  /** Litres drawn: as written, and contents as they really stood; the first row is the full tank. */
  record: FillRecord;
}

/** The tank as it is drawn down: a second lobe gives what lies over its wall and keeps the rest, so that nothing of it is drawn at the wall's height. */
export function drawnTank(tank: TankTruth): Tank {
  if (tank.shape !== "lobes") return createTank(tank);
  const kept_L = tank.a * tank.b * tank.capacity_L;
  return createTank({ ...tank, shape: "stepped", a: 1 - tank.a, capacity_L: tank.capacity_L - kept_L });
}

/**
 * @param faults draws that were forgotten or written wrong, readings that were; else a clean sheet with its stated errors alone.
 * The last draw is what was left over the pick-up: it is measured like any other and written to a hundredth of a litre.
 */
export function drawDown(truth: Truth, seed: number, faults: boolean): DrainTruth {
  const random = createRandom(truth.seed * 6151 + seed);
  const tank = drawnTank(truth.tank);
  const from_L = tank.capacity_L * span(random, 0.93, 0.99);
  const most = truth.fill.pour_L * (1 + truth.fill.scaleErrorLimit) + 5 * truth.fill.errorPerPour_L;
  const draws = Math.floor((from_L - truth.unusable_L) / most);
  const fill = { ...truth.fill, start_L: from_L, pour_L: -truth.fill.pour_L, pours: draws, recorded: false };
  const drawn = faults ? drawFaults(fill, random) : [];
  const day = { ...truth.fillDay, hang: -1 };
  const record = pourFill(tank, truth.sender, truth.circuit, day, fill, drawn, random);
  const steps = record.steps.map((s) => ({ ...s, added_L: -s.added_L, volume_L: -s.volume_L }));
  const last = steps[steps.length - 1]!;
  const left_L = from_L + last.trueVolume_L - truth.unusable_L;
  const measured_L = (left_L + fill.errorPerPour_L * random.normal()) / (1 + fill.scaleError);
  const added_L = Math.max(0.01, to(measured_L, 0.01));
  const hang = -(0.7 + 0.3 * (2 * random.uniform() - 1));
  const trueReading = readingAt(truth.sender, truth.circuit, { ...day, hang }, tank.heightAt(truth.unusable_L));
  const noise = fill.readingError * unitsPerVolt(truth.circuit) * random.normal();
  steps.push({
    added_L,
    volume_L: last.volume_L + added_L,
    trueVolume_L: truth.unusable_L - from_L,
    reading: to(roundByConverter(truth.circuit, trueReading + noise), fill.readingStep),
    trueReading,
  });
  return { from_L, to_L: truth.unusable_L, record: { ...record, steps } };
}

/** Reading at rest on the day of the drain, without noise, for litres over its end: the float hangs high. */
export function drainReading(truth: Truth, drain: Pick<DrainTruth, "to_L">, tank = drawnTank(truth.tank)) {
  return (over_L: number) =>
    readingAt(truth.sender, truth.circuit, { ...truth.fillDay, hang: -0.7 }, tank.heightAt(over_L + drain.to_L));
}
