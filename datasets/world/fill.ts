/** Fill: the run as it was poured, and as it was written down. */
import type { Random } from "../../src/math/random";
import { roundByConverter } from "./drive";
import { type CircuitTruth, type DayTruth, readingAt, type SenderTruth, unitsPerVolt } from "./sender";
import type { Tank } from "./tank";

export interface FillTruth {
  /** Litres in the tank at step 0. */
  start_L: number;
  /** Pour as the container's mark says, litres; negative: so much is drawn. */
  pour_L: number;
  pours: number;
  /** Relative error of the container's marks, drawn inside the stated limit; the same for every pour. */
  scaleError: number;
  scaleErrorLimit: number;
  /** Standard deviation of one pour, litres. */
  errorPerPour_L: number;
  /** Standard deviation of a settled reading, volts (ohms for an ohmmeter), and the step that was written. */
  readingError: number;
  readingStep: number;
  recorded: boolean;
  faults: Fault[];
}

export interface Fault {
  kind: "missed-pour" | "wrong-pour" | "hung-float" | "wrong-reading";
  /** Row of the sheet at which it shows (step 0 is the start). */
  step: number;
  /** Written minus true, litres; for a reading its litres' worth on the true curve. */
  amount_L: number;
  /** The same over what a knowing observer's standard error of that step would be. */
  inStandardErrors: number;
}

export interface FillStep {
  /** As written, litres. */
  added_L: number;
  volume_L: number;
  /** As it really stood, litres since the start. */
  trueVolume_L: number;
  /** As written, and as the sender really showed. */
  reading: number;
  trueReading: number;
}

/** A fault as it is drawn: its size follows from `share`, or is given by `off`. */
export interface FaultDrawn {
  /** `other-pour`: another amount went in than the sheet says, which looks like every other row. */
  kind: Fault["kind"] | "doubled-pour" | "other-pour";
  step: number;
  share: number;
  /** Written minus true: of an `other-pour` in litres, of a `wrong-reading` in the reading's unit. */
  off?: number;
}

export interface FillRecord {
  steps: FillStep[];
  faults: Fault[];
  trace: { time_s: Float64Array; reading: Float64Array; poured_L: Float64Array } | null;
}

export function pourFill(
  tank: Tank,
  sender: SenderTruth,
  circuit: CircuitTruth,
  day: DayTruth,
  fill: FillTruth,
  faults: FaultDrawn[],
  random: Random,
): FillRecord {
  const perVolt = unitsPerVolt(circuit);
  const step = fill.readingStep;
  const rounded = (x: number) => Math.round(x / step) * step;
  const clean = (contents_L: number, hang: number) =>
    readingAt(sender, circuit, { ...day, hang: day.hang * hang }, tank.heightAt(contents_L));
  const steps: FillStep[] = [];
  const found: Fault[] = [];
  let contents = fill.start_L;
  let written = 0;
  let hung: number | null = null;
  const pour = (litres: number) => {
    contents += litres * (1 + fill.scaleError) + fill.errorPerPour_L * random.normal();
  };
  const slopeAt = (c: number) => {
    // Wide enough to reach the next level of a sender with levels; in a dead zone the mean slope of the tank stands in.
    const d = Math.max(tank.capacity_L * 0.015, sender.levels > 1 ? tank.capacity_L / sender.levels : 0);
    const rise = Math.abs(clean(c + d, 1) - clean(c - d, 1));
    const whole = Math.abs(clean(tank.capacity_L, 1) - clean(0, 1)) / tank.capacity_L;
    return rise > 0 ? (2 * d) / rise : 1 / whole;
  };
  const seen = fill.readingError * perVolt;
  // A sender with levels tells a volume no better than its step, however quiet the reading (methods: h/√12).
  const level = sender.levels > 1 ? Math.abs(clean(tank.capacity_L, 1) - clean(0, 1)) / (sender.levels - 1) : 0;
  const readingStandard = Math.hypot(seen, step / Math.sqrt(12), level / Math.sqrt(12));
  for (let k = 0; k <= fill.pours; k++) {
    const fault = faults.find((f) => f.step === k);
    let added = 0;
    if (k > 0) {
      added = fill.pour_L;
      const before = contents;
      const off_L = fault?.kind === "other-pour" ? (fault.off ?? fault.share * tank.capacity_L) : 0;
      pour(fill.pour_L - off_L);
      const inPour = (amount: number) =>
        Math.abs(amount) / Math.hypot(fill.errorPerPour_L, 1.41 * worth(before, contents));
      if (fault?.kind === "missed-pour") {
        pour(fill.pour_L);
        found.push({ kind: "missed-pour", step: k, amount_L: -fill.pour_L, inStandardErrors: inPour(fill.pour_L) });
      }
      if (fault?.kind === "doubled-pour") {
        added = 2 * fill.pour_L;
        found.push({ kind: "wrong-pour", step: k, amount_L: fill.pour_L, inStandardErrors: inPour(fill.pour_L) });
      }
      if (fault?.kind === "other-pour")
        found.push({ kind: "wrong-pour", step: k, amount_L: off_L, inStandardErrors: inPour(off_L) });
      if (fault?.kind === "wrong-pour") {
        const off = fault.share * tank.capacity_L;
        added = Math.sign(fill.pour_L) * Math.max(0.1, Math.round((Math.abs(fill.pour_L) + off) * 10) / 10);
        found.push({
          kind: "wrong-pour",
          step: k,
          amount_L: added - fill.pour_L,
          inStandardErrors: inPour(added - fill.pour_L),
        });
      }
    }
    written += added;
    const stands = clean(contents, 0.7 + 0.3 * (2 * random.uniform() - 1));
    // What the sender really shows: a float that hung stays in a recording as well.
    let shown = stands;
    let reading = roundByConverter(circuit, stands + seen * random.normal());
    if (fault?.kind === "hung-float" && steps.length > 0) {
      hung = steps[steps.length - 1]!.trueReading;
      shown = hung;
      reading = roundByConverter(circuit, hung + seen * random.normal());
      const off = (stands - hung) * signedSlope(contents);
      found.push({
        kind: "hung-float",
        step: k,
        amount_L: -Math.abs(off),
        inStandardErrors: Math.abs(off) / standard(contents),
      });
    }
    if (fault?.kind === "wrong-reading") {
      // A slip of one digit: the last but one of those that were written.
      const size = fault.off ?? slipSize(circuit, step, fault.share);
      const slipped = rounded(reading) + size;
      const off = size * signedSlope(contents);
      found.push({
        kind: "wrong-reading",
        step: k,
        amount_L: off,
        inStandardErrors: Math.abs(off) / standard(contents),
      });
      reading = slipped;
      // A slip of the pen moves the sheet alone; in a recording the sender itself showed it.
      if (fill.recorded) shown = stands + size;
    }
    steps.push({
      added_L: added,
      volume_L: written,
      trueVolume_L: contents - fill.start_L,
      reading: rounded(reading),
      trueReading: shown,
    });
  }
  return { steps, faults: found, trace: null };

  function worth(a: number, b: number): number {
    return Math.min(slopeAt(a), slopeAt(b)) * readingStandard;
  }
  function standard(c: number): number {
    return Math.hypot(fill.errorPerPour_L, slopeAt(c) * readingStandard);
  }
  function signedSlope(c: number): number {
    const slope = slopeAt(c);
    return Math.sign(clean(tank.capacity_L, 1) - clean(0, 1)) * slope;
  }
}

