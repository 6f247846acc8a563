/**
 * Job: what is fitted, and how good must it be?
 *
 * Takes what the technician states (every field may be left out), returns the whole job with a named default for
 * whatever was not said. Each default is listed in `assumed`, because the results then stand on it.
 */
import { z } from "zod";
import { type Answer, type Issue, ready, stuck } from "../answer";

const number = z.number().finite().nullish();
const positive = z.number().positive().nullish();
const notNegative = z.number().nonnegative().nullish();

/** job.json, format of the published contract. Unknown keys are refused, so that a slip of the pen is not ignored. */
export const jobInputSchema = z
  .strictObject({
    name: z.string().max(200).nullish(),
    tank: z
      .strictObject({
        capacity_L: positive,
        unusable_L: notNegative,
        unusableLimit_L: notNegative,
        length_mm: positive,
        width_mm: positive,
        depth_mm: positive,
      })
      .partial(),
    sender: z
      .strictObject({
        kind: z.enum(["float-arm", "reed-ladder", "capacitive", "unknown"]).nullish(),
        emptyOhms: notNegative,
        fullOhms: notNegative,
        gaugeEmptyOhms: notNegative,
        gaugeFullOhms: notNegative,
      })
      .partial(),
    circuit: z
      .strictObject({
        kind: z.enum(["pull-up", "converter", "none"]).nullish(),
        pullUpOhms: positive,
        /** Relative, at most ±. */
        pullUpLimit: notNegative,
        supplyVolts: positive,
        ratiometric: z.boolean().nullish(),
        adcBits: z.number().int().min(4).max(32).nullish(),
        groundOffsetVolts: number,
        /** Two readings with the same fuel in the reading's unit, engine off and running, each read within ± readingLimit; the supply at both, if known. */
        enginePair: z
          .strictObject({
            offReading: notNegative,
            runningReading: notNegative,
            readingLimit: positive,
            offSupplyVolts: positive,
            runningSupplyVolts: positive,
          })
          .partial()
          .nullish(),
      })
      .partial(),
    fill: z
      .strictObject({
        enteredAs: z.enum(["added", "cumulative"]).nullish(),
        startedFrom: z.enum(["pick-up-dry", "drained", "unknown"]).nullish(),
        startRemainder_L: number,
        /** Time constant of a device that smooths the readings during the fill, and the wait before each was read. */
        deviceTimeConstant_s: notNegative,
        wait_s: notNegative,
      })
      .partial(),
    pour: z
      .strictObject({
        size_L: positive,
        errorPerPour_L: notNegative,
        /** Relative, at most ±: what the marks of the container may be wrong by. */
        scaleErrorLimit: notNegative,
        density_kg_per_L: positive,
        /** True when each reading of a running total (a meter, a scale under the can) stands by itself. */
        runningTotal: z.boolean().nullish(),
      })
      .partial(),
    readingUnit: z.enum(["V", "ohm", "count"]).nullish(),
    volumeUnit: z.enum(["L", "USgal", "impgal", "kg", "percent"]).nullish(),
    device: z
      .strictObject({
        maxTablePoints: z.number().int().min(2).max(1000).nullish(),
        spacing: z.enum(["free", "equal"]).nullish(),
        tableReadingUnit: z.enum(["V", "mV", "ohm", "count"]).nullish(),
        tableReadingStep: positive,
        tableVolumeUnit: z.enum(["L", "USgal", "impgal", "percent"]).nullish(),
        tableVolumeStep: positive,
        tableOrder: z.enum(["rising", "falling"]).nullish(),
        shows: z.enum(["usable", "since-start"]).nullish(),
        displayUnit: z.enum(["L", "percent", "USgal", "impgal"]).nullish(),
        displayStep: positive,
        rate_Hz: positive,
        smoothing: z
          .strictObject({
            asks: z.enum(["seconds", "factor", "cutoff", "samples", "none"]).nullish(),
            least: notNegative,
            most: notNegative,
            step: positive,
          })
          .partial()
          .nullish(),
        deadband: z
          .strictObject({ unit: z.enum(["L", "percent", "V"]).nullish(), step: positive, most: notNegative })
          .partial()
          .nullish(),
        warning: z
          .strictObject({ canClear: z.boolean().nullish(), canDelay: z.boolean().nullish() })
          .partial()
          .nullish(),
        has: z.array(z.enum(["median", "rate-limit", "hold-in-corner", "fault-limits", "refuel-rule"])).nullish(),
      })
      .partial(),
    asFound: z
      .strictObject({
        table: z.array(z.looseObject({})).nullish(),
        timeConstant_s: notNegative,
        deadband: notNegative,
        warnAt: notNegative,
      })
      .partial(),
    targets: z
      .strictObject({
        tolerance_L: positive,
        coverage: z.number().gt(0.5).lt(1).nullish(),
        endFlickersPerHour: positive,
        displayReversalsPerMinute: positive,
        maxLag_s: positive,
        runDryRisk: z.number().gt(0).lt(0.5).nullish(),
        lateZeroRisk: z.number().gt(0).lt(1).nullish(),
      })
      .partial(),
    consumption: z
      .strictObject({
        mean: positive,
        standardUncertainty: notNegative,
        unit: z.enum(["L/100km", "L/h", "L/lap", "mpg-us", "mpg-imp"]).nullish(),
      })
      .partial(),
    /** What the driver says is wrong, where the job is a complaint. */
    complaint: z.enum(["bounces-at-an-end", "lamp-in-a-corner", "wrong-in-the-middle"]).nullish(),
    reserve: z.strictObject({ value: notNegative, unit: z.enum(["km", "mi", "h", "lap", "L"]).nullish() }).partial(),
  })
  .partial();

