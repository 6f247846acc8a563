/** Words of the running shift: the finding first, then why; then what to do. */

import { fixed, plusMinus } from "../format";
import { type Said, say } from "../said";
import type { ReadingUnit } from "./job";
import { litresWithin } from "./litres";
import type { RunningShift, ShiftCause } from "./running-shift";

/** A shift counts as seen, and a prediction as missed, beyond this many standard uncertainties (normal, about 95 %). */
export const seen = 2;

export interface Facts {
  shift: number;
  u: number;
  shift_L: number | null;
  shiftStandard_L: number | null;
  unit: ReadingUnit;
  lift: { volts: number; standard: number } | null;
  supply: ShiftCause | undefined;
  ground: ShiftCause | undefined;
  ratio: number | null;
  /** One of the two readings lies far beyond all that the fill run read. */
  outside: boolean;
}

/** The finding first, then why; then what to do. Half-widths are two standard uncertainties (about 95 %). */
export function wordsOf(cause: RunningShift["cause"], f: Facts): { says: Said; remedy: string } {
  const sign = f.unit === "ohm" ? "Ω" : f.unit === "count" ? "counts" : "V";
  const size = say`${plusMinus(f.shift, seen * f.u, sign)}${f.shift_L === null ? "" : say`, ${litresWithin(f.shift_L, seen * f.shiftStandard_L!)}`}`;
  const moved = say`The running engine moves the reading by ${size}`;
  const read =
    "Read the steps in the running state: ignition and loads on, a charger holding the running voltage; never pour with the engine running.";
  const mendGround = `Give the sender a ground wire to the converter’s own ground, then take the pair again. Until then: ${read.charAt(0).toLowerCase()}${read.slice(1)}`;
  const by = f.ratio ?? f.supply?.needs ?? 1;
  const percent = `${fixed(100 * Math.abs(by - 1), 1)} % ${by > 1 ? "higher" : "lower"}`;
  const liftText = f.lift ? plusMinus(Math.abs(f.lift.volts), seen * f.lift.standard, "V") : "";
  const whose = f.lift && f.lift.volts < 0 ? "the converter’s own ground" : "the sender’s ground";
  const hides = f.lift
    ? ` A ground lifted by up to ${fixed(Math.abs(f.lift.volts) + seen * f.lift.standard, 2)} V would not show beside it.`
    : "";
  switch (cause) {
    case "noise":
      return {
        says: say`${moved}: no more than chance. A shift under ${fixed(seen * f.u, f.unit === "V" ? 3 : 1)} ${sign} could not be seen with these two readings.`,
        remedy: "The fill run may be read in either state.",
      };
    case "ground":
      return {
        says: say`${moved}: ${whose} is lifted by ${liftText} while current flows.${otherEnd(f.ground)}`,
        remedy: mendGround,
      };
    case "charging":
      return {
        says: say`${moved}: it follows the charging voltage, ${percent} than at rest, because the converter does not follow the supply.${hides}`,
        remedy: `Feed pull-up and converter from one regulated supply, or log the supply beside the reading. Else: ${read.charAt(0).toLowerCase()}${read.slice(1)}`,
      };
    case "supply":
      return {
        says: say`${moved}: it follows the supply, ${percent} than at rest.${hides}`,
        remedy: `Look for what loads the supply, or log it beside the reading. Else: ${read.charAt(0).toLowerCase()}${read.slice(1)}`,
      };
    case "supply-and-ground":
      return {
        says: say`${moved}: the supply, ${percent} than at rest, accounts for ${fixed(f.supply!.predicted_V!, 3)} V of it, and ${whose}, lifted by ${liftText}, for the rest.`,
        remedy: mendGround,
      };
    case "cannot-be-told":
      return f.ratio === null
        ? {
            says: say`${moved}: ${alone(whose, liftText, percent, f)}${apart(f)}`,
            remedy: `Measure the supply in both states and add it here. Until then: ${read.charAt(0).toLowerCase()}${read.slice(1)}`,
          }
        : {
            says: say`${moved}: ${whose}, lifted by ${liftText}, would do that, and so would a supply that moved by less than the two voltmeter readings can show.`,
            remedy: `Measure the supply again in both states with a better meter. Until then: ${read.charAt(0).toLowerCase()}${read.slice(1)}`,
          };
    default:
      return {
        says: say`${moved}, and neither a lifted ground nor the supply explains that.${f.outside ? " One of the two readings lies beyond all that the fill run read, so it is no level of this tank." : ""}`,
        remedy: f.outside
          ? "Check both figures and the sender’s wire, then take the pair again."
          : f.unit === "ohm"
            ? "Any voltage in the wire misleads an ohmmeter: take the pair in volts, through the circuit that will serve."
            : "Check that the fuel stood still and the level was the same, then take the pair again.",
      };
  }
}

const otherEnd = (c: ShiftCause | undefined): string =>
  c && c.emptyShift_V !== null && c.fullShift_V !== null
    ? ` The shift would be ${fixed(c.emptyShift_V, 3)} V empty and ${fixed(c.fullShift_V, 3)} V full.`
    : "";

/** What would do it alone, where the supply was not measured. */
function alone(whose: string, lift: string, percent: string, { supply, ground }: Facts): string {
  if (!ground?.fits) return `a supply that is ${percent} would do that, with or without a lifted ground.`;
  if (!supply?.fits)
    return `${whose}, lifted by ${lift}, would do that, and no supply alone; both together would as well.`;
  return `${whose}, lifted by ${lift}, would do that, and so would a supply that is ${percent}, or both together.`;
}

const apart = (f: Facts): string =>
  f.ground?.fits && f.supply?.fits && f.ground.emptyShift_V != null && f.supply.emptyShift_V != null
    ? ` Empty, the ground would move it by ${fixed(f.ground.emptyShift_V, 3)} V and the supply by ${fixed(f.supply.emptyShift_V, 3)} V; full, by ${fixed(f.ground.fullShift_V!, 3)} and ${fixed(f.supply.fullShift_V!, 3)} V.`
    : "";
