/**
 * Cases of complaints: a simulated tank with a device that is set as recommended but for one trouble, or for none, and logs in which it would show.
 * What the device really does comes from the drive itself at the device's rate, never from the log.
 */
import { pick, span, to } from "../../datasets/world/draw";
import type { DriveTruth } from "../../datasets/world/drive";
import { makeJob, restReading, type Truth, type WorldJob } from "../../datasets/world/job";
import { refuelDrive } from "../../datasets/world/refuel";
import { createTank } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import type { JobInput } from "../../src/pipeline/job";
import { unusableOffset_L } from "../../src/pipeline/job";
import { driveOf, type TrueDrive } from "./complaint-log";
import { pipelineOf } from "./pipeline-run";
import { type Device, deviceFrom, litresInUnit, runDevice } from "./replay";
import { countFlickers } from "./score";

export const planted = [
  "none",
  "row on the full stop",
  "row on the empty stop",
  "quick filter",
  "no deadband",
  "two rows",
  "other sender",
  "reversed sender",
  "warning in corners",
  "dropouts",
  "slow filter",
] as const;
export type Planted = (typeof planted)[number];
export type Stated = NonNullable<JobInput["complaint"]>;

/** The device as a technician finds it, before one thing is spoilt: as recommended for this tank from its fill run and another drive. */
export interface Sound {
  world: WorldJob;
  job: JobInput;
  device: Device;
  capacity_L: number;
  /** Litres of the display's base for litres added. */
  base_L: number;
  warnAt_L: number;
  faultLow: number | null;
  faultHigh: number | null;
  /** Time constant of the recommendation, s. */
  timeConstant_s: number;
}

export interface ComplaintCase {
  seed: number;
  planted: Planted;
  stated: Stated | null;
  withFill: boolean;
  world: Pick<WorldJob, "job" | "fillFiles" | "driveFiles">;
  sound: Sound;
  device: Device;
  warnAt_L: number;
  drives: TrueDrive[];
  /** Rows a second of its log. */
  logRate_Hz: number;
}

/** @returns null where nothing can be recommended for this tank. */
export function soundDevice(seed: number): Sound | null {
  const random = createRandom(seed * 31 + 7);
  const world = makeJob(seed);
  const { truth } = world;
  const displayUnit = pick(random, ["L", "L", "percent", "USgal"] as const);
  const device: JobInput["device"] = {
    ...world.job.device,
    displayUnit,
    displayStep: displayUnit === "USgal" ? pick(random, [0.5, 0.1]) : 1,
    tableVolumeUnit: pick(random, ["L", "L", "percent", "USgal"]),
    smooths: random.uniform() < 0.2 ? "volume" : "reading",
    smoothing: { asks: "seconds", least: 0, most: 300, step: 0.5 },
    deadband: { unit: pick(random, ["L", "percent"]), step: 0.1, most: 10 },
    has: random.uniform() < 0.6 ? ["fault-limits"] : [],
  };
  if (truth.circuit.unit === "V" && random.uniform() < 0.25)
    Object.assign(device!, { tableReadingUnit: "mV", tableReadingStep: 10 });
  const job: JobInput = { ...world.job, device };
  const drive = driveOf(truth, truth.drive, { seconds: 900, rate_Hz: 10, from: span(random, 0.4, 0.8) }, random);
  const { stages } = pipelineOf({
    job,
    fillFiles: world.fillFiles,
    driveFiles: [{ name: "drive.csv", text: driveCsv(drive.record, truth.circuit, false) }],
  });
  const settings = valueIn(stages.settings.read());
  const display = valueIn(stages.display.read());
  const whole = valueIn(stages.job.read());
  const circuit = valueIn(stages.circuit.read());
  if (!settings?.warning || !display || !whole) return null;
  const capacity_L = whole.tank.capacity_L ?? truth.tank.capacity_L;
  return {
    world,
    job,
    device: deviceFrom(settings, display.order, {
      capacity_L,
      rate_Hz: whole.device.rate_Hz,
      displayUnit: whole.device.displayUnit,
      displayStep: whole.device.displayStep,
    }),
    capacity_L,
    base_L: whole.device.shows === "usable" ? unusableOffset_L(whole).offset_L : 0,
    warnAt_L: settings.warning.at * litresInUnit(settings.warning.unit, capacity_L),
    faultLow: circuit?.faultLow ?? null,
    faultHigh: circuit?.faultHigh ?? null,
    timeConstant_s: display.timeConstant_s,
  };
}

const factorOf = (timeConstant_s: number, rate_Hz: number) =>
  timeConstant_s > 0 ? 1 - Math.exp(-1 / (rate_Hz * timeConstant_s)) : 1;

/** Which complaint would be heard of each trouble. */
const heard: Record<Planted, Stated[]> = {
  none: ["bounces-at-an-end", "lamp-in-a-corner", "wrong-in-the-middle", "dances", "slow-after-refuel"],
  "row on the full stop": ["bounces-at-an-end"],
  "row on the empty stop": ["bounces-at-an-end"],
  "quick filter": ["dances"],
  "no deadband": ["dances"],
  "two rows": ["wrong-in-the-middle"],
  "other sender": ["wrong-in-the-middle"],
  "reversed sender": ["wrong-in-the-middle"],
  "warning in corners": ["lamp-in-a-corner"],
  dropouts: ["dances", "lamp-in-a-corner", "bounces-at-an-end"],
  "slow filter": ["slow-after-refuel"],
};