export type JobInput = z.infer<typeof jobInputSchema>;

export type SenderKind = "float-arm" | "reed-ladder" | "capacitive" | "unknown";
export type ReadingUnit = "V" | "ohm" | "count";
export type Feature = "median" | "rate-limit" | "hold-in-corner" | "fault-limits" | "refuel-rule";

/** The job with every default filled in. `null` means: not known, and nothing sensible to assume. */
export interface Job {
  name: string | null;
  tank: {
    capacity_L: number | null;
    unusable_L: number;
    unusableLimit_L: number;
    length_mm: number | null;
    width_mm: number | null;
    depth_mm: number | null;
  };
  sender: {
    kind: SenderKind;
    emptyOhms: number | null;
    fullOhms: number | null;
    gaugeEmptyOhms: number | null;
    gaugeFullOhms: number | null;
  };
  circuit: {
    kind: "pull-up" | "converter" | "none";
    pullUpOhms: number | null;
    pullUpLimit: number;
    supplyVolts: number | null;
    ratiometric: boolean;
    adcBits: number | null;
    groundOffsetVolts: number | null;
    enginePair: {
      offReading: number | null;
      runningReading: number | null;
      readingLimit: number | null;
      offSupplyVolts: number | null;
      runningSupplyVolts: number | null;
    };
  };
  fill: {
    enteredAs: "added" | "cumulative" | null;
    startedFrom: "pick-up-dry" | "drained" | "unknown";
    startRemainder_L: number | null;
    deviceTimeConstant_s: number | null;
    wait_s: number | null;
  };
  pour: {
    size_L: number | null;
    /** Standard uncertainty of one pour; null until the fill run shows the pour's size (then 1 % of it). */
    errorPerPour_L: number | null;
    scaleErrorLimit: number;
    density_kg_per_L: number | null;
    runningTotal: boolean;
  };
  readingUnit: ReadingUnit | null;
  volumeUnit: "L" | "USgal" | "impgal" | "kg" | "percent" | null;
  device: {
    maxTablePoints: number;
    spacing: "free" | "equal";
    tableReadingUnit: "V" | "mV" | "ohm" | "count" | null;
    tableReadingStep: number | null;
    tableVolumeUnit: "L" | "USgal" | "impgal" | "percent";
    tableVolumeStep: number;
    tableOrder: "rising" | "falling";
    shows: "usable" | "since-start";
    displayUnit: "L" | "percent" | "USgal" | "impgal";
    displayStep: number;
    rate_Hz: number;
    smoothing: {
      asks: "seconds" | "factor" | "cutoff" | "samples" | "none";
      least: number;
      most: number;
      step: number;
    };
    deadband: { unit: "L" | "percent" | "V"; step: number; most: number };
    warning: { canClear: boolean; canDelay: boolean };
    has: Feature[];
  };
  asFound: {
    table: { reading: number; volume_L: number }[];
    timeConstant_s: number | null;
    deadband: number | null;
    warnAt: number | null;
  };
  complaint: "bounces-at-an-end" | "lamp-in-a-corner" | "wrong-in-the-middle" | null;
  targets: {
    /** Null until the capacity is known (then 2 % of it). */
    tolerance_L: number | null;
    coverage: number;
    endFlickersPerHour: number;
    displayReversalsPerMinute: number;
    maxLag_s: number | null;
    runDryRisk: number;
    /** Share of days on which the display may show 0 only after the pick-up has run dry. */
    lateZeroRisk: number;
  };
  consumption: {
    mean: number | null;
    standardUncertainty: number | null;
    unit: "L/100km" | "L/h" | "L/lap" | "mpg-us" | "mpg-imp";
  };
  reserve: { value: number | null; unit: "km" | "mi" | "h" | "lap" | "L" };
  /** Every default that a result may stand on: the path in job.json, the value put in, and why that one. */
  assumed: { path: string; value: number | string | boolean; why: string }[];
}

