/** Draw: tank, sender, fill and drive of an invented job by chance. The order of the draws is part of every seed. */
import type { Random } from "../../src/math/random";
import type { DriveTruth } from "./drive";
import type { Family } from "./families";
import type { FillTruth } from "./fill";
import type { CircuitTruth, SenderTruth } from "./sender";
import type { TankTruth } from "./tank";

export const pick = <T>(random: Random, from: readonly T[]): T => from[random.below(from.length)]!;
export const span = (random: Random, low: number, high: number) => low + (high - low) * random.uniform();
export const to = (x: number, step: number) => Number((Math.round(x / step) * step).toFixed(6));

export function drawTank(family: Family, random: Random): TankTruth {
  const depth_mm = Math.round(span(random, 180, 420));
  const length_mm = Math.round(span(random, 400, 900));
  const width_mm = Math.round(span(random, 300, 700));
  const shaped: Record<TankTruth["shape"], [number, number]> = {
    stepped: [span(random, 0.3, 0.55), span(random, 0.22, 0.5)],
    saddle: [span(random, 0.25, 0.5), span(random, 0.45, 0.75)],
    wedge: [span(random, 0.1, 0.4), span(random, 0.6, 0.85)],
    cylinder: [0, 0],
    lobes: [span(random, 0.15, 0.4), span(random, 0.2, 0.45)],
    keel: [span(random, 0.08, 0.25), span(random, 0.4, 0.75)],
  };
  const [a, b] = shaped[family.shape];
  const box_L = (depth_mm * length_mm * width_mm) / 1e6;
  return { shape: family.shape, capacity_L: box_L * span(random, 0.62, 0.78), length_mm, width_mm, depth_mm, a, b };
}

export function drawSender(
  family: Family,
  tank: TankTruth,
  random: Random,
): { sender: SenderTruth; circuit: CircuitTruth } {
  const [low, high] = pick(random, [
    [10, 180],
    [33, 240],
    [0.5, 90],
    [3, 160],
    [2, 300],
    [20, 110],
  ] as const);
  const falling = random.uniform() < 0.45;
  const common = {
    lowStop: span(random, 0.02, 0.07),
    highStop: span(random, 0.9, 0.97),
    pivot: span(random, 0.42, 0.6),
    arm: span(random, 0.52, 0.7),
    offAlong_mm: tank.length_mm * span(random, 0.03, 0.2) * pick(random, [1, -1]),
    offAcross_mm: tank.width_mm * span(random, 0.03, 0.2) * pick(random, [1, -1]),
  };
  const supplyVolts = pick(random, [5, 5, 3.3]);
  if (family.sender === "capacitive") {
    const sender: SenderTruth = {
      ...common,
      kind: "capacitive",
      empty: supplyVolts === 5 ? 0.5 : 0.33,
      full: supplyVolts === 5 ? 4.5 : 2.97,
      levels: 0,
      friction: span(random, 0.0005, 0.002),
      lowStop: span(random, 0.02, 0.06),
      highStop: span(random, 0.92, 0.985),
    };
    const circuit: CircuitTruth = {
      kind: "converter",
      supplyVolts,
      pullUpOhms: 0,
      pullUpNominal: 0,
      ratiometric: random.uniform() < 0.5,
      groundVolts: 0.004 * random.normal(),
      adcBits: 12,
      unit: "V",
    };
    return { sender, circuit };
  }
  const levels =
    family.sender === "reed-ladder" ? 10 + random.below(19) : random.uniform() < 0.5 ? 0 : 60 + random.below(120);
  const sender: SenderTruth = {
    ...common,
    kind: family.sender,
    empty: falling ? high : low,
    full: falling ? low : high,
    levels,
    friction: family.sender === "reed-ladder" ? (0.15 * span(random, 0.3, 1)) / levels : span(random, 0.001, 0.008),
  };
  const unit = pick(random, ["V", "V", "V", "V", "V", "V", "count", "ohm"] as const);
  const pullUpNominal = pick(random, [68, 100, 150, 220, 240, 330]);
  const circuit: CircuitTruth = {
    kind: unit === "ohm" ? "ohmmeter" : "pull-up",
    supplyVolts,
    pullUpOhms: pullUpNominal * (1 + 0.01 * (2 * random.uniform() - 1)),
    pullUpNominal,
    ratiometric: random.uniform() < 0.6,
    groundVolts: unit === "ohm" ? 0 : 0.006 * random.normal(),
    adcBits: unit === "count" ? pick(random, [10, 12]) : 12,
    unit,
  };
  return { sender, circuit };
}

