/** Three complaints of the same invented club, one each: the display bounces at an end, the lamp comes on in corners, the middle is wrong. */
import type { Recipe } from "./examples";

export const complaintRecipes: Recipe[] = [
  {
    name: "reed-punt",
    seed: 4407,
    withoutFill: true,
    about: `# Reed Punt

**Invented.** A display that bounces at its full end: the punt of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

**Complaint: with a full tank the display bounces between 100 % and a little less.** The table in the display was typed in from
the two stops of the sender and four points between; it ends on the very reading of the full stop. The log was taken with
a brim-full tank. There is no fill run.

Question: why does it bounce, and what would hold it?

| file | columns |
|---|---|
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states, with table, smoothing and warning as found |
| truth.json | what is really so |
`,
    tank: { shape: "cylinder", capacity_L: 41.2, length_mm: 560, width_mm: 380, depth_mm: 240, a: 0.5, b: 0.5 },
    sender: {
      kind: "float-arm",
      empty: 240,
      full: 33,
      lowStop: 0.04,
      highStop: 0.9,
      pivot: 0.5,
      arm: 0.58,
      levels: 0,
      friction: 0.002,
      offAlong_mm: 30,
      offAcross_mm: 15,
    },
    circuit: {
      kind: "pull-up",
      supplyVolts: 5,
      pullUpOhms: 240,
      pullUpNominal: 240,
      ratiometric: true,
      groundVolts: 0.002,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0.2, supplyFactor: 1, groundVolts: 0, height: 0, hang: -0.5 },
    fill: {
      start_L: 0.4,
      pour_L: 4,
      pours: 10,
      scaleError: 0,
      scaleErrorLimit: 0.01,
      errorPerPour_L: 0.04,
      readingError: 0.002,
      readingStep: 0.01,
      recorded: false,
    },
    faults: [],
    drive: {
      style: "rough",
      damping: 0.06,
      forcing: 0.3,
      floor: 0.03,
      spikesPerMinute: 0,
      spike: 0,
      dropoutsPerMinute: 0,
      dropoutTo: "open",
      refresh_Hz: 0,
      burn_L_per_h: 4,
      turning: 1,
      lap_s: 80,
    },
    log: { minutes: 25, rate_Hz: 5, from_L: 41 },
    style: { unit: "L", entered: "added", density_kg_per_L: 0.745, decimalComma: false },
    trueUnusable_L: 0.8,
    job: {
      name: "Reed Punt (invented)",
      complaint: "bounces-at-an-end",
      tank: { capacity_L: 41, unusable_L: 0.8, unusableLimit_L: 0.3 },
      sender: { kind: "float-arm", emptyOhms: 240, fullOhms: 33 },
      circuit: { kind: "pull-up", pullUpOhms: 240, pullUpLimit: 0.01, supplyVolts: 5, ratiometric: true, adcBits: 12 },
      readingUnit: "V",
      volumeUnit: "L",
      device: {
        maxTablePoints: 8,
        tableReadingUnit: "V",
        tableReadingStep: 0.01,
        tableVolumeUnit: "L",
        tableVolumeStep: 0.5,
        shows: "since-start",
        displayUnit: "percent",
        displayStep: 1,
        rate_Hz: 5,
        smoothing: { asks: "seconds", least: 0, most: 60, step: 0.5 },
        deadband: { unit: "L", step: 0.1, most: 5 },
      },
      asFound: {
        table: [
          { reading_V: 0.61, volume_L: 41 },
          { reading_V: 1.09, volume_L: 34 },
          { reading_V: 1.59, volume_L: 24.5 },
          { reading_V: 1.94, volume_L: 14.5 },
          { reading_V: 2.28, volume_L: 5 },
          { reading_V: 2.5, volume_L: 0 },
        ],
        timeConstant_s: 1,
        deadband: 0,
        warnAt: 15,
      },
      targets: {
        tolerance_L: 1.5,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 4, standardUncertainty: 0.8, unit: "L/h" },
      reserve: { value: 1, unit: "h" },
    },
  },
  {
    name: "heath-dasher",
    seed: 4519,
    withoutFill: true,
    about: `# Heath Dasher

**Invented.** A lamp that comes on in corners: the race buggy of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

**Complaint: the lamp comes on in corners, with a third of the tank left.** The sender stands well off the middle of the tank,
and the display smooths over half a second. The log is of laps on a short course, with accelerations. There is no fill run.

Question: is there too little fuel, or does it only run to the other side?

| file | columns |
|---|---|
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states, with table, smoothing and warning as found |
| truth.json | what is really so |
`,
    tank: { shape: "wedge", capacity_L: 70.5, length_mm: 640, width_mm: 520, depth_mm: 300, a: 0.8, b: 0.9 },
    sender: {
      kind: "float-arm",
      empty: 10,
      full: 180,
      lowStop: 0.03,
      highStop: 0.96,
      pivot: 0.5,
      arm: 0.58,
      levels: 0,
      friction: 0.002,
      offAlong_mm: 10,
      offAcross_mm: -110,
    },
    circuit: {
      kind: "pull-up",
      supplyVolts: 5,
      pullUpOhms: 150,
      pullUpNominal: 150,
      ratiometric: true,
      groundVolts: 0.002,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0.2, supplyFactor: 1, groundVolts: 0, height: 0, hang: -0.5 },
    fill: {
      start_L: 0.6,
      pour_L: 5,
      pours: 13,
      scaleError: 0,
      scaleErrorLimit: 0.01,
      errorPerPour_L: 0.05,
      readingError: 0.002,
      readingStep: 0.01,
      recorded: false,
    },
    faults: [],
    drive: {
      style: "circuit",
      damping: 0.08,
      forcing: 0.4,
      floor: 0.004,
      spikesPerMinute: 0,
      spike: 0,
      dropoutsPerMinute: 0,
      dropoutTo: "open",
      refresh_Hz: 0,
      burn_L_per_h: 24,
      turning: 1,
      lap_s: 75,
    },
    log: { minutes: 15, rate_Hz: 10, from_L: 26 },
    style: { unit: "L", entered: "added", density_kg_per_L: 0.745, decimalComma: false },
    trueUnusable_L: 1.5,
    job: {
      name: "Heath Dasher (invented)",
      complaint: "lamp-in-a-corner",
      tank: { capacity_L: 70, unusable_L: 1.5, unusableLimit_L: 0.5, length_mm: 640, width_mm: 520, depth_mm: 300 },
      sender: { kind: "float-arm", emptyOhms: 10, fullOhms: 180 },
      circuit: { kind: "pull-up", pullUpOhms: 150, pullUpLimit: 0.01, supplyVolts: 5, ratiometric: true, adcBits: 12 },
      readingUnit: "V",
      volumeUnit: "L",
      device: {
        maxTablePoints: 8,
        tableReadingUnit: "V",
        tableReadingStep: 0.01,
        tableVolumeUnit: "L",
        tableVolumeStep: 0.5,
        shows: "since-start",
        displayUnit: "L",
        displayStep: 1,
        rate_Hz: 10,
        smoothing: { asks: "seconds", least: 0, most: 120, step: 0.5 },
        deadband: { unit: "L", step: 0.1, most: 5 },
        warning: { canClear: true, canDelay: true },
      },
      asFound: {
        table: [
          { reading_V: 0.31, volume_L: 0 },
          { reading_V: 0.89, volume_L: 8.5 },
          { reading_V: 1.36, volume_L: 17 },
          { reading_V: 1.68, volume_L: 26 },
          { reading_V: 2.14, volume_L: 43 },
          { reading_V: 2.73, volume_L: 70 },
        ],
        timeConstant_s: 0.5,
        deadband: 0,
        warnAt: 10,
      },
      targets: {
        tolerance_L: 2.5,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 24, standardUncertainty: 3, unit: "L/h" },
      reserve: { value: 10, unit: "km" },
    },
  },
  {
    name: "fell-carrier",
    seed: 4621,
    about: `# Fell Carrier

**Invented.** A display that is wrong in the middle: the carrier of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

**Complaint: right when full and when empty, wrong in the middle.** The display found knows two rows, empty and full. A
wedge of a tank is read by a float arm whose pull-up bends the volts. Fourteen pours of 4 L were written down.

Question: how wrong is the middle, and what makes it so?

| file | columns |
|---|---|
| fill.csv | litres of each pour, sender in volts |
| drive.csv | time in seconds, sender in volts, acceleration along and across in g, speed in km/h |
| job.json | what the technician states, with table, smoothing and warning as found |
| truth.json | what is really so |
`,
    tank: { shape: "wedge", capacity_L: 57.4, length_mm: 600, width_mm: 400, depth_mm: 290, a: 0.45, b: 0.85 },
    sender: {
      kind: "float-arm",
      empty: 10,
      full: 180,
      lowStop: 0.02,
      highStop: 0.985,
      pivot: 0.5,
      arm: 0.6,
      levels: 0,
      friction: 0.002,
      offAlong_mm: 40,
      offAcross_mm: 20,
    },
    circuit: {
      kind: "pull-up",
      supplyVolts: 5,
      pullUpOhms: 100.4,
      pullUpNominal: 100,
      ratiometric: true,
      groundVolts: 0.003,
      adcBits: 12,
      unit: "V",
    },
    serviceDay: { contactOhms: 0.2, supplyFactor: 1, groundVolts: 0.001, height: 0.001, hang: -0.5 },
    fill: {
      start_L: 0.9,
      pour_L: 4,
      pours: 14,
      scaleError: 0.002,
      scaleErrorLimit: 0.005,
      errorPerPour_L: 0.04,
      readingError: 0.003,
      readingStep: 0.01,
      recorded: false,
    },
    faults: [],
    drive: {
      style: "road",
      damping: 0.05,
      forcing: 0.6,
      floor: 0.004,
      spikesPerMinute: 0.2,
      spike: 0.6,
      dropoutsPerMinute: 0,
      dropoutTo: "open",
      refresh_Hz: 0,
      burn_L_per_h: 18,
      turning: 1,
      lap_s: 80,
    },
    log: { minutes: 20, rate_Hz: 10, from_L: 30 },
    style: { unit: "L", entered: "added", density_kg_per_L: 0.745, decimalComma: false },
    trueUnusable_L: 0.9,
    job: {
      name: "Fell Carrier (invented)",
      complaint: "wrong-in-the-middle",
      tank: { capacity_L: 57, unusable_L: 0.9, unusableLimit_L: 0.3, length_mm: 600, width_mm: 400, depth_mm: 290 },
      sender: { kind: "float-arm", emptyOhms: 10, fullOhms: 180 },
      circuit: { kind: "pull-up", pullUpOhms: 100, pullUpLimit: 0.01, supplyVolts: 5, ratiometric: true, adcBits: 12 },
      fill: { enteredAs: "added", startedFrom: "pick-up-dry" },
      pour: { size_L: 4, errorPerPour_L: 0.04, scaleErrorLimit: 0.005 },
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
          { reading_V: 0.46, volume_L: 0 },
          { reading_V: 3.21, volume_L: 56 },
        ],
        timeConstant_s: 4,
        deadband: 0.5,
        warnAt: 8,
      },
      targets: {
        tolerance_L: 1.5,
        coverage: 0.95,
        endFlickersPerHour: 1,
        displayReversalsPerMinute: 2,
        runDryRisk: 0.01,
      },
      consumption: { mean: 14, standardUncertainty: 1.5, unit: "L/100km" },
      reserve: { value: 30, unit: "km" },
    },
  },
];
