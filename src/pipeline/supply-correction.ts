/**
 * Supply correction: what would the reading be at the stated supply?
 *
 * Where columns become readings: a pull-up from an unregulated supply moves every reading in proportion to that supply. If it was
 * logged beside the reading, the reading is brought to the stated supply; readings taken while it was far too low are blanked.
 */

import { standardDeviation } from "simple-statistics";
import { type Answer, type Issue, ready } from "../answer";
import { withUnit } from "../format";
import { say } from "../said";
import type { Job, ReadingUnit } from "./job";
import { litresOf } from "./litres";
import type { Column, Recording } from "./recording";

/** What is read of the job. */
export type SupplyJob = Pick<Job, "readingUnit" | "assumed"> & {
  circuit: Pick<Job["circuit"], "kind" | "supplyVolts" | "ratiometric" | "groundOffsetVolts">;
};

export interface SupplyCorrection {
  recording: Recording;
  /** As it was read, before correction; NaN where blank. Null where nothing was corrected. */
  asRead: Float64Array | null;
  /** Rows blanked because the supply stood too low (cranking). */
  blanked: number;
  /** Standard deviation of the logged supply as a share of the stated one. */
  wander: number;
  /** Why a logged supply was not used, or null. */
  passedOver: string | null;
  /** Whether the readings speak against that. */
  doubtful?: true;
}

/** A logged supply is believed to be the sender's own when its middle lies within this share of the stated one. Named default, no source. */
export const sameSupply = 0.3;
/** Below this share of the stated supply no reading is believed (cranking). Named default, no source. */
export const crankingShare = 0.75;

/**
 * Reading at the stated supply: `V′ = Vg + (V − Vg)·(Vn − Vg)/(Vm − Vg)`, with Vn stated, Vm measured, Vg the stated ground offset: exact for
 * any pull-up and sender, from `(V − Vg)/(Vs − Vg) = R/(R + Rp)` (node equation). A row without a supply takes the last one before it.
 * Only for a pull-up whose converter does not follow the supply, and for volts or counts.
 */
export function correctForSupply(recording: Recording, job: SupplyJob): SupplyCorrection {
  const { ratiometric, kind, supplyVolts, groundOffsetVolts } = job.circuit;
  const none = { recording, asRead: null, blanked: 0, wander: 0, passedOver: null };
  const at = recording.columns.findIndex((c) => c.role === "reading");
  const supply = recording.columns.find((c) => c.role === "supply");
  if (at < 0 || !supply || kind !== "pull-up") return none;
  const reading = recording.columns[at]!;
  const unit = reading.unit ?? job.readingUnit ?? "V";
  if (unit !== "V" && unit !== "count") return none;
  if (ratiometric)
    return movesWithSupply(reading, supply)
      ? {
          ...none,
          passedOver:
            "the readings move with the supply logged beside them, as they would not in a converter that follows it, and the job says that it does; they are taken as read",
          doubtful: true,
        }
      : none;
  const logged = Array.from(supply.values).filter((v, i) => supply.valid[i] === 1 && v > 0);
  if (logged.length === 0)
    return supply.valid.includes(1)
      ? {
          ...none,
          passedOver:
            "the logged supply is nothing or less on every row: it is not the sender’s own, and the readings are taken as read",
        }
      : none;
  if (supplyVolts === null)
    return {
      ...none,
      passedOver: "a supply is logged and the job states none to bring the readings to; they are taken as read",
    };
  const middle = [...logged].sort((a, b) => a - b)[logged.length >> 1]!;
  if (Math.abs(middle / supplyVolts - 1) > sameSupply)
    return {
      ...none,
      passedOver: `the logged supply stands at ${withUnit(middle, "V")} and the circuit’s at ${withUnit(supplyVolts, "V")}: it is not the sender’s own, and the readings are taken as read`,
    };
  // Counts do not say how many volts one is: the ground is then left out.
  const ground = unit === "V" ? (groundOffsetVolts ?? 0) : 0;
  const values = reading.values.slice();
  const valid = reading.valid.slice();
  const lowSupply = new Map<number, number>();
  let last = logged[0]!;
  for (let i = 0; i < values.length; i++) {
    if (supply.valid[i] === 1) last = supply.values[i]!;
    if (!valid[i]) continue;
    if (!(last > crankingShare * supplyVolts)) {
      values[i] = Number.NaN;
      valid[i] = 0;
      lowSupply.set(i, last);
    } else values[i] = ground + ((values[i]! - ground) * (supplyVolts - ground)) / (last - ground);
  }
  const corrected: Column = { ...reading, values, valid };
  const working = logged.filter((v) => v > crankingShare * supplyVolts);
  return {
    recording: {
      ...recording,
      columns: recording.columns.map((c, i) => (i === at ? corrected : c)),
      ...(lowSupply.size > 0 ? { lowSupply } : {}),
    },
    asRead: reading.values.map((v, i) => (reading.valid[i] ? v : Number.NaN)),
    blanked: lowSupply.size,
    wander: working.length > 1 ? standardDeviation(working) / supplyVolts : 0,
    passedOver: null,
  };
}

/** A supply that moves by less of itself shows nothing; readings over it must run so many times smoother. (Our own bounds.) */
const leastMove = 0.02;
const timesSmoother = 4;