export function drawFill(tank: TankTruth, circuit: CircuitTruth, start_L: number, random: Random): FillTruth {
  const wanted = 8 + random.below(20);
  const room = tank.capacity_L * span(random, 0.955, 0.995) - start_L;
  const pour_L = Math.max(0.5, to(room / wanted, room / wanted > 3 ? 0.5 : 0.1));
  const scaleErrorLimit = pick(random, [0.005, 0.01, 0.015]);
  const recorded = random.uniform() < 0.25;
  return {
    start_L,
    pour_L,
    pours: Math.max(6, Math.min(wanted, Math.floor(room / (pour_L * (1 + scaleErrorLimit))))),
    scaleError: scaleErrorLimit * (2 * random.uniform() - 1),
    scaleErrorLimit,
    errorPerPour_L: Number(Math.max(0.01, pour_L * span(random, 0.004, 0.015)).toPrecision(2)),
    readingError: circuit.unit === "ohm" ? span(random, 0.15, 0.6) : span(random, 0.003, 0.012),
    readingStep: recorded
      ? circuit.unit === "V"
        ? 0.001
        : circuit.unit === "ohm"
          ? 0.1
          : 1
      : circuit.unit === "V"
        ? pick(random, [0.01, 0.01, 0.001])
        : circuit.unit === "ohm"
          ? pick(random, [1, 0.1])
          : 1,
    recorded,
    faults: [],
  };
}

/** One run in three is clean; the others hold one fault or two, at steps that are not neighbours. */
export function drawFaults(fill: FillTruth, random: Random) {
  const number = random.uniform() < 0.34 ? 0 : random.uniform() < 0.7 ? 1 : 2;
  const faults: { kind: FillTruth["faults"][number]["kind"] | "doubled-pour"; step: number; share: number }[] = [];
  for (let tries = 0; faults.length < number && tries < 20; tries++) {
    const step = 2 + random.below(Math.max(1, fill.pours - 3));
    const kind = pick(random, [
      "missed-pour",
      "missed-pour",
      "wrong-reading",
      "wrong-reading",
      "wrong-reading",
      "wrong-pour",
      "doubled-pour",
      "hung-float",
    ] as const);
    const share = (random.uniform() < 0.5 ? -1 : 1) * span(random, 0.03, 0.09);
    if (faults.some((f) => Math.abs(f.step - step) < 3)) continue;
    if (kind === "missed-pour" && (faults.some((f) => f.kind === "missed-pour") || fill.pours < 8)) continue;
    // A recording shows no slip of the pen in a reading; the float can still hang.
    if (fill.recorded && kind === "wrong-reading") continue;
    faults.push({ kind, step, share: kind === "wrong-reading" ? share * 10 : share });
    if (kind === "missed-pour") fill.pours -= 1;
  }
  return faults.filter((f) => f.step < fill.pours);
}

export function drawDrive(family: Family, tank: TankTruth, circuit: CircuitTruth, random: Random): DriveTruth {
  const ohm = circuit.kind === "ohmmeter";
  return {
    style: family.style,
    damping: span(random, 0.02, 0.09),
    forcing: span(random, 0.4, 1),
    floor: ohm ? span(random, 0.1, 0.5) : span(random, 0.002, 0.01),
    spikesPerMinute: random.uniform() < 0.4 ? 0 : span(random, 0.1, 2),
    spike: ohm ? span(random, 20, 80) : span(random, 0.3, 1.2),
    dropoutsPerMinute: random.uniform() < 0.5 ? 0 : span(random, 0.05, 0.4),
    dropoutTo: random.uniform() < 0.5 ? "short" : "open",
    refresh_Hz: random.uniform() < 0.75 ? 0 : pick(random, [1, 2, 5]),
    burn_L_per_h: tank.capacity_L * span(random, 0.08, 0.35),
    turning: pick(random, [1, -1]),
    lap_s: span(random, 55, 110),
  };
}
