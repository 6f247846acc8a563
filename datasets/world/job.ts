/**
 * Jobs: one seed makes a whole invented job with its truth: what the technician states, fill and drive files, and
 * everything that is really so. No brand, vehicle or place is meant.
 */
import { createRandom } from "../../src/math/random";
import type { JobInput } from "../../src/pipeline/job";
import { drawDrive, drawFaults, drawFill, drawSender, drawTank, pick, span, to } from "./draw";
import { simulateDrive } from "./drive";
import { families } from "./families";
import { pourFill, recordFill } from "./fill";
import type { DayTruth } from "./sender";
import { createTank } from "./tank";
import { sloshShareOf, type Truth } from "./truth";
import { driveCsv, fillCsv, traceCsv, type VolumeStyle } from "./write";

export * from "./truth";

export interface WorldJob {
  job: JobInput;
  fillFiles: { name: string; text: string }[];
  driveFiles: { name: string; text: string }[];
  truth: Truth;
}

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
