/** Logs of a complaint: one drive, as the device sees it and as a logger of its own rate writes it down. */
import { type DriveRecord, type DriveTruth, simulateDrive } from "../../datasets/world/drive";
import type { Truth } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { createRandom, type Random } from "../../src/math/random";

/** What the vehicle did, at the device's rate. */
export interface TrueDrive {
  reading: Float64Array;
  /** Litres added since the start of the fill run. */
  added_L: Float64Array;
  across_g: Float64Array;
  /** The same without spikes and drop-outs. */
  unmarked: Float64Array;
  /** Samples at which a refuel begins and ends. */
  refuel: { from: number; to: number } | null;
  /** The same course with the sender in the middle of the tank, across or along; null where it is not asked. */
  centred: Record<"across" | "along", () => Float64Array> | null;
}

/** A drive on the service day, as the device sees it and as a logger of `rate_Hz` writes it down. */
export function driveOf(
  truth: Truth,
  drive: DriveTruth,
  options: { seconds: number; rate_Hz: number; from: number },
  random: Random,
): { record: DriveRecord; logged: DriveRecord | null; seen: TrueDrive } {
  const tank = createTank(truth.tank);
  const simulated_Hz = Math.max(10, options.rate_Hz);
  const seed = random.below(2 ** 30);
  const simulate = (sender: Truth["sender"]) =>
    simulateDrive(
      tank,
      sender,
      truth.circuit,
      truth.serviceDay,
      drive,
      { seconds: options.seconds, rate_Hz: simulated_Hz, from_L: options.from * tank.capacity_L, least_L: 0 },
      createRandom(seed),
    );
  const record = simulate(truth.sender);
  // A reading that is refreshed slowly holds a drop-out on beyond the samples that are marked.
  const marked = Uint8Array.from(record.mark);
  for (let i = 1; i < marked.length; i++)
    if (marked[i - 1] && record.reading[i] === record.reading[i - 1]) marked[i] = 1;
  const every = (values: Float64Array, n: number) => values.filter((_, i) => i % n === 0);
  const forDevice = simulated_Hz / 10;
  const forLog = simulated_Hz / options.rate_Hz;
  return {
    record,
    logged:
      forLog === 1
        ? null
        : {
            time_s: every(record.time_s, forLog),
            reading: every(record.reading, forLog),
            clean: every(record.clean, forLog),
            contents_L: every(record.contents_L, forLog),
            along_g: every(record.along_g, forLog),
            across_g: every(record.across_g, forLog),
            speed_kmh: every(record.speed_kmh, forLog),
            mark: record.mark.filter((_, i) => i % forLog === 0),
          },
    seen: {
      reading: every(record.reading, forDevice),
      added_L: every(
        record.contents_L.map((c) => c - truth.fill.start_L),
        forDevice,
      ),
      across_g: every(record.across_g, forDevice),
      unmarked: every(
        record.reading.map((r, i) => (marked[i] ? record.clean[i]! : r)),
        forDevice,
      ),
      refuel: null,
      centred: {
        across: () => every(simulate({ ...truth.sender, offAcross_mm: 0 }).reading, forDevice),
        along: () => every(simulate({ ...truth.sender, offAlong_mm: 0 }).reading, forDevice),
      },
    },
  };
}
