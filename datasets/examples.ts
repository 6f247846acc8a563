/** The example jobs: an invented moor rescue club with a buggy, a hauler and a skiff. Nothing here exists. */
import { createRandom } from "../src/math/random";
import type { JobInput } from "../src/pipeline/job";
import { LITRES_PER_USGAL } from "../src/units";
import { complaintRecipes } from "./complaints";
import { type DriveTruth, simulateDrive } from "./world/drive";
import { type Fault, type FillTruth, pourFill, recordFill } from "./world/fill";
import { type CircuitTruth, type DayTruth, readingAt, type SenderTruth } from "./world/sender";
import { createTank, type TankTruth } from "./world/tank";
import { driveCsv, fillCsv, traceCsv, type VolumeStyle } from "./world/write";

export interface Recipe {
  name: string;
  seed: number;
  about: string;
  tank: TankTruth;
  sender: SenderTruth;
  circuit: CircuitTruth;
  serviceDay: DayTruth;
  fill: Omit<FillTruth, "faults">;
  faults: { kind: Fault["kind"] | "doubled-pour"; step: number; share: number }[];
  drive: DriveTruth;
  log: { minutes: number; rate_Hz: number; from_L: number };
  style: VolumeStyle;
  trueUnusable_L: number;
  /** A complaint that came with a drive log alone: no fill run is written. */
  withoutFill?: boolean;
  job: JobInput;
}

export const fillDay: DayTruth = { contactOhms: 0, supplyFactor: 1, groundVolts: 0, height: 0, hang: 1 };

