/** Conversions: the only place for factors. One unit inside (litre, second, metre per second); units change at the edges. */

/** Litres in one US liquid gallon: exactly 231 cubic inches (NIST Handbook 44, Appendix C). */
export const LITRES_PER_USGAL = 3.785411784;
/** Litres in one imperial gallon, exact by definition (UK Weights and Measures Act 1985). */
export const LITRES_PER_IMPGAL = 4.54609;
/** Kilometres in one international mile, exact (NIST Handbook 44, Appendix C). */
export const KM_PER_MILE = 1.609344;
/** Kilograms in one avoirdupois pound, exact (NIST Handbook 44, Appendix C). */
export const KG_PER_POUND = 0.45359237;
/** Standard acceleration of free fall, m/s², exact (CGPM 1901). */
export const STANDARD_GRAVITY = 9.80665;

/** Litres in one cubic metre, exact (SI). */
export const LITRES_PER_M3 = 1000;

export type VolumeUnit = "L" | "USgal" | "impgal" | "kg" | "percent";

/** What a volume unit needs beside the number: density for kilograms, capacity for percent. */
export interface VolumeContext {
  density_kg_per_L: number | null;
  capacity_L: number | null;
}

/** Litres in one of `unit`; null where the job does not say what is needed (density for kg, capacity for percent). */
export function litresPer(unit: VolumeUnit, context: VolumeContext): number | null {
  switch (unit) {
    case "L":
      return 1;
    case "USgal":
      return LITRES_PER_USGAL;
    case "impgal":
      return LITRES_PER_IMPGAL;
    case "kg":
      return context.density_kg_per_L && context.density_kg_per_L > 0 ? 1 / context.density_kg_per_L : null;
    case "percent":
      return context.capacity_L && context.capacity_L > 0 ? context.capacity_L / 100 : null;
  }
}
