/** Units of a drive log: by which factor its readings become those of the curve. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { readOhms } from "./device-unit";
import type { Job, ReadingUnit } from "./job";
import { readingScale } from "./reading-scale";

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

/** What is read of the job. `pullUpOhms` may be left out where log and curve do not meet over ohms. */
export type ConverterJob = Pick<Job["circuit"], "kind" | "supplyVolts" | "adcBits" | "groundOffsetVolts"> &
  Partial<Pick<Job["circuit"], "pullUpOhms">>;

/** From a reading of the log to one of the curve; null where both are the same. */
export type LogScale = ((reading: number) => number) | null;

/** Whether a log is in ohms and the curve is not, or the other way round: then the pull-up lies between them. */
export const meetsOverOhms = (unit: string | null, wanted: ReadingUnit): boolean =>
  unit !== null && (unit === "ohm") !== (wanted === "ohm") && ["ohm", "V", "count"].includes(unit);

/**
 * From the log's unit to the curve's: counts and volts by the stated converter, ohms by the stated pull-up and supply
 * (`readingScale`). Percent of a car's own gauge cannot be turned into volts.
 * @returns stuck `drive-log/unit` where the job does not say how one becomes the other.
 */
export function logScale(
  file: string,
  unit: string | null,
  wanted: ReadingUnit,
  job: { circuit: ConverterJob },
  cautions: Issue[],
): Answer<LogScale> {
  if (unit === null || unit === wanted || (unit === "percent" && wanted === "count")) return ready(null);
  const { supplyVolts, adcBits, kind, pullUpOhms = null } = job.circuit;
  const [from, to] = [unitWords[unit] ?? unit, unitWords[wanted] ?? wanted];
  const overOhms = meetsOverOhms(unit, wanted);
  const overCounts = unit === "count" || wanted === "count";
  const scale = unit === "percent" ? null : readingScale(unit, wanted, { circuit: { ...job.circuit, pullUpOhms } });
  if (scale && !overOhms) {
    cautions.push({
      code: "drive-log/converted",
      says: `${file} is in ${from}; converted by ${supplyVolts} V over ${adcBits} bits, as the job states.`,
      weight: "note",
    });
    return ready(scale.to);
  }
  if (scale) {
    cautions.push({
      code: "drive-log/converted",
      says: `${file} is in ${from}, the curve in ${to}: turned by the pull-up of ${pullUpOhms} Ω and the supply of ${supplyVolts} V that the job states.`,
      remedy: "Log in the unit of the fill run if pull-up or supply may be others.",
      weight: "holds-if",
      condition: "pull-up and supply are as the job states them",
    });
    return ready(wanted === "ohm" ? readOhms(scale) : scale.to);
  }
  const asked = [
    ...(overOhms && kind === "pull-up" && pullUpOhms === null ? ["the pull-up"] : []),
    ...(supplyVolts === null && (overOhms || overCounts) ? ["the supply"] : []),
    ...(overCounts && adcBits === null ? ["the converter’s bits"] : []),
  ];
  // What nothing in a job can mend: percent, and ohms of a sender without a pull-up.
  const mends = unit !== "percent" && (!overOhms || kind === "pull-up") && asked.length > 0;
  return stuck({
    code: "drive-log/unit",
    says: mends
      ? `${file} is in ${from}, the curve in ${to}, and the job does not say how one becomes the other.`
      : `${file} is in ${from}, the curve in ${to}: a log in ${from} is not turned into ${to}.`,
    remedy: mends
      ? `Log through the same circuit as the fill run, or state ${asked.join(" and ")} in the job.`
      : "Log through the same circuit and in the same unit as the fill run.",
    where: { file },
  });
}

const unitWords: Record<string, string> = { ohm: "ohms", V: "volts", count: "counts", percent: "percent" };
