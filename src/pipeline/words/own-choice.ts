/** What is said at a field for a choice of the user's own: why it cannot be taken, or as what the device takes it. */
import { setText } from "../../format";

/** Why a typed number is no choice; null where it is one. */
export type Refuse = (value: number) => string | null;

export const refuseRows: Refuse = (rows) =>
  Number.isInteger(rows) && rows >= 2
    ? null
    : `A table has two rows or more, and whole ones: ${setText(rows, "")} cannot be taken.`;

export const refuseSmoothing: Refuse = (timeConstant_s) =>
  timeConstant_s >= 0 ? null : "A time constant is nothing or more: with a minus it cannot be taken.";

/**
 * @param travel of the sender between both ends of the curve, in the reading's unit `sign`. A margin of half of it either way leaves no
 *   table, or one outside of what the sender reads.
 */
export const refuseMargin =
  (travel: number, sign: string): Refuse =>
  (margin) =>
    Math.abs(margin) < 0.5 * travel
      ? null
      : `The sender travels ${setText(travel, sign, 3)}: a margin stays under half of that.`;

/** @param most the usable volume of a full tank, in the unit of the field; null where it is not known. */
export const refuseWarning =
  (most: number | null, sign: string): Refuse =>
  (warnAt) =>
    warnAt < 0
      ? "Under nothing usable no light comes on: a minus cannot be taken."
      : most !== null && warnAt >= most
        ? `The tank holds ${setText(most, sign, 3)} usable: a light at that or more would never go out.`
        : null;

/** @param whole_min how long the log is; null while nobody knows. @param to_min where the part ends; null at the log's end. */
export const refusePartStart =
  (to_min: number | null, whole_min: number | null): Refuse =>
  (from_min) =>
    from_min < 0
      ? "A log begins at 0: a minus cannot be taken."
      : whole_min !== null && from_min >= whole_min
        ? `The log lasts ${setText(whole_min, "min")}: a part begins before that.`
        : to_min !== null && from_min >= to_min
          ? `The part ends at ${setText(to_min, "min")}: it begins before that.`
          : null;

/** @param from_min where the part begins. */
export const refusePartEnd =
  (from_min: number): Refuse =>
  (to_min) =>
    to_min > from_min ? null : `The part begins at ${setText(from_min, "min")}: it ends after that.`;

/** Where the device takes another number than was typed; null where it takes that one, or nothing was typed. */
export function takenAs(typed: number | null, taken: number, unit: string): string | null {
  if (typed === null || setText(typed, unit) === setText(taken, unit)) return null;
  return `The device has no ${setText(typed, unit)}: the nearest that it takes is ${setText(taken, unit)}, and that counts.`;
}

/**
 * A warning point that the device takes only in its own steps, rounded up; null where it is typed as it stands.
 * @param typed what was typed and `taken` what will be, both in litres of usable fuel. @param digits as they are typed into the device, with their unit.
 */
export const warningTakenAs = (typed_L: number | null, taken_L: number, digits: string): string | null =>
  typed_L === null || taken_L - typed_L <= 1e-3 * Math.max(1, taken_L)
    ? null
    : `The device has no step there: it is typed as ${digits}, rounded up.`;
