/** Truth: everything that is really so in an invented job, and what can be asked of it later. */
import { createRandom } from "../../src/math/random";
import { powerBelow, welch } from "../../src/math/spectrum";
import { span } from "./draw";
import { type DriveRecord, type DriveTruth, modeFrequency_Hz, simulateDrive } from "./drive";
import type { FillRecord, FillTruth } from "./fill";
import { type CircuitTruth, type DayTruth, readingAt, type SenderTruth } from "./sender";
import { createTank, type TankTruth } from "./tank";

export interface Truth {
  seed: number;
  family: string;
  tank: TankTruth;
  sender: SenderTruth;
  circuit: CircuitTruth;
  fillDay: DayTruth;
  /** A later day, level falling: what the drives are made with. */
  serviceDay: DayTruth;
  fill: FillTruth;
  drive: DriveTruth;
  /** What the pick-up cannot reach, litres of contents. */
  unusable_L: number;
  logRate_Hz: number;
  /** Contents at the log's start and end, litres; share of the reading's variance that is slosh at the modes of the surface. */
  log: { from_L: number; to_L: number; sloshShare: number };
  deviceRate_Hz: number;
  consumption: { mean: number; standardUncertainty: number };
  record: FillRecord;
}

/** Litres added since the start of the fill run, for litres in the tank. */
export const addedOf = (truth: Truth, contents_L: number) => contents_L - truth.fill.start_L;

/** Reading at rest, without noise, for litres added since the start. `fill`: as filled; `service`: a later day, level falling. */
export function restReading(truth: Truth, day: "fill" | "service", tank = createTank(truth.tank)) {
  const at = day === "fill" ? { ...truth.fillDay, hang: 0.7 * truth.fillDay.hang } : truth.serviceDay;
  return (added_L: number) => readingAt(truth.sender, truth.circuit, at, tank.heightAt(added_L + truth.fill.start_L));
}

/** A new drive of the same tank, on the service day, at the device's rate. `from` is a share of the capacity; drawn if left out. */
export function freshDrive(
  truth: Truth,
  seed: number,
  minutes: number,
  options: { from?: number; burn_L_per_h?: number } = {},
): {
  time_s: Float64Array;
  reading: Float64Array;
  added_L: Float64Array;
  contents_L: Float64Array;
  record: DriveRecord;
} {
  const random = createRandom(truth.seed * 7919 + seed);
  const tank = createTank(truth.tank);
  const from_L = tank.capacity_L * (options.from ?? span(random, 0.3, 0.95));
  const drive = { ...truth.drive, burn_L_per_h: options.burn_L_per_h ?? truth.drive.burn_L_per_h };
  const record = simulateDrive(
    tank,
    truth.sender,
    truth.circuit,
    truth.serviceDay,
    drive,
    { seconds: minutes * 60, rate_Hz: truth.deviceRate_Hz, from_L, least_L: 0 },
    random,
  );
  return {
    time_s: record.time_s,
    reading: record.reading,
    added_L: record.contents_L.map((c) => addedOf(truth, c)),
    contents_L: record.contents_L,
    record,
  };
}

/** True first modes of the two directions at a level, Hz: the one that the sender sees more of comes first. */
export function trueModes_Hz(truth: Pick<Truth, "tank">, contents_L: number): { along_Hz: number; across_Hz: number } {
  const depth = createTank(truth.tank).heightAt(contents_L) * truth.tank.depth_mm;
  return {
    along_Hz: modeFrequency_Hz(truth.tank.length_mm, depth),
    across_Hz: modeFrequency_Hz(truth.tank.width_mm, depth),
  };
}

/**
 * Share of the variance of a log's readings about those of the level at rest, spikes and dropouts left out, that lies within a quarter of the
 * surface's two first modes and would be there without noise.
 */
export function sloshShareOf(
  log: Pick<DriveRecord, "reading" | "clean" | "contents_L" | "mark">,
  truth: Pick<Truth, "tank" | "sender" | "circuit" | "serviceDay" | "logRate_Hz" | "log">,
): number {
  const tank = createTank(truth.tank);
  const rest = log.contents_L.map((c) => readingAt(truth.sender, truth.circuit, truth.serviceDay, tank.heightAt(c)));
  let squares = 0;
  let n = 0;
  for (let i = 0; i < rest.length; i++)
    if (log.mark[i] === 0) {
      squares += (log.reading[i]! - rest[i]!) ** 2;
      n++;
    }
  const spectrum = welch(
    log.clean.map((v, i) => v - rest[i]!),
    truth.logRate_Hz,
    powerBelow(60 * truth.logRate_Hz),
  );
  const width_Hz = spectrum.frequency_Hz[1]!;
  const modes = [truth.log.from_L, truth.log.to_L].map((level) => trueModes_Hz(truth, level));
  const near = (["along_Hz", "across_Hz"] as const).map((way) => {
    const ends = modes.map((m) => m[way]);
    return { from: 0.8 * Math.min(...ends), to: 1.25 * Math.max(...ends) };
  });
  let slosh = 0;
  spectrum.frequency_Hz.forEach((f, k) => {
    if (near.some(({ from, to }) => f >= from && f <= to)) slosh += spectrum.density[k]! * width_Hz;
  });
  return squares > 0 ? Math.min(1, slosh / (squares / n)) : 0;
}