/** One digit of the written reading wrong by one to three, up or down. */
function slipSize(circuit: CircuitTruth, step: number, share: number): number {
  const decade = circuit.unit === "V" ? 0.1 : circuit.unit === "ohm" ? 10 : 100;
  return Math.sign(share) * Math.max(decade, step) * (1 + Math.floor(Math.abs(share) * 3));
}

/** The same run as a logger saw it: plateaus between pours, slosh that dies down, the sheet's running total beside it. */
export function recordFill(
  tank: Tank,
  sender: SenderTruth,
  circuit: CircuitTruth,
  day: DayTruth,
  fill: FillTruth,
  record: FillRecord,
  rate_Hz: number,
  floor: number,
  random: Random,
): NonNullable<FillRecord["trace"]> {
  const time: number[] = [];
  const reading: number[] = [];
  const poured: number[] = [];
  const perVolt = unitsPerVolt(circuit);
  const dt = 1 / rate_Hz;
  const frequency = 0.7 + 0.5 * random.uniform();
  let t = 0;
  let before_L = fill.start_L;
  let writtenBefore_L = 0;
  const sample = (contents_L: number, slosh: number, written_L: number, shift: number) => {
    const clean = readingAt(sender, circuit, { ...day, hang: 0.7 * day.hang }, tank.heightAt(contents_L) + slosh);
    time.push(t);
    reading.push(roundByConverter(circuit, clean + shift + floor * perVolt * random.normal()));
    poured.push(written_L);
    t += dt;
  };
  for (const step of record.steps) {
    const after_L = fill.start_L + step.trueVolume_L;
    const pouring = step.trueVolume_L > 0 ? 8 + 10 * random.uniform() : 0;
    for (let s = 0; s < pouring; s += dt)
      sample(before_L + ((after_L - before_L) * s) / pouring, 0.012 * random.normal(), writtenBefore_L, 0);
    const rest = 28 + 22 * random.uniform();
    const dies = 3 + 3 * random.uniform();
    const phase = 2 * Math.PI * random.uniform();
    // What the settled plateau shows beyond the plain curve: where friction left the float, a slip, a hung float.
    const plain = readingAt(sender, circuit, { ...day, hang: 0.7 * day.hang }, tank.heightAt(after_L));
    const shift = step.trueReading - plain;
    for (let s = 0; s < rest; s += dt) {
      const slosh = pouring > 0 ? 0.02 * Math.exp(-s / dies) * Math.cos(2 * Math.PI * frequency * s + phase) : 0;
      sample(after_L, slosh, step.volume_L, shift * Math.min(1, s / 4));
    }
    before_L = after_L;
    writtenBefore_L = step.volume_L;
  }
  return { time_s: Float64Array.from(time), reading: Float64Array.from(reading), poured_L: Float64Array.from(poured) };
}
