/**
 * Jobs: one seed makes a whole invented job with its truth: what the technician states, fill and drive files, and
 * everything that is really so. No brand, vehicle or place is meant.
 */
import { createRandom, type Random } from "../../src/math/random";
import { powerBelow, welch } from "../../src/math/spectrum";
import type { JobInput } from "../../src/pipeline/job";
import { type DriveRecord, type DriveTruth, modeFrequency_Hz, simulateDrive } from "./drive";
import { type Family, families } from "./families";
import { type FillRecord, type FillTruth, pourFill, recordFill } from "./fill";
import { type CircuitTruth, type DayTruth, readingAt, type SenderTruth } from "./sender";
import { createTank, type TankTruth } from "./tank";
import { driveCsv, fillCsv, traceCsv, type VolumeStyle } from "./write";

export interface Truth {
  seed: number;
  family: string;
  tank: TankTruth;
  sender: SenderTruth;
  circuit: CircuitTruth;
  fillDay: DayTruth;
  /** A later day, level falling: what the drives are made with. */
  serviceDay: DayTruth;
  fill: FillTruth;
  drive: DriveTruth;
  /** What the pick-up cannot reach, litres of contents. */
  unusable_L: number;
  logRate_Hz: number;
  /** Contents at the log's start and end, litres; share of the reading's variance that is slosh at the modes of the surface. */
  log: { from_L: number; to_L: number; sloshShare: number };
  deviceRate_Hz: number;
  consumption: { mean: number; standardUncertainty: number };
  record: FillRecord;
}

export interface WorldJob {
  job: JobInput;
  fillFiles: { name: string; text: string }[];
  driveFiles: { name: string; text: string }[];
  truth: Truth;
}

const pick = <T>(random: Random, from: readonly T[]): T => from[random.below(from.length)]!;
const span = (random: Random, low: number, high: number) => low + (high - low) * random.uniform();
const to = (x: number, step: number) => Number((Math.round(x / step) * step).toFixed(6));