/**
 * Fills in the defaults and lists them.
 *
 * @param input as stored or read from job.json; every field may be absent or null.
 * @returns stuck `job/invalid` with the path of the first field that cannot be used and what it should be; cautions
 *   for statements that contradict each other.
 */
export function resolveJob(input: JobInput): Answer<Job> {
  const read = jobInputSchema.safeParse(input);
  if (!read.success) {
    const first = read.error.issues[0]!;
    const path = first.path.join(".") || "the job";
    return stuck({
      code: "job/invalid",
      says: `In the job, ${path} cannot be used: ${first.message}.`,
      remedy: "Correct that field, or leave it out: then a named default is used and said.",
      where: { column: path },
    });
  }
  const job = read.data;
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
  const resolved: Job = {
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
      ratiometric: or("circuit.ratiometric", job.circuit?.ratiometric, false, plain),
      adcBits: job.circuit?.adcBits ?? null,
      groundOffsetVolts: job.circuit?.groundOffsetVolts ?? null,
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
      table: foundTable(job.asFound?.table ?? []),
      timeConstant_s: job.asFound?.timeConstant_s ?? null,
      deadband: job.asFound?.deadband ?? null,
      warnAt: job.asFound?.warnAt ?? null,
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
    reserve: { value: job.reserve?.value ?? null, unit: job.reserve?.unit ?? "km" },
    assumed,
  };
  return ready(resolved, contradictions(resolved));
}

/** Rows of the table found in the device: `reading` in any of its unit names, `volume_L` or `volume`; others are passed over with a count. */
function foundTable(rows: Record<string, unknown>[]): Job["asFound"]["table"] {
  return rows.flatMap((row) => {
    const reading = row.reading ?? row.reading_V ?? row.reading_ohm ?? row.reading_count;
    const volume_L = row.volume_L ?? row.volume;
    return typeof reading === "number" &&
      typeof volume_L === "number" &&
      Number.isFinite(reading) &&
      Number.isFinite(volume_L)
      ? [{ reading, volume_L }]
      : [];
  });
}

function contradictions(job: Job): Issue[] {
  const found: Issue[] = [];
  const { capacity_L, unusable_L } = job.tank;
  if (capacity_L !== null && !(unusable_L < capacity_L))
    found.push({
      code: "job/unusable-over-capacity",
      says: `The unusable ${unusable_L} L are not less than the tank's ${capacity_L} L.`,
      remedy: "Correct one of the two.",
      weight: "doubtful",
    });
  const { emptyOhms, fullOhms } = job.sender;
  if (emptyOhms !== null && fullOhms !== null && emptyOhms === fullOhms)
    found.push({
      code: "job/sender-without-travel",
      says: `The sender is stated with ${emptyOhms} Ω at both ends, so it could show nothing.`,
      remedy: "Measure it at both ends of its travel.",
      weight: "doubtful",
    });
  return found;
}

/**
 * What lies between "added since the start" and "usable": usable = added − offset.
 * Unusable volume less what was already in the tank at step 0 (a dry pick-up means: just the unusable volume).
 */
export function unusableOffset_L(job: Pick<Job, "tank" | "fill">): {
  offset_L: number;
  standard_L: number;
  why: string;
} {
  const limit = job.tank.unusableLimit_L / Math.sqrt(3);
  if (job.fill.startRemainder_L !== null)
    return {
      offset_L: job.tank.unusable_L - job.fill.startRemainder_L,
      standard_L: limit,
      why: "unusable volume less the stated start remainder",
    };
  if (job.fill.startedFrom === "pick-up-dry")
    return {
      offset_L: 0,
      standard_L: 0,
      why: "the run started when the pick-up had run dry, so every litre added is usable",
    };
  return {
    offset_L: job.tank.unusable_L,
    standard_L: limit,
    why:
      job.fill.startedFrom === "drained"
        ? "the run started from a drained tank, so the unusable volume was poured too"
        : "the start is not stated: taken as a drained tank",
  };
}