const recipes: Recipe[] = [
  {
    name: "moor-runner",
    seed: 4101,
    about: `# Moor Runner

**Invented.** The buggy of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

A saddle tank of about 64 litres sits over a propeller shaft: two narrow legs below, one wide room above. A float arm
reads it; its resistance falls as the tank fills, and a pull-up makes volts of it. Sixteen pours of 3.8 L were
recorded at 5 Hz, the running total of the sheet beside each row. The drive log starts with a fifth of the tank and
ends near empty, so that it shows how the needle dances when it matters.

Question: what goes into the display, when does the light come on, and how wrong is "range left" then?

| file | columns |
|---|---|
| fill.csv | time in seconds, sender in volts, poured so far in litres |
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states, the settings found in the display among it |
| truth.json | what is really so |
`,
    tank: { shape: "saddle", capacity_L: 64.3, length_mm: 620, width_mm: 460, depth_mm: 310, a: 0.42, b: 0.55 },
    sender: {
      kind: "float-arm",
      empty: 180,
      full: 10,
      lowStop: 0.035,
      highStop: 0.955,
      pivot: 0.52,
      arm: 0.56,
      levels: 0,
      friction: 0.003,
      offAlong_mm: 75,
      offAcross_mm: -48,
    },
    circuit: {
      kind: "pull-up",
      supplyVolts: 5,
      pullUpOhms: 151.1,
      pullUpNominal: 150,
      ratiometric: true,
      groundVolts: 0.004,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0.3, supplyFactor: 1.001, groundVolts: 0.001, height: 0.001, hang: -0.5 },
    fill: {
      start_L: 1.28,
      pour_L: 3.8,
      pours: 16,
      scaleError: 0.0034,
      scaleErrorLimit: 0.005,
      errorPerPour_L: 0.03,
      readingError: 0.003,
      readingStep: 0.001,
      recorded: true,
    },
    faults: [],
    drive: {
      style: "road",
      damping: 0.035,
      forcing: 0.8,
      floor: 0.004,
      spikesPerMinute: 0.5,
      spike: 0.7,
      dropoutsPerMinute: 0.1,
      dropoutTo: "open",
      refresh_Hz: 0,
      burn_L_per_h: 24,
      turning: 1,
      lap_s: 80,
    },
    log: { minutes: 24, rate_Hz: 20, from_L: 14 },
    style: { unit: "L", entered: "cumulative", density_kg_per_L: 0.745, decimalComma: false },
    trueUnusable_L: 1.28,
    job: {
      name: "Moor Runner (invented)",
      tank: { capacity_L: 64, unusable_L: 1.2, unusableLimit_L: 0.4, length_mm: 620, width_mm: 460, depth_mm: 310 },
      sender: { kind: "float-arm", emptyOhms: 180, fullOhms: 10 },
      circuit: { kind: "pull-up", pullUpOhms: 150, pullUpLimit: 0.01, supplyVolts: 5, ratiometric: true, adcBits: 12 },
      fill: { enteredAs: "cumulative", startedFrom: "pick-up-dry" },
      pour: { size_L: 3.8, errorPerPour_L: 0.03, scaleErrorLimit: 0.005 },
      readingUnit: "V",
      volumeUnit: "L",
      device: {
        maxTablePoints: 12,
        spacing: "free",
        tableReadingUnit: "V",
        tableReadingStep: 0.01,
        tableVolumeUnit: "L",
        tableVolumeStep: 0.1,
        tableOrder: "falling",
        shows: "usable",
        displayUnit: "L",
        displayStep: 1,
        rate_Hz: 10,
        smoothing: { asks: "seconds", least: 0, most: 120, step: 0.5 },
        deadband: { unit: "L", step: 0.1, most: 5 },
        warning: { canClear: true, canDelay: true },
        has: ["fault-limits"],
      },
      asFound: {
        table: [
          { reading_V: 0.31, volume_L: 61 },
          { reading_V: 2.72, volume_L: 0 },
        ],
        timeConstant_s: 1,
        deadband: 0,
        warnAt: 8,
      },
      targets: {
        tolerance_L: 1.6,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 21, standardUncertainty: 2, unit: "L/100km" },
      reserve: { value: 15, unit: "km" },
    },
  },
  {
    name: "peat-hauler",
    seed: 4202,
    about: `# Peat Hauler

**Invented.** The tracked hauler of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

A tank of about 38 US gallons with a stepped floor; a ladder of reed contacts whose resistance rises with the level in
19 steps. Eighteen pours of two US gallons, typed with one reading each. The drive is over rough ground at half tank.

Question: how exact can a sender be that knows only 19 levels, and which settings hold the display still?

| file | columns |
|---|---|
| fill.csv | added with each pour in US gallons, sender in volts |
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states |
| truth.json | what is really so |
`,
    tank: { shape: "stepped", capacity_L: 144.5, length_mm: 820, width_mm: 560, depth_mm: 400, a: 0.52, b: 0.34 },
    sender: {
      kind: "reed-ladder",
      empty: 33,
      full: 240,
      lowStop: 0.03,
      highStop: 0.96,
      pivot: 0.5,
      arm: 0.6,
      levels: 19,
      friction: 0.004,
      offAlong_mm: -60,
      offAcross_mm: 40,
    },
    circuit: {
      kind: "pull-up",
      supplyVolts: 5,
      pullUpOhms: 238.9,
      pullUpNominal: 240,
      ratiometric: true,
      groundVolts: -0.002,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0.4, supplyFactor: 1, groundVolts: 0.001, height: -0.001, hang: -0.6 },
    fill: {
      start_L: 2.9,
      pour_L: 2 * LITRES_PER_USGAL,
      pours: 18,
      scaleError: -0.0041,
      scaleErrorLimit: 0.01,
      errorPerPour_L: 0.06,
      readingError: 0.003,
      readingStep: 0.01,
      recorded: false,
    },
    faults: [],
    drive: {
      style: "rough",
      damping: 0.05,
      forcing: 0.7,
      floor: 0.004,
      spikesPerMinute: 0.3,
      spike: 0.6,
      dropoutsPerMinute: 0,
      dropoutTo: "open",
      refresh_Hz: 0,
      burn_L_per_h: 31,
      turning: 1,
      lap_s: 80,
    },
    log: { minutes: 30, rate_Hz: 10, from_L: 78 },
    style: { unit: "USgal", entered: "added", density_kg_per_L: 0.745, decimalComma: false },
    trueUnusable_L: 3.1,
    job: {
      name: "Peat Hauler (invented)",
      tank: { capacity_L: 144, unusable_L: 3, unusableLimit_L: 0.8, length_mm: 820, width_mm: 560, depth_mm: 400 },
      sender: { kind: "reed-ladder", emptyOhms: 33, fullOhms: 240 },
      circuit: { kind: "pull-up", pullUpOhms: 240, pullUpLimit: 0.01, supplyVolts: 5, ratiometric: true, adcBits: 12 },
      fill: { enteredAs: "added", startedFrom: "drained" },
      pour: { size_L: 7.571, errorPerPour_L: 0.06, scaleErrorLimit: 0.01 },
      readingUnit: "V",
      volumeUnit: "USgal",
      device: {
        maxTablePoints: 16,
        spacing: "free",
        tableReadingUnit: "V",
        tableReadingStep: 0.01,
        tableVolumeUnit: "USgal",
        tableVolumeStep: 0.1,
        tableOrder: "rising",
        shows: "usable",
        displayUnit: "USgal",
        displayStep: 0.5,
        rate_Hz: 10,
        smoothing: { asks: "factor", least: 0.0002, most: 1, step: 0.0001 },
        deadband: { unit: "percent", step: 0.5, most: 10 },
        warning: { canClear: true, canDelay: true },
        has: ["fault-limits"],
      },
      targets: {
        tolerance_L: 6,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 6.5, standardUncertainty: 0.7, unit: "mpg-us" },
      reserve: { value: 10, unit: "mi" },
    },
  },
  {
    name: "fen-skiff",
    seed: 4303,
    about: `# Fen Skiff

**Invented.** The skiff of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

A keel tank of about 48 litres, narrow at the bottom, read by a capacitive tube with its own converter. Fifteen pours
of three litres were written down, with semicolons and decimal commas. One pour never made it onto the sheet, and one
reading was typed with a wrong digit.

Question: which lines of the sheet do not belong, and what do they change?

| file | columns |
|---|---|
| fill.csv | running total in litres, sender in volts |
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states |
| truth.json | what is really so, the two faults among it |
`,
    tank: { shape: "keel", capacity_L: 48.4, length_mm: 640, width_mm: 360, depth_mm: 330, a: 0.2, b: 0.5 },
    sender: {
      kind: "capacitive",
      empty: 0.5,
      full: 4.5,
      lowStop: 0.03,
      highStop: 0.97,
      pivot: 0.5,
      arm: 0.6,
      levels: 0,
      friction: 0.001,
      offAlong_mm: 70,
      offAcross_mm: 20,
    },
    circuit: {
      kind: "converter",
      supplyVolts: 5,
      pullUpOhms: 0,
      pullUpNominal: 0,
      ratiometric: false,
      groundVolts: 0.003,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0, supplyFactor: 0.999, groundVolts: -0.002, height: 0.001, hang: -0.4 },
    fill: {
      start_L: 0.1,
      pour_L: 3,
      pours: 14,
      scaleError: -0.0062,
      scaleErrorLimit: 0.01,
      errorPerPour_L: 0.03,
      readingError: 0.005,
      readingStep: 0.01,
      recorded: false,
    },
    faults: [
      { kind: "missed-pour", step: 6, share: 0 },
      { kind: "wrong-reading", step: 10, share: 0.4 },
    ],
    drive: {
      style: "rough",
      damping: 0.06,
      forcing: 0.9,
      floor: 0.005,
      spikesPerMinute: 0.2,
      spike: 0.8,
      dropoutsPerMinute: 0.1,
      dropoutTo: "short",
      refresh_Hz: 5,
      burn_L_per_h: 12,
      turning: 1,
      lap_s: 80,
    },
    log: { minutes: 30, rate_Hz: 10, from_L: 33 },
    style: { unit: "L", entered: "cumulative", density_kg_per_L: 0.745, decimalComma: true },
    trueUnusable_L: 0.9,
    job: {
      name: "Fen Skiff (invented)",
      tank: { capacity_L: 48, unusable_L: 1, unusableLimit_L: 0.3, length_mm: 640, width_mm: 360, depth_mm: 330 },
      sender: { kind: "capacitive" },
      circuit: { kind: "converter", supplyVolts: 5, ratiometric: false, adcBits: 12 },
      fill: { enteredAs: "cumulative", startedFrom: "drained" },
      pour: { size_L: 3, errorPerPour_L: 0.03, scaleErrorLimit: 0.01 },
      readingUnit: "V",
      volumeUnit: "L",
      device: {
        maxTablePoints: 10,
        spacing: "free",
        tableReadingUnit: "V",
        tableReadingStep: 0.01,
        tableVolumeUnit: "L",
        tableVolumeStep: 0.1,
        tableOrder: "rising",
        shows: "since-start",
        displayUnit: "percent",
        displayStep: 1,
        rate_Hz: 10,
        smoothing: { asks: "cutoff", least: 0.001, most: 5, step: 0.0001 },
        deadband: { unit: "percent", step: 0.1, most: 10 },
        warning: { canClear: false, canDelay: true },
        has: ["fault-limits"],
      },
      targets: {
        tolerance_L: 1.5,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 11, standardUncertainty: 1.4, unit: "L/h" },
      reserve: { value: 0.5, unit: "h" },
    },
  },
];

