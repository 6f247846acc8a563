/**
 * Closed loop of the pair of readings engine off and running: grounds are lifted and supplies moved by known amounts on simulated senders, and
 * shift, lift and blame are held to them.
 */

import { drawFill, drawSender, drawTank, pick, span } from "../../datasets/world/draw";
import { families } from "../../datasets/world/families";
import { pourFill } from "../../datasets/world/fill";
import { type CircuitTruth, type DayTruth, readingAt, unitsPerVolt } from "../../datasets/world/sender";
import { createTank } from "../../datasets/world/tank";
import { fillCsv } from "../../datasets/world/write";
import { type Answer, valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { findSteps } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { readRecording } from "../../src/pipeline/recording";
import { type RunningShift, weighEnginePair } from "../../src/pipeline/running-shift";
import { published } from "../../src/said";
import { type Line, shareLine } from "./lines";
import { sourceFile } from "./pipeline-run";

export const moves = ["nothing", "ground", "supply", "both"] as const;
export type Moved = (typeof moves)[number];

export interface PairCase {
  seed: number;
  moved: Moved;
  /** A vehicle's battery feeds the pull-up and the converter does not follow it; else a regulated supply, followed or not. */
  battery: boolean;
  followed: boolean;
  /** Both supplies were measured too. */
  metered: boolean;
  /** True running less off: volts, and litres on the tank's own curve; null where a reading lies beyond those of the fill run. */
  shift_V: number;
  shift_L: number | null;
  lift_V: number;
  told: RunningShift;
}

/** What a cause is called where that and nothing else moved the reading. */
const right: Record<Moved, RunningShift["cause"][]> = {
  nothing: ["noise"],
  ground: ["ground"],
  supply: ["supply", "charging"],
  both: ["supply-and-ground"],
};
export const rightly = ({ moved, told }: PairCase): boolean => right[moved].includes(told.cause);

/** Blamed on what did not move, or on the one where the other moved too by more than is said to hide beside it. */
export function wrongly({ moved, lift_V, told }: PairCase): boolean {
  const blamed = { ground: told.cause.endsWith("ground"), supply: /^supply|charging/.test(told.cause) };
  if (!blamed.ground && !blamed.supply) return false;
  const lifted = moved === "ground" || moved === "both";
  const supplied = moved === "supply" || moved === "both";
  const hides = published(told.says).match(/up to ([\d.]+).V would not show/u);
  const missed = lifted && !blamed.ground && !(hides && Math.abs(lift_V) <= Number(hides[1]));
  return missed || (blamed.ground && !lifted) || (blamed.supply && !supplied) || (supplied && !blamed.supply);
}

const must = <T>(answer: Answer<T>): T => {
  const value = valueIn(answer);
  if (value === null || value === undefined) throw new Error(JSON.stringify(answer));
  return value;
};
/** Readings and meters err evenly within what is stated of them. */
const within = (limit: number, random: { uniform(): number }) => limit * (2 * random.uniform() - 1);

export function measurePair(seed: number, moved: Moved): PairCase {
  const random = createRandom(seed * 4507 + moves.indexOf(moved));
  const arms = families.filter((f) => f.sender === "float-arm");
  const family = pick(random, arms);
  const tankTruth = drawTank(family, random);
  const tank = createTank(tankTruth);
  const { sender: drawn, circuit: drawnCircuit } = drawSender(family, tankTruth, random);
  const sender = { ...drawn, levels: 0 };
  const battery = random.uniform() < 0.5;
  const circuit: CircuitTruth = {
    ...drawnCircuit,
    kind: "pull-up",
    unit: "V",
    ...(battery ? { supplyVolts: 12.6, ratiometric: false } : {}),
  };
  const metered = random.uniform() < 0.6;
  const lift_V = moved === "ground" || moved === "both" ? pick(random, [1, 1, -1]) * span(random, 0.05, 0.6) : 0;
  // A battery is charged, a regulated supply sags.
  const ratio =
    moved === "supply" || moved === "both" ? (battery ? span(random, 1.06, 1.18) : span(random, 0.9, 0.97)) : 1;
  const rest: DayTruth = {
    contactOhms: 0,
    supplyFactor: 1 + within(battery ? 0.04 : 0.005, random),
    groundVolts: 0,
    height: 0,
    hang: 0,
  };
  const running: DayTruth = { ...rest, supplyFactor: rest.supplyFactor * ratio, groundVolts: lift_V };
  const height = sender.lowStop + (sender.highStop - sender.lowStop) * span(random, 0.05, 0.95);
  const fill = { ...drawFill(tankTruth, circuit, 0, random), recorded: false, readingStep: 0.001 };
  // The pair is read as the steps of the fill are.
  const readingLimit = Math.sqrt(3) * fill.readingError;
  const clean = [rest, running].map((day) => readingAt(sender, circuit, day, height));
  const seen = clean.map((v) => Math.max(0, v + within(readingLimit, random)));
  const meter = (day: DayTruth) => circuit.supplyVolts * day.supplyFactor * (1 + within(0.005, random));

  const day: DayTruth = { contactOhms: 0, supplyFactor: 1, groundVolts: 0, height: 0, hang: 0 };
  const record = pourFill(tank, sender, circuit, day, fill, [], random);
  const style = { unit: "L", entered: "added", density_kg_per_L: 0.745, decimalComma: false } as const;
  const input: JobInput = {
    tank: { capacity_L: tank.capacity_L },
    sender: { kind: sender.kind, emptyOhms: sender.empty, fullOhms: sender.full },
    circuit: {
      kind: "pull-up",
      pullUpOhms: circuit.pullUpNominal,
      supplyVolts: circuit.supplyVolts,
      ratiometric: circuit.ratiometric,
      enginePair: {
        offReading: seen[0]!,
        runningReading: seen[1]!,
        readingLimit,
        ...(metered ? { offSupplyVolts: meter(rest), runningSupplyVolts: meter(running) } : {}),
      },
    },
    fill: { enteredAs: "added", startedFrom: "drained" },
    pour: { errorPerPour_L: fill.errorPerPour_L, scaleErrorLimit: fill.scaleErrorLimit },
    readingUnit: "V",
  };
  const job = must(resolveJob(input));
  const file = sourceFile("fill", { name: "fill.csv", text: fillCsv(record, circuit, style, fill.readingStep) });
  const fillRuns = must(findSteps([must(readRecording(file, null))], job));
  const told = must(weighEnginePair(job, fillRuns, { empty: sender.empty, full: sender.full }))!;
  const shown = record.steps.map((s) => s.reading);
  // What stands for a reading on the day of the fill, by bisection: readings run one way between the stops.
  const litresAt = (reading: number): number => {
    const sign = Math.sign(sender.full - sender.empty);
    let [low, high] = [sender.lowStop, sender.highStop];
    for (let i = 0; i < 50; i++) {
      const middle = (low + high) / 2;
      if (sign * (readingAt(sender, circuit, day, middle) - reading) < 0) low = middle;
      else high = middle;
    }
    return tank.contentsAt((low + high) / 2);
  };
  return {
    seed,
    moved,
    battery,
    followed: circuit.ratiometric,
    metered,
    shift_V: (clean[1]! - clean[0]!) / unitsPerVolt(circuit),
    shift_L: clean.every((v) => v > Math.min(...shown) && v < Math.max(...shown))
      ? litresAt(clean[1]!) - litresAt(clean[0]!)
      : null,
    lift_V,
    told,
  };
}

export interface PairCounts {
  shift: [number, number];
  litres: [number, number];
  /** Lifts that were there and are told. */
  lift: [number, number];
  /** Of the pairs that can be told: the supply measured, or followed by the converter. */
  right: [number, number];
  wrong: [number, number];
}

/** Each seed with each move; a supply that the converter follows moves nothing, and is left out. */
export function countPairs(from: number, to: number): PairCounts {
  const cases: PairCase[] = [];
  for (let seed = from; seed <= to; seed++)
    for (const moved of moves) {
      const one = measurePair(seed, moved);
      if (!one.followed || moved === "nothing" || moved === "ground") cases.push(one);
    }
  const count = (of: PairCase[], holds: (c: PairCase) => boolean): [number, number] => [
    of.filter(holds).length,
    of.length,
  ];
  const holds = (told: number, standard: number, truth: number) => Math.abs(told - truth) <= 1.96 * standard;
  return {
    shift: count(cases, (c) => holds(c.told.shiftVolts!, c.told.shiftStandardVolts!, c.shift_V)),
    litres: count(
      cases.filter((c) => c.shift_L !== null),
      (c) => holds(c.told.shift_L!, c.told.shiftStandard_L!, c.shift_L!),
    ),
    lift: count(
      cases.filter((c) => c.lift_V !== 0 && c.told.groundLift_V !== null),
      (c) => holds(c.told.groundLift_V!, c.told.groundLiftStandard_V!, c.lift_V),
    ),
    right: count(
      cases.filter((c) => c.metered || c.followed),
      rightly,
    ),
    wrong: count(cases, wrongly),
  };
}

export function pairLines(from: number, to: number): Line[] {
  const c = countPairs(from, to);
  return [
    shareLine("engine pair: shift in volts covered (95 % stated)", ...c.shift),
    shareLine("  in litres", ...c.litres),
    shareLine("  lift of the ground covered, where told", ...c.lift),
    shareLine("  blamed rightly, supply measured or followed", ...c.right),
    shareLine("  blamed wrongly, all pairs", ...c.wrong),
  ];
}