/** One case of a tank: the device of `sound` with one thing spoilt, and logs of it. */
export function complaintCase(sound: Sound, kind: Planted): ComplaintCase {
  const { truth } = sound.world;
  const random = createRandom(truth.seed * 1009 + planted.indexOf(kind));
  const rate_Hz = 10;
  const { capacity_L } = truth.tank;
  const tank = createTank(truth.tank);
  const device: Device = { ...sound.device, table: sound.device.table.map((r) => ({ ...r })) };
  let { timeConstant_s, warnAt_L } = sound;
  let from = span(random, 0.35, 0.75);
  let drive: DriveTruth = { ...truth.drive };
  let sender = truth.sender;
  const rest = restReading(truth, "service");
  const readingStep = truth.circuit.unit === "V" ? 0.01 : 1;
  const quick = () => {
    timeConstant_s = to(span(random, 1, 6), 0.5);
  };
  const fullAt = () => {
    const rows = device.table;
    return rows[rows.length - 1]!.volume_L > rows[0]!.volume_L ? rows.length - 1 : 0;
  };
  if (kind === "row on the full stop") {
    device.table[fullAt()]!.reading = to(rest(capacity_L - truth.fill.start_L), readingStep);
    drive = { ...drive, burn_L_per_h: 0.04 * capacity_L };
    if (random.uniform() < 0.9) quick();
  } else if (kind === "row on the empty stop") {
    device.table[device.table.length - 1 - fullAt()]!.reading = to(rest(-truth.fill.start_L), readingStep);
    drive = { ...drive, burn_L_per_h: 0.02 * capacity_L };
    if (random.uniform() < 0.9) quick();
  } else if (kind === "quick filter") timeConstant_s = to(span(random, 0, 2), 0.5);
  else if (kind === "no deadband") {
    device.deadband_L = 0;
    timeConstant_s = to(0.6 * timeConstant_s, 0.5);
  } else if (kind === "two rows") device.table = [device.table[0]!, device.table[device.table.length - 1]!];
  else if (kind === "other sender" || kind === "reversed sender") {
    const swapped = { ...truth, sender: { ...truth.sender, empty: truth.sender.full, full: truth.sender.empty } };
    const wide = Math.abs(truth.sender.full - truth.sender.empty);
    const other = {
      ...truth,
      sender: { ...truth.sender, empty: truth.sender.empty + 0.1 * wide, full: truth.sender.full + 0.35 * wide },
    };
    const readsAt = restReading(kind === "other sender" ? other : swapped, "fill");
    device.table = device.table
      .map((r) => ({ reading: to(readsAt(r.volume_L + sound.base_L), readingStep), volume_L: r.volume_L }))
      .sort((a, b) => a.reading - b.reading)
      .filter((r, i, all) => i === 0 || r.reading > all[i - 1]!.reading);
  } else if (kind === "warning in corners") {
    sender = { ...sender, offAcross_mm: truth.tank.width_mm * span(random, 0.2, 0.35) * pick(random, [1, -1]) };
    timeConstant_s = to(span(random, 0.5, 2.5), 0.5);
    device.deadband_L = 0;
    from = span(random, 0.25, 0.45);
    drive = { ...drive, burn_L_per_h: Math.min(drive.burn_L_per_h, 0.12 * capacity_L) };
    // As near to the level as it takes for the lamp to come on a dozen times.
    const near = driveOf({ ...truth, sender }, drive, { seconds: 900, rate_Hz, from }, createRandom(truth.seed)).seen;
    const { dragged_L } = runDevice({ ...device, factor: factorOf(timeConstant_s, rate_Hz) }, near.reading);
    for (let under = 0.14; under > 0.02; under -= 0.02) {
      warnAt_L = from * capacity_L - truth.fill.start_L - sound.base_L - capacity_L * under;
      if (dragged_L.filter((v, i) => v <= warnAt_L && i > 0 && dragged_L[i - 1]! > warnAt_L).length >= 12) break;
    }
  } else if (kind === "dropouts") {
    drive = { ...drive, dropoutsPerMinute: span(random, 1, 3), forcing: 0.15 * drive.forcing, damping: 0.09 };
    sender = { ...sender, offAcross_mm: 0.2 * sender.offAcross_mm };
    timeConstant_s = to(span(random, 1, 5), 0.5);
    if (random.uniform() < 0.4) from = 0.99;
  } else if (kind === "slow filter") timeConstant_s = to(span(random, 60, 300), 1);
  const limits = kind !== "dropouts" && sound.job.device!.has!.includes("fault-limits");
  device.faultLow = limits ? (sound.faultLow ?? Number.NEGATIVE_INFINITY) : Number.NEGATIVE_INFINITY;
  device.faultHigh = limits ? (sound.faultHigh ?? Number.POSITIVE_INFINITY) : Number.POSITIVE_INFINITY;
  device.factor = factorOf(timeConstant_s, rate_Hz);
  device.features = { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null };
  const displayUnit_L = litresInUnit(sound.job.device!.displayUnit!, sound.capacity_L);
  const warnTyped = Math.max(0, to(warnAt_L / displayUnit_L, sound.job.device!.displayStep!));
  warnAt_L = warnTyped * displayUnit_L;

  const logRate_Hz = kind === "slow filter" ? 10 : pick(random, [1, 2, 5, 10, 10, 20, 50]);
  const spoilt: Truth = { ...truth, sender, drive };
  const logs: TrueDrive[] = [];
  const files: { name: string; text: string }[] = [];
  const addDrive = (options: { seconds: number; rate_Hz: number; from: number }, chance = random) => {
    const { record, logged, seen } = driveOf(spoilt, drive, options, chance);
    logs.push(seen);
    files.push({ name: `drive-${files.length + 1}.csv`, text: driveCsv(logged ?? record, truth.circuit, false) });
  };
  if (kind === "slow filter") {
    const r = refuelDrive(truth, 1);
    logs.push({
      reading: r.reading,
      added_L: r.added_L,
      across_g: r.across_g,
      unmarked: r.reading,
      refuel: { from: r.from, to: r.to },
      centred: null,
    });
    const places = truth.circuit.unit === "V" ? 4 : 1;
    const rows = Array.from(
      r.reading,
      (v, i) =>
        `${(i / rate_Hz).toFixed(2)},${v.toFixed(places)},${r.across_g[i]!.toFixed(3)},${r.speed_kmh[i]!.toFixed(1)}`,
    );
    files.push({
      name: "drive-1.csv",
      text: [`time_s,sender_${truth.circuit.unit},across_g,speed_kmh`, ...rows].join("\n"),
    });
  } else if (kind === "row on the full stop" || kind === "row on the empty stop") {
    // A driver complains of what he sees: of a few drives near that end the one with most of it.
    const full = kind === "row on the full stop";
    const stop = tank.contentsAt(full ? truth.sender.highStop : truth.sender.lowStop) / capacity_L;
    const seconds = 60 * span(random, 10, 25);
    const tried = [0.004, 0.012, 0.02, 0.03, 0.06, 1].map((room) => ({
      from: full ? Math.min(0.999, stop + room) : Math.max(0.001, stop + 0.012 - room),
      seed: random.below(2 ** 30),
    }));
    const flickersOf = (t: (typeof tried)[number]) => {
      const { seen } = driveOf(spoilt, drive, { seconds, rate_Hz: 10, from: t.from }, createRandom(t.seed));
      const shown = runDevice(device, seen.reading, seen.across_g);
      return countFlickers(shown.shown_L, full ? shown.highEnd_L : shown.lowEnd_L);
    };
    const counts = tried.map(flickersOf);
    const best = tried[counts.indexOf(Math.max(...counts))]!;
    addDrive({ seconds, rate_Hz: logRate_Hz, from: best.from }, createRandom(best.seed));
  } else {
    addDrive({ seconds: 60 * span(random, 10, 25), rate_Hz: logRate_Hz, from });
    if (random.uniform() < 0.25) addDrive({ seconds: 600, rate_Hz: logRate_Hz, from: span(random, 0.45, 0.7) });
  }
  const words = heard[kind];
  const stated = words.length > 0 && random.uniform() < 0.75 ? pick(random, words) : null;
  const withFill = kind === "two rows" ? random.uniform() < 0.85 : random.uniform() < 0.5;
  const unit = truth.circuit.unit;
  const inTable_L = litresInUnit(sound.job.device!.tableVolumeUnit!, sound.capacity_L);
  const inMillivolts = sound.job.device!.tableReadingUnit === "mV";
  const rows = device.table.map((r) => ({
    reading: to(inMillivolts ? 1000 * r.reading : r.reading, inMillivolts ? 1 : unit === "V" ? 0.001 : 0.1),
    volume: to(r.volume_L / inTable_L, 0.01),
  }));
  const has = sound.job.device!.has!;
  const all = random.uniform() < 0.3;
  const job: JobInput = {
    ...sound.job,
    complaint: stated,
    device: { ...sound.job.device, has: all ? ["median", "rate-limit", "hold-in-corner", "refuel-rule", ...has] : has },
    asFound: {
      table: random.uniform() < 0.5 ? rows : [...rows].reverse(),
      timeConstant_s,
      deadband: to(device.deadband_L / litresInUnit(sound.job.device!.deadband!.unit!, sound.capacity_L), 0.01),
      warnAt: warnTyped,
      faultLimits: pick(random, [Number.isFinite(device.faultLow) || Number.isFinite(device.faultHigh), null]),
    },
  };
  return {
    seed: truth.seed,
    planted: kind,
    stated,
    withFill,
    world: { job, fillFiles: withFill ? sound.world.fillFiles : [], driveFiles: files },
    sound,
    device,
    warnAt_L,
    drives: logs,
    logRate_Hz,
  };
}