const all = [...recipes, ...complaintRecipes];

export const exampleNames = all.map((r) => r.name);

/** What an example is made from. @throws if there is no example of that name. */
export function recipeOf(name: string): Recipe {
  const recipe = all.find((r) => r.name === name);
  if (!recipe) throw new Error(`recipeOf: there is no example "${name}"`);
  return recipe;
}

/** All files of one example, as they stand in its folder. The same recipe always gives the same bytes. */
export function makeExample(name: string): { name: string; text: string }[] {
  const recipe = recipeOf(name);
  const { sender, circuit, style, log } = recipe;
  const random = createRandom(recipe.seed);
  const tank = createTank(recipe.tank);
  const fill: FillTruth = { ...recipe.fill, faults: [] };
  const record = pourFill(tank, sender, circuit, fillDay, fill, recipe.faults, random);
  const trace = fill.recorded
    ? recordFill(tank, sender, circuit, fillDay, fill, record, 5, recipe.drive.floor, random)
    : null;
  const drive = simulateDrive(
    tank,
    sender,
    circuit,
    recipe.serviceDay,
    recipe.drive,
    { seconds: log.minutes * 60, rate_Hz: log.rate_Hz, from_L: log.from_L, least_L: 0 },
    random,
  );
  const short = (x: number) => Number(x.toPrecision(8));
  const top_L = tank.capacity_L - fill.start_L;
  const curve = Array.from({ length: 61 }, (_, i) => {
    const added_L = (i / 60) * top_L;
    const height = tank.heightAt(added_L + fill.start_L);
    return {
      added_L: short(added_L),
      fillDayReading: short(readingAt(sender, circuit, { ...fillDay, hang: 0.7 }, height)),
      serviceDayReading: short(readingAt(sender, circuit, recipe.serviceDay, height)),
    };
  });
  const fillTruth = {
    pour: {
      marked_L: fill.pour_L,
      scaleError: fill.scaleError,
      errorPerPour_L: fill.errorPerPour_L,
      readingError_V: fill.readingError,
    },
    faults: record.faults.map((f) => ({
      ...f,
      amount_L: short(f.amount_L),
      inStandardErrors: short(f.inStandardErrors),
    })),
    steps: record.steps.map((s, step) => ({
      step,
      volume_L: short(s.trueVolume_L),
      reading: short(s.trueReading),
    })),
  };
  const truth = {
    invented: true,
    seed: recipe.seed,
    volumes: "litres added since the start of the fill run, unless the name says contents",
    tank: recipe.tank,
    sender,
    circuit,
    fillDay,
    serviceDay: recipe.serviceDay,
    startContents_L: fill.start_L,
    unusableContents_L: recipe.trueUnusable_L,
    ...(recipe.withoutFill ? {} : fillTruth),
    curve,
    drive: {
      ...recipe.drive,
      fromContents_L: log.from_L,
      toContents_L: short(drive.contents_L[drive.contents_L.length - 1]!),
      spikes: drive.mark.filter((m) => m === 1).length,
      dropoutSamples: drive.mark.filter((m) => m === 2).length,
    },
  };
  return [
    { name: "about.md", text: alignTables(recipe.about) },
    ...(recipe.withoutFill
      ? []
      : [
          {
            name: "fill.csv",
            text: trace ? traceCsv(trace, circuit, style) : fillCsv(record, circuit, style, fill.readingStep),
          },
        ]),
    { name: "drive.csv", text: driveCsv(drive, circuit, style.decimalComma) },
    { name: "job.json", text: `${JSON.stringify(recipe.job, null, 2)}\n` },
    { name: "truth.json", text: `${JSON.stringify(truth, null, 1)}\n` },
  ];
}

/** Pads the cells of a table so that its columns stand under each other, as the project's formatter wants them. */
function alignTables(text: string): string {
  const lines = text.split("\n");
  const cells = lines.map((line) => (line.startsWith("|") ? line.slice(1, -1).split("|") : null));
  const widths: number[] = [];
  for (const row of cells)
    row?.forEach((cell, c) => {
      widths[c] = Math.max(widths[c] ?? 3, cell.trim().length);
    });
  return lines
    .map((line, i) => {
      const row = cells[i];
      if (!row) return line;
      const padded = row.map((cell, c) =>
        /^-+$/.test(cell) ? "-".repeat(widths[c]!) : cell.trim().padEnd(widths[c]!),
      );
      return `| ${padded.join(" | ")} |`;
    })
    .join("\n");
}