/** @param family by its name in `families`; left out, the seed goes through all in turn. */
export function makeJob(seed: number, family?: string): WorldJob {
  const kind = family ? families.find((f) => f.name === family) : families[seed % families.length];
  if (!kind) throw new Error(`makeJob: there is no family "${family}"`);
  const random = createRandom(seed);
  const tankTruth = drawTank(kind, random);
  const tank = createTank(tankTruth);
  const { sender, circuit } = drawSender(kind, tankTruth, random);
  const ohmRange = Math.abs(sender.full - sender.empty);
  const fillDay: DayTruth = { contactOhms: 0, supplyFactor: 1, groundVolts: 0, height: 0, hang: 1 };
  const serviceDay: DayTruth = {
    contactOhms: circuit.kind === "converter" ? 0 : Math.abs(0.003 * ohmRange * random.normal()),
    supplyFactor: 1 + 0.002 * random.normal(),
    groundVolts: circuit.kind === "ohmmeter" ? 0 : 0.003 * random.normal(),
    height: 0.002 * random.normal(),
    hang: -span(random, 0.2, 0.8),
  };
  const unusable_L = to(tank.capacity_L * span(random, 0.01, 0.035), 0.1);
  const unusableLimit_L = to(Math.max(0.1, 0.3 * unusable_L), 0.1);
  const trueUnusable_L = unusable_L + unusableLimit_L * (2 * random.uniform() - 1);
  const dry = random.uniform() < 0.6;
  const fill = drawFill(tankTruth, circuit, dry ? trueUnusable_L : 0.004 * tank.capacity_L * random.uniform(), random);
  const drive = drawDrive(kind, tankTruth, circuit, random);
  const record = pourFill(tank, sender, circuit, fillDay, fill, drawFaults(fill, random), random);
  fill.faults = record.faults;
  if (fill.recorded) record.trace = recordFill(tank, sender, circuit, fillDay, fill, record, 10, drive.floor, random);

  const consumption = { mean: to(span(random, 9, 28), 0.5), standardUncertainty: 0 };
  consumption.standardUncertainty = to(consumption.mean * span(random, 0.06, 0.16), 0.1);
  const logRate_Hz = pick(random, [10, 10, 20, 20, 25, 50]);
  const minutes =
    logRate_Hz >= 50 ? span(random, 10, 16) : logRate_Hz >= 20 ? span(random, 14, 30) : span(random, 20, 40);
  const truth: Truth = {
    seed,
    family: kind.name,
    tank: tankTruth,
    sender,
    circuit,
    fillDay,
    serviceDay,
    fill,
    drive,
    unusable_L: trueUnusable_L,
    logRate_Hz,
    log: { from_L: 0, to_L: 0, sloshShare: 0 },
    deviceRate_Hz: 10,
    consumption,
    record,
  };
  const from_L = tank.capacity_L * span(random, 0.25, 0.95);
  const log = simulateDrive(
    tank,
    sender,
    circuit,
    serviceDay,
    drive,
    { seconds: minutes * 60, rate_Hz: logRate_Hz, from_L, least_L: 0 },
    random,
  );
  truth.log = { from_L, to_L: log.contents_L[log.contents_L.length - 1]!, sloshShare: 0 };
  truth.log.sloshShare = sloshShareOf(log, truth);
  const style: VolumeStyle = {
    unit: fill.recorded ? "L" : pick(random, ["L", "L", "L", "USgal", "kg"]),
    entered: fill.recorded ? "cumulative" : pick(random, ["added", "cumulative"]),
    density_kg_per_L: 0.745,
    decimalComma: random.uniform() < 0.25,
  };
  const job: JobInput = {
    name: `Invented job ${seed}`,
    tank: {
      capacity_L: to(tank.capacity_L * (1 + 0.006 * random.normal()), tank.capacity_L > 40 ? 1 : 0.5),
      unusable_L,
      unusableLimit_L,
      length_mm: tankTruth.length_mm,
      width_mm: tankTruth.width_mm,
      depth_mm: tankTruth.depth_mm,
    },
    sender: {
      kind: sender.kind,
      ...(circuit.kind === "converter" ? {} : { emptyOhms: sender.empty, fullOhms: sender.full }),
    },
    circuit:
      circuit.kind === "pull-up"
        ? {
            kind: "pull-up",
            pullUpOhms: circuit.pullUpNominal,
            pullUpLimit: 0.01,
            supplyVolts: circuit.supplyVolts,
            ratiometric: circuit.ratiometric,
            adcBits: circuit.adcBits,
          }
        : circuit.kind === "converter"
          ? {
              kind: "converter",
              supplyVolts: circuit.supplyVolts,
              ratiometric: circuit.ratiometric,
              adcBits: circuit.adcBits,
            }
          : { kind: "none" },
    fill: { enteredAs: style.entered, startedFrom: dry ? "pick-up-dry" : "drained" },
    pour: {
      size_L: fill.pour_L,
      errorPerPour_L: fill.errorPerPour_L,
      scaleErrorLimit: fill.scaleErrorLimit,
      ...(style.unit === "kg" ? { density_kg_per_L: style.density_kg_per_L } : {}),
    },
    readingUnit: circuit.unit,
    volumeUnit: style.unit,
    device: {
      maxTablePoints: pick(random, [8, 10, 12, 16]),
      spacing: "free",
      tableReadingUnit: circuit.unit,
      tableReadingStep: circuit.unit === "V" ? 0.01 : 1,
      tableVolumeUnit: "L",
      tableVolumeStep: 0.1,
      tableOrder: sender.full > sender.empty ? "rising" : "falling",
      shows: pick(random, ["usable", "since-start"]),
      displayUnit: pick(random, ["L", "L", "percent"]),
      displayStep: 1,
      rate_Hz: 10,
      smoothing: { asks: pick(random, ["seconds", "seconds", "factor", "cutoff"]), least: 0, most: 300, step: 0.5 },
      deadband: { unit: pick(random, ["L", "percent"]), step: 0.1, most: 10 },
      warning: { canClear: true, canDelay: true },
      has: ["fault-limits"],
    },
    targets: {
      tolerance_L: to(0.025 * tank.capacity_L, 0.1),
      coverage: 0.95,
      endFlickersPerHour: 1,
      displayReversalsPerMinute: 2,
      runDryRisk: 0.01,
    },
    consumption: { ...consumption, unit: "L/100km" },
    reserve: { value: to(span(random, 10, 30), 1), unit: "km" },
  };
  const asked = job.device!.smoothing!;
  if (asked.asks === "factor") Object.assign(asked, { least: 0.0001, most: 1, step: 0.0001 });
  if (asked.asks === "cutoff") Object.assign(asked, { least: 0.0005, most: 5, step: 0.0001 });
  return {
    job,
    fillFiles: [
      record.trace
        ? { name: "fill.csv", text: traceCsv(record.trace, circuit, style) }
        : { name: "fill.csv", text: fillCsv(record, circuit, style, fill.readingStep) },
    ],
    driveFiles: [{ name: "drive.csv", text: driveCsv(log, circuit, style.decimalComma) }],
    truth,
  };
}

