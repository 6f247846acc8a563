/** Sender and circuit: what reading stands there for a height of fuel? */

export interface SenderTruth {
  kind: "float-arm" | "reed-ladder" | "capacitive";
  /** Resistance at the empty and at the full stop; for a converter the volts there. */
  empty: number;
  full: number;
  /** Heights (fraction of the depth) at which the float meets its stops, or the tube ends. Dead zones lie outside. */
  lowStop: number;
  highStop: number;
  /** Float arm: height of the pivot and length of the arm, fractions of the depth. */
  pivot: number;
  arm: number;
  /** Turns of wire or reed contacts; 0 for a smooth one. */
  levels: number;
  /** Friction as half of the hysteresis loop, fraction of the depth. */
  friction: number;
  /** Where the sender stands, off the middle of the surface, along and across, millimetres. */
  offAlong_mm: number;
  offAcross_mm: number;
}

/** Share of the travel, 0 at the empty stop to 1 at the full stop, for the height that the float feels. */
export function travelAt(sender: SenderTruth, height: number): number {
  const h = Math.min(sender.highStop, Math.max(sender.lowStop, height));
  let travel: number;
  if (sender.kind === "float-arm") {
    const angle = (x: number) => Math.asin(Math.max(-1, Math.min(1, (x - sender.pivot) / sender.arm)));
    const low = angle(sender.lowStop);
    travel = (angle(h) - low) / (angle(sender.highStop) - low);
  } else {
    travel = (h - sender.lowStop) / (sender.highStop - sender.lowStop);
  }
  return sender.levels > 1 ? Math.round(travel * (sender.levels - 1)) / (sender.levels - 1) : travel;
}

export interface CircuitTruth {
  kind: "pull-up" | "converter" | "ohmmeter";
  supplyVolts: number;
  /** As it really is, and as it is marked. */
  pullUpOhms: number;
  pullUpNominal: number;
  ratiometric: boolean;
  /** Sender's ground over the converter's, volts. */
  groundVolts: number;
  /** Converter: 0 for volts that are not rounded by it. */
  adcBits: number;
  unit: "V" | "ohm" | "count";
}

/** What may differ from day to day: contact resistance, supply (relative), ground, float height. */
export interface DayTruth {
  contactOhms: number;
  supplyFactor: number;
  groundVolts: number;
  height: number;
  /** +1 when the level rose last, −1 when it fell, in shares of the friction that are left. */
  hang: number;
}

/** The reading in the job's unit, without noise and without rounding. */
export function readingAt(sender: SenderTruth, circuit: CircuitTruth, day: DayTruth, height: number): number {
  const travel = travelAt(sender, height + day.height - day.hang * sender.friction);
  const value = sender.empty + travel * (sender.full - sender.empty);
  if (circuit.kind === "ohmmeter") return value + day.contactOhms;
  const supply = circuit.supplyVolts * day.supplyFactor;
  const ground = circuit.groundVolts + day.groundVolts;
  let volts: number;
  if (circuit.kind === "converter") volts = value + ground;
  else {
    const ohms = value + day.contactOhms;
    volts = (supply * ohms + ground * circuit.pullUpOhms) / (ohms + circuit.pullUpOhms);
  }
  // A ratiometric converter divides by the same supply, so that its wander drops out.
  const seen = circuit.ratiometric ? volts / day.supplyFactor : volts;
  return circuit.unit === "count" ? (seen / circuit.supplyVolts) * (2 ** circuit.adcBits - 1) : seen;
}

/** Volts to the job's unit, for noise and rails. */
export function unitsPerVolt(circuit: CircuitTruth): number {
  return circuit.unit === "count" ? (2 ** circuit.adcBits - 1) / circuit.supplyVolts : 1;
}
