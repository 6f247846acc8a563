/** Volumes as stages say them. They are no figures of the published analysis by themselves: no path. */
import { type Quantity, quantityOf, type Rounding } from "../quantity";

const litres = (value: number, rounding: Rounding, more: Partial<Quantity> = {}): Quantity =>
  quantityOf({ ...more, path: null, unit: "L", value, rounding });

/** Found, with so many decimals. */
export const litresTo = (value: number, decimals: number): Quantity =>
  litres(value, { by: "decimals", decimals }, { plainSpaces: true });

/** The first of two that share a unit. @param beside the larger of both, where they must have the same decimals in every unit. */
export const litresBare = (value: number, decimals: number, beside?: number): Quantity =>
  litres(value, { by: "decimals", decimals, ...(beside === undefined ? {} : { beside }) }, { bare: true });

/** A level, to the litre. */
export const litresWhole = (value: number): Quantity => litres(value, { by: "decimals", decimals: 0 });

/** Found, to so many figures; two unless told. */
export const litresOf = (value: number, figures = 2): Quantity => litres(value, { by: "figures", figures });

/** With its half-width. */
export const litresWithin = (value: number, halfWidth: number): Quantity =>
  litres(value, { by: "half-width" }, { halfWidth });

/** Typed into a device, or worked out to be. @param figures two unless told. */
export const litresSetTo = (value: number, figures = 2): Quantity => litres(value, { by: "set", figures });

/** The same with so many decimals. @param unit litres, or litres a second. */
export const litresTyped = (value: number, decimals: number, unit: "L" | "L a second" = "L"): Quantity =>
  quantityOf({ path: null, unit, value, rounding: { by: "decimals", decimals, set: true }, plainSpaces: true });

/** To its last digit: a size of pour that is proposed. */
export const litresAsIs = (value: number): Quantity => litres(value, { by: "stated" }, { plainSpaces: true });

/** A field of the job: in the unit that the field is stated in. @param decimals all that were stated unless told. */
export const litresStated = (value: number, decimals?: number): Quantity =>
  litres(value, decimals === undefined ? { by: "stated" } : { by: "decimals", decimals }, {
    stated: "field",
    plainSpaces: true,
  });

/** What the tank holds: what percent are of stays in litres. */
export const litresOfTank = (value: number, decimals: number): Quantity =>
  litres(value, { by: "decimals", decimals }, { stated: "whole", plainSpaces: true });