/** Whether readings over the supply run much smoother from row to row than as they stand: sums of squared second differences, as shares of the reading. */
function movesWithSupply(reading: Column, supply: Column): boolean {
  const rows = Array.from(reading.values.keys()).filter(
    (i) => reading.valid[i] === 1 && supply.valid[i] === 1 && supply.values[i]! > 0,
  );
  if (rows.length < 5) return false;
  const volts = rows.map((i) => supply.values[i]!);
  const usual = [...volts].sort((a, b) => a - b)[volts.length >> 1]!;
  const low = volts.reduce((a, b) => Math.min(a, b));
  if (volts.reduce((a, b) => Math.max(a, b)) - low < leastMove * usual) return false;
  const asRead = rows.map((i) => reading.values[i]!);
  const over = asRead.map((v, k) => (v * usual) / volts[k]!);
  return roughness(asRead) > timesSmoother * roughness(over);
}

const roughness = (x: number[]): number => x.slice(2).reduce((sum, v, k) => sum + (v - 2 * x[k + 1]! + x[k]!) ** 2, 0);

/**
 * One line on what the correction did, with its size in litres.
 * @param litresAt volume of a reading (of the file's unit), or null where none is known.
 */
export function supplyCautions(
  done: SupplyCorrection[],
  job: SupplyJob,
  unit: ReadingUnit,
  litresAt: ((reading: number) => number) | null,
): Issue[] {
  return done.flatMap(({ recording, asRead, blanked, wander, passedOver, doubtful }): Issue[] => {
    const { file } = recording;
    if (passedOver !== null)
      return [
        {
          code: "circuit/supply-not-used",
          says: `${file}: ${passedOver}.`,
          remedy: "State the supply of the pull-up in the job, and whether the converter follows it.",
          where: { file },
          weight: doubtful ? "doubtful" : "note",
        },
      ];
    if (!asRead) return [];
    const values = recording.columns.find((c) => c.role === "reading")!.values;
    let squares = 0;
    let worst = 0;
    let n = 0;
    for (let i = 0; i < values.length; i++) {
      if (Number.isNaN(values[i]!) || Number.isNaN(asRead[i]!)) continue;
      const off = litresAt ? litresAt(asRead[i]!) - litresAt(values[i]!) : asRead[i]! - values[i]!;
      squares += off * off;
      worst = Math.max(worst, Math.abs(off));
      n++;
    }
    if (n === 0) return [];
    const by = (off: number) => (litresAt ? litresOf(off) : withUnit(off, unit === "count" ? "counts" : "V", 2));
    const assumed = job.assumed.some((a) => a.path === "circuit.ratiometric");
    return [
      {
        code: "circuit/supply-corrected",
        says: say`${file}: readings are brought to ${withUnit(job.circuit.supplyVolts!, "V")} by the logged supply, which wanders by ${withUnit(100 * wander, "%", 2)}: ${by(Math.sqrt(squares / n))} root mean square, at most ${by(worst)}${blanked > 0 ? `; ${blanked === 1 ? "one row with too low a supply is" : `${blanked} rows with too low a supply are`} blanked` : ""}.`,
        remedy:
          "The device does not do this by itself: with that supply its display strays by as much. Feed pull-up and converter from one regulated supply.",
        where: { file },
        ...(assumed
          ? { weight: "holds-if" as const, condition: "the converter does not follow the supply" }
          : { weight: "note" as const }),
      },
    ];
  });
}

/**
 * What the correction leaves of the supply's error, relative to the stated supply: the step of the coarsest log, over √12 (never divided by the
 * samples: a supply that stands still is rounded alike each time). Null where a file was not corrected.
 */
export function supplyResidue(done: SupplyCorrection[], job: SupplyJob): number | null {
  const { supplyVolts } = job.circuit;
  if (done.length === 0 || supplyVolts === null || done.some((d) => d.asRead === null)) return null;
  const steps = done.map(({ recording }) => stepOf(recording.columns.find((c) => c.role === "supply")!));
  return Math.max(...steps) / Math.sqrt(12) / supplyVolts;
}

/** So many values that each stand again and again show the step of the converter behind them; fewer may lie apart by chance (our own bounds). */
const enoughValues = 8;
const oftenEach = 4;

/** The step of a column: that of its digits, or the least distance between its values where that is coarser and they are many and repeat. */
function stepOf({ values, valid, writtenStep }: Column): number {
  const all = values.filter((_, i) => valid[i] === 1);
  const logged = Float64Array.from(new Set(all)).sort();
  if (logged.length < enoughValues || all.length < oftenEach * logged.length) return writtenStep;
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < logged.length; i++) {
    const gap = logged[i]! - logged[i - 1]!;
    if (gap > 1e-9 && gap < step) step = gap;
  }
  return Number.isFinite(step) ? Math.max(step, writtenStep) : writtenStep;
}

/** Reads recordings at the stated supply, and adds to what `next` makes of them one line on the size of the correction. */
export function atStatedSupply<T>(
  recordings: Recording[],
  job: SupplyJob,
  next: (corrected: Recording[], residue: () => number | null) => Answer<T>,
  unitAndLitres: (value: T) => { unit: ReadingUnit; litresAt: ((reading: number) => number) | null },
): Answer<T> {
  const done = recordings.map((r) => correctForSupply(r, job));
  const answer = next(
    done.map((d) => d.recording),
    () => supplyResidue(done, job),
  );
  return toldOfSupply(answer, done, job, unitAndLitres);
}

/** An answer with one line more a recording on what the logged supply did to it. */
export function toldOfSupply<T>(
  answer: Answer<T>,
  done: SupplyCorrection[],
  job: SupplyJob,
  unitAndLitres: (value: T) => { unit: ReadingUnit; litresAt: ((reading: number) => number) | null },
): Answer<T> {
  if (answer.state !== "ready") return answer;
  const { unit, litresAt } = unitAndLitres(answer.value);
  return ready(answer.value, [...answer.cautions, ...supplyCautions(done, job, unit, litresAt)]);
}
