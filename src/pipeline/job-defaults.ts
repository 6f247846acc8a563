/** The defaults of a job: what is put in for whatever was not said, each with its reason. */
import { foundTable } from "./found-table";
import type { Job } from "./job";
import type { JobInput } from "./job-schema";

/** Over so many volts a pull-up hangs on the vehicle's own supply; regulated ones are 3.3 or 5 V. Common practice, no source. */
const vehicleSupply_V = 8;

/** @param job already held to the schema. @returns the whole job; what was put in is listed in `assumed`. */
export function withDefaults(job: JobInput): Job {
  const assumed: Job["assumed"] = [];
  /** The stated value, else the default, which is noted because results stand on it. */
  const or = <T extends number | string | boolean>(
    path: string,
    stated: T | null | undefined,
    value: T,
    why: string,
  ): T => {
    if (stated !== null && stated !== undefined) return stated;
    assumed.push({ path, value, why });
    return value;
  };
  const device = job.device ?? {};
  const readingUnit = job.readingUnit ?? null;
  const plain = "named default, no source";
  return {
    name: job.name ?? null,
    tank: {
      capacity_L: job.tank?.capacity_L ?? null,
      unusable_L: or("tank.unusable_L", job.tank?.unusable_L, 0, "not stated: every litre is taken as usable"),
      unusableLimit_L: or(
        "tank.unusableLimit_L",
        job.tank?.unusableLimit_L,
        0,
        "not stated: no uncertainty of the unusable volume is known",
      ),
      length_mm: job.tank?.length_mm ?? null,
      width_mm: job.tank?.width_mm ?? null,
      depth_mm: job.tank?.depth_mm ?? null,
    },
    sender: {
      kind: job.sender?.kind ?? "unknown",
      emptyOhms: job.sender?.emptyOhms ?? null,
      fullOhms: job.sender?.fullOhms ?? null,
      gaugeEmptyOhms: job.sender?.gaugeEmptyOhms ?? null,
      gaugeFullOhms: job.sender?.gaugeFullOhms ?? null,
    },
    circuit: {
      kind:
        job.circuit?.kind ??
        (job.circuit?.pullUpOhms ? "pull-up" : job.sender?.kind === "capacitive" ? "converter" : "none"),
      pullUpOhms: job.circuit?.pullUpOhms ?? null,
      pullUpLimit: or(
        "circuit.pullUpLimit",
        job.circuit?.pullUpLimit,
        0.01,
        "common practice, no source: a 1 % resistor",
      ),
      supplyVolts: job.circuit?.supplyVolts ?? null,
      supplyLimit:
        (job.circuit?.supplyVolts ?? 0) > vehicleSupply_V
          ? or(
              "circuit.supplyLimit",
              job.circuit?.supplyLimit,
              0.1,
              "common practice, no source: a vehicle’s own supply, between rest and charging",
            )
          : or(
              "circuit.supplyLimit",
              job.circuit?.supplyLimit,
              0.007,
              "common practice, no source: a regulated supply, from one day to another",
            ),
      ratiometric: or("circuit.ratiometric", job.circuit?.ratiometric, false, plain),
      adcBits: job.circuit?.adcBits ?? null,
      groundOffsetVolts: job.circuit?.groundOffsetVolts ?? null,
      gainLimit: job.circuit?.gainLimit ?? null,
      offsetLimitVolts: job.circuit?.offsetLimitVolts ?? null,
      leakageMicroamps: job.circuit?.leakageMicroamps ?? null,
      meterLimit: job.circuit?.meterLimit ?? null,
      meterCounts: job.circuit?.meterCounts ?? null,
      meterLeadsOhms: job.circuit?.meterLeadsOhms ?? null,
      enginePair: {
        offReading: job.circuit?.enginePair?.offReading ?? null,
        runningReading: job.circuit?.enginePair?.runningReading ?? null,
        readingLimit: job.circuit?.enginePair?.readingLimit ?? null,
        offSupplyVolts: job.circuit?.enginePair?.offSupplyVolts ?? null,
        runningSupplyVolts: job.circuit?.enginePair?.runningSupplyVolts ?? null,
      },
    },
    fill: {
      enteredAs: job.fill?.enteredAs ?? null,
      startedFrom: job.fill?.startedFrom ?? "unknown",
      startRemainder_L: job.fill?.startRemainder_L ?? null,
      deviceTimeConstant_s: job.fill?.deviceTimeConstant_s ?? null,
      wait_s: job.fill?.wait_s ?? null,
    },
    pour: {
      size_L: job.pour?.size_L ?? null,
      errorPerPour_L: job.pour?.errorPerPour_L ?? null,
      scaleErrorLimit: or("pour.scaleErrorLimit", job.pour?.scaleErrorLimit, 0.01, plain),
      density_kg_per_L: job.pour?.density_kg_per_L ?? null,
      runningTotal: job.pour?.runningTotal ?? false,
    },
    drain: {
      container: job.drain?.container ?? "same",
      errorPerDraw_L: job.drain?.errorPerDraw_L ?? null,
      scaleErrorLimit:
        job.drain?.container === "other"
          ? or("drain.scaleErrorLimit", job.drain.scaleErrorLimit, 0.01, plain)
          : (job.drain?.scaleErrorLimit ?? 0.01),
      endedAt: job.drain?.endedAt ?? "unknown",
    },
    readingUnit,
    volumeUnit: job.volumeUnit ?? null,
    device: {
      maxTablePoints: or("device.maxTablePoints", device.maxTablePoints, 12, plain),
      spacing: device.spacing ?? "free",
      tableReadingUnit: device.tableReadingUnit ?? null,
      tableReadingStep: device.tableReadingStep ?? null,
      tableVolumeUnit: or("device.tableVolumeUnit", device.tableVolumeUnit, "L", plain),
      tableVolumeStep: or("device.tableVolumeStep", device.tableVolumeStep, 0.1, plain),
      tableOrder: device.tableOrder ?? "rising",
      shows: or("device.shows", device.shows, "since-start", plain),
      displayUnit: or("device.displayUnit", device.displayUnit, "L", plain),
      displayStep: or("device.displayStep", device.displayStep, 1, plain),
      rate_Hz: or("device.rate_Hz", device.rate_Hz, 10, plain),
      smooths: or("device.smooths", device.smooths, "reading", plain),
      smoothing: {
        asks: or("device.smoothing.asks", device.smoothing?.asks, "seconds", plain),
        least: device.smoothing?.least ?? 0,
        most: device.smoothing?.most ?? 120,
        step: device.smoothing?.step ?? 0.5,
      },
      deadband: {
        unit: or("device.deadband.unit", device.deadband?.unit, "L", plain),
        step: device.deadband?.step ?? 0.1,
        most: device.deadband?.most ?? 10,
      },
      warning: { canClear: device.warning?.canClear ?? true, canDelay: device.warning?.canDelay ?? true },
      has: device.has ?? [],
    },
    asFound: {
      ...foundTable(job),
      timeConstant_s: job.asFound?.timeConstant_s ?? null,
      deadband: job.asFound?.deadband ?? null,
      warnAt: job.asFound?.warnAt ?? null,
      faultLimits: job.asFound?.faultLimits ?? null,
    },
    complaint: job.complaint ?? null,
    targets: {
      tolerance_L: job.targets?.tolerance_L ?? null,
      coverage: or(
        "targets.coverage",
        job.targets?.coverage,
        0.95,
        "the usual level of confidence (JCGM 100:2008, 6.2.2)",
      ),
      endFlickersPerHour: or("targets.endFlickersPerHour", job.targets?.endFlickersPerHour, 1, plain),
      displayReversalsPerMinute: or(
        "targets.displayReversalsPerMinute",
        job.targets?.displayReversalsPerMinute,
        2,
        plain,
      ),
      maxLag_s: job.targets?.maxLag_s ?? null,
      runDryRisk: or("targets.runDryRisk", job.targets?.runDryRisk, 0.01, plain),
      lateZeroRisk: or(
        "targets.lateZeroRisk",
        job.targets?.lateZeroRisk,
        0.35,
        "a trade: less risk hides more usable fuel at the bottom; the low-fuel warning comes long before",
      ),
    },
    consumption: {
      mean: job.consumption?.mean ?? null,
      standardUncertainty: job.consumption?.standardUncertainty ?? null,
      unit: job.consumption?.unit ?? "L/100km",
    },
    reserve: { value: job.reserve?.value ?? null, unit: job.reserve?.unit ?? reserveUnitBeside(job.consumption?.unit) },
    assumed,
  };
}

/** A reserve without a unit is a distance, in miles beside miles a gallon. */
const reserveUnitBeside = (consumption: Job["consumption"]["unit"] | null | undefined): Job["reserve"]["unit"] =>
  consumption === "mpg-us" || consumption === "mpg-imp" ? "mi" : "km";