/** Litres added since the start of the fill run, for litres in the tank. */
export const addedOf = (truth: Truth, contents_L: number) => contents_L - truth.fill.start_L;

/** Reading at rest, without noise, for litres added since the start. `fill`: as filled; `service`: a later day, level falling. */
export function restReading(truth: Truth, day: "fill" | "service", tank = createTank(truth.tank)) {
  const at = day === "fill" ? { ...truth.fillDay, hang: 0.7 * truth.fillDay.hang } : truth.serviceDay;
  return (added_L: number) => readingAt(truth.sender, truth.circuit, at, tank.heightAt(added_L + truth.fill.start_L));
}

/** A new drive of the same tank, on the service day, at the device's rate. `from` is a share of the capacity; drawn if left out. */
export function freshDrive(
  truth: Truth,
  seed: number,
  minutes: number,
  options: { from?: number; burn_L_per_h?: number } = {},
): {
  time_s: Float64Array;
  reading: Float64Array;
  added_L: Float64Array;
  contents_L: Float64Array;
  record: DriveRecord;
} {
  const random = createRandom(truth.seed * 7919 + seed);
  const tank = createTank(truth.tank);
  const from_L = tank.capacity_L * (options.from ?? span(random, 0.3, 0.95));
  const drive = { ...truth.drive, burn_L_per_h: options.burn_L_per_h ?? truth.drive.burn_L_per_h };
  const record = simulateDrive(
    tank,
    truth.sender,
    truth.circuit,
    truth.serviceDay,
    drive,
    { seconds: minutes * 60, rate_Hz: truth.deviceRate_Hz, from_L, least_L: 0 },
    random,
  );
  return {
    time_s: record.time_s,
    reading: record.reading,
    added_L: record.contents_L.map((c) => addedOf(truth, c)),
    contents_L: record.contents_L,
    record,
  };
}

/** True first modes of the two directions at a level, Hz: the one that the sender sees more of comes first. */
export function trueModes_Hz(truth: Pick<Truth, "tank">, contents_L: number): { along_Hz: number; across_Hz: number } {
  const depth = createTank(truth.tank).heightAt(contents_L) * truth.tank.depth_mm;
  return {
    along_Hz: modeFrequency_Hz(truth.tank.length_mm, depth),
    across_Hz: modeFrequency_Hz(truth.tank.width_mm, depth),
  };
}

/**
 * Share of the variance of a log's readings about those of the level at rest, spikes and dropouts left out, that lies within a quarter of the
 * surface's two first modes and would be there without noise.
 */
export function sloshShareOf(
  log: Pick<DriveRecord, "reading" | "clean" | "contents_L" | "mark">,
  truth: Pick<Truth, "tank" | "sender" | "circuit" | "serviceDay" | "logRate_Hz" | "log">,
): number {
  const tank = createTank(truth.tank);
  const rest = log.contents_L.map((c) => readingAt(truth.sender, truth.circuit, truth.serviceDay, tank.heightAt(c)));
  let squares = 0;
  let n = 0;
  for (let i = 0; i < rest.length; i++)
    if (log.mark[i] === 0) {
      squares += (log.reading[i]! - rest[i]!) ** 2;
      n++;
    }
  const spectrum = welch(
    log.clean.map((v, i) => v - rest[i]!),
    truth.logRate_Hz,
    powerBelow(60 * truth.logRate_Hz),
  );
  const width_Hz = spectrum.frequency_Hz[1]!;
  const modes = [truth.log.from_L, truth.log.to_L].map((level) => trueModes_Hz(truth, level));
  const near = (["along_Hz", "across_Hz"] as const).map((way) => {
    const ends = modes.map((m) => m[way]);
    return { from: 0.8 * Math.min(...ends), to: 1.25 * Math.max(...ends) };
  });
  let slosh = 0;
  spectrum.frequency_Hz.forEach((f, k) => {
    if (near.some(({ from, to }) => f >= from && f <= to)) slosh += spectrum.density[k]! * width_Hz;
  });
  return squares > 0 ? Math.min(1, slosh / (squares / n)) : 0;
}

function drawTank(family: Family, random: Random): TankTruth {
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

function drawSender(family: Family, tank: TankTruth, random: Random): { sender: SenderTruth; circuit: CircuitTruth } {
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

function drawFill(tank: TankTruth, circuit: CircuitTruth, start_L: number, random: Random): FillTruth {
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
function drawFaults(fill: FillTruth, random: Random) {
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

function drawDrive(family: Family, tank: TankTruth, circuit: CircuitTruth, random: Random): DriveTruth {
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
