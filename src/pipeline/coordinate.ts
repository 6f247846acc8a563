/**
 * Coordinate: the axis on which the curve is learnt. With a pull-up and a known supply, v = a + b/(Vs − V) is the line
 * through the divider: pull-up, ground and contact resistance vanish into a and b (methods: node equation), so the
 * smooth part has only tank and sender to learn.
 */
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";

export interface Coordinate {
  name: "reading" | "divider";
  /** Strictly monotone in the reading, rising with the volume, 0 to 1 over [low, high]. */
  of(reading: number): number;
  /** d(coordinate)/d(reading), positive or negative as `sense`. */
  slope(reading: number): number;
}

/** Full-scale reading that stands for the supply; null where the divider cannot be taken out. */
export function supplyReading(job: FillJob, fillRuns: FillRuns): number | null {
  if (job.circuit.kind !== "pull-up") return null;
  if (fillRuns.readingUnit === "V") return job.circuit.supplyVolts;
  if (fillRuns.readingUnit === "count" && job.circuit.adcBits !== null) return 2 ** job.circuit.adcBits;
  return null;
}

/** The coordinates worth trying for readings between `low` and `high`. */
export function coordinates(job: FillJob, fillRuns: FillRuns, low: number, high: number): Coordinate[] {
  const sense = fillRuns.sense;
  const scaled = (
    name: Coordinate["name"],
    raw: (r: number) => number,
    rawSlope: (r: number) => number,
  ): Coordinate => {
    const a = raw(sense > 0 ? low : high);
    const b = raw(sense > 0 ? high : low);
    return { name, of: (r) => (raw(r) - a) / (b - a), slope: (r) => rawSlope(r) / (b - a) };
  };
  const plain = scaled(
    "reading",
    (r) => r,
    () => 1,
  );
  const supply = supplyReading(job, fillRuns);
  if (supply === null || !(supply > high * 1.005)) return [plain];
  return [
    scaled(
      "divider",
      (r) => 1 / (supply - r),
      (r) => 1 / (supply - r) ** 2,
    ),
    plain,
  ];
}
