/** Units of a drive log: by which factor its readings become those of the curve. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import type { Job, ReadingUnit } from "./job";

/**
 * Without a unit: a thousandth where the log fits the curve only so (millivolts, milliohms); said, because it was decided.
 * @param low @param high readings between which the curve is known.
 */
export function thousandth(
  file: string,
  values: Float64Array,
  { low, high }: { low: number; high: number },
  cautions: Issue[],
): number {
  const room = 0.15 * (high - low);
  const inside = (factor: number, beside: number) => {
    let fits = 0;
    for (const v of values) if (v * factor >= low - beside && v * factor <= high + beside) fits++;
    return fits / values.length;
  };
  // Beside a curve that begins near nothing a thousandth of anything would fit: some of it must lie on the curve.
  if (inside(1, room) > 0.05 || inside(1e-3, room) < 0.9 || inside(1e-3, 0) < 0.1) return 1;
  cautions.push({
    code: "drive-log/converted",
    says: `${file} names no unit; its readings fit the curve as thousandths (millivolts), and are taken so.`,
    remedy: "Name the unit in the header if that is wrong.",
    weight: "note",
  });
  return 1e-3;
}

/** What is read of the job. */
export type ConverterJob = Pick<Job["circuit"], "supplyVolts" | "adcBits">;

/** Factor from the log's unit to the curve's; percent of a car's own gauge cannot be turned into volts. */
export function unitFactor(
  file: string,
  unit: string | null,
  wanted: ReadingUnit,
  job: { circuit: ConverterJob },
  cautions: Issue[],
): Answer<number> {
  if (unit === null || unit === wanted || (unit === "percent" && wanted === "count")) return ready(1);
  const { supplyVolts, adcBits } = job.circuit;
  if (
    supplyVolts !== null &&
    adcBits !== null &&
    ((unit === "count" && wanted === "V") || (unit === "V" && wanted === "count"))
  ) {
    const volts = supplyVolts / (2 ** adcBits - 1);
    cautions.push({
      code: "drive-log/converted",
      says: `${file} is in ${unit === "count" ? "counts" : "volts"}; converted by ${supplyVolts} V over ${adcBits} bits, as the job states.`,
      weight: "note",
    });
    return ready(unit === "count" ? volts : 1 / volts);
  }
  const [from, to] = [unitWords[unit] ?? unit, unitWords[wanted] ?? wanted];
  // Counts and volts are one division by the converter apart; anything else goes through the circuit, with its own errors.
  const stated = [unit, wanted].every((u) => u === "count" || u === "V");
  return stuck({
    code: "drive-log/unit",
    says: stated
      ? `${file} is in ${from}, the curve in ${to}, and the job does not say how one becomes the other.`
      : `${file} is in ${from}, the curve in ${to}: a log in ${from} is not turned into ${to}.`,
    remedy: stated
      ? "Log through the same circuit as the fill run, or state supply and converter bits in the job."
      : "Log through the same circuit and in the same unit as the fill run.",
    where: { file },
  });
}

const unitWords: Record<string, string> = { ohm: "ohms", V: "volts", count: "counts", percent: "percent" };
