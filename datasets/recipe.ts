/** Recipe: what an example is made from, and the parts that the examples share. The order of the keys is that of the files. */
import type { JobInput } from "../src/pipeline/job";
import type { DriveTruth } from "./world/drive";
import type { Fault, FillTruth } from "./world/fill";
import type { CircuitTruth, DayTruth, SenderTruth } from "./world/sender";
import type { TankTruth } from "./world/tank";
import type { VolumeStyle } from "./world/write";

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

/** A pull-up of 1 % on five volts that the converter takes as its reference too: as built. */
export const pullUp = (
  nominal: number,
  { built, groundVolts }: { built: number; groundVolts: number },
): CircuitTruth => ({
  kind: "pull-up",
  supplyVolts: 5,
  pullUpOhms: built,
  pullUpNominal: nominal,
  ratiometric: true,
  groundVolts,
  adcBits: 12,
  unit: "V",
});

/** The same as the technician states it. */
export const statedPullUp = (nominal: number): JobInput["circuit"] => ({
  kind: "pull-up",
  pullUpOhms: nominal,
  pullUpLimit: 0.01,
  supplyVolts: 5,
  ratiometric: true,
  adcBits: 12,
});

type Device = NonNullable<JobInput["device"]>;

/**
 * A display that takes rows in volts and litres, shows whole usable litres and smooths by seconds, but for what is its own.
 * @param unstated what nobody says of it: the job leaves it out.
 */
export function display(
  maxTablePoints: number,
  tableOrder: "rising" | "falling",
  own: Device = {},
  unstated: readonly (keyof Device)[] = [],
): Device {
  const whole: Device = {
    maxTablePoints,
    spacing: "free",
    tableReadingUnit: "V",
    tableReadingStep: 0.01,
    tableVolumeUnit: "L",
    tableVolumeStep: 0.1,
    tableOrder,
    shows: "usable",
    displayUnit: "L",
    displayStep: 1,
    rate_Hz: 10,
    smoothing: { asks: "seconds", least: 0, most: 120, step: 0.5 },
    deadband: { unit: "L", step: 0.1, most: 5 },
    warning: { canClear: true, canDelay: true },
    has: ["fault-limits"],
    ...own,
  };
  for (const key of unstated) delete whole[key];
  return whole;
}

/** A float arm without steps; ohms empty and full, stops as shares of the height, distance off the tank's middle along and across. */
export const floatArm = (arm: {
  ohms: [number, number];
  stops: [number, number];
  pivot: number;
  arm: number;
  friction: number;
  off_mm: [number, number];
}): SenderTruth => ({
  kind: "float-arm",
  empty: arm.ohms[0],
  full: arm.ohms[1],
  lowStop: arm.stops[0],
  highStop: arm.stops[1],
  pivot: arm.pivot,
  arm: arm.arm,
  levels: 0,
  friction: arm.friction,
  offAlong_mm: arm.off_mm[0],
  offAcross_mm: arm.off_mm[1],
});

/** A wire without spikes and dropouts, a value refreshed with each row. */
export const quiet = {
  spikesPerMinute: 0,
  spike: 0,
  dropoutsPerMinute: 0,
  dropoutTo: "open",
  refresh_Hz: 0,
} as const satisfies Partial<DriveTruth>;

export const style = (unit: VolumeStyle["unit"], entered: VolumeStyle["entered"]): VolumeStyle => ({
  unit,
  entered,
  density_kg_per_L: 0.745,
  decimalComma: false,
});

/** What the club asks of every gauge, within its own tolerance. */
export const within = (tolerance_L: number): JobInput["targets"] => ({
  tolerance_L,
  coverage: 0.95,
  endFlickersPerHour: 1,
  displayReversalsPerMinute: 2,
  runDryRisk: 0.01,
});

export const driveColumns = "time in seconds, sender in volts, acceleration along and across in g, speed in km/h";

/** The sheet beside an example. @param what it is that the club has. @param files and what stands in each. */
export function about(parts: { title: string; what: string; says: string; files: Record<string, string> }): string {
  const rows = Object.entries(parts.files).map(([name, columns]) => `| ${name} | ${columns} |\n`);
  return `# ${parts.title}

**Invented.** ${parts.what} of a moor rescue club that does not exist; made by \`npm run datasets\` from a seed, with the truth beside it.

${parts.says}

| file | columns |
|---|---|
${rows.join("")}`;
}
