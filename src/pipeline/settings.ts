/** Settings: the very numbers to type, in the device's own units, range and step. What the card shows and the trial replays. */
import { type Answer, ready } from "../answer";
import { decimalsOfStep } from "../format";
import { litresPer } from "../units";
import type { Circuit } from "./circuit";
import type { Features } from "./device-features";
import type { Display } from "./display";
import type { Ends } from "./ends";
import { type Job, unusableOffset_L } from "./job";
import type { LowFuel } from "./low-fuel";
import { readingScale } from "./reading-scale";
import type { Table } from "./table";
import { litresNotStated } from "./table-unit";

/** One number to type. `digits` is the text to type; `path` is where it stands in the published analysis. */
export interface SettingLine {
  group: "table" | "smoothing" | "deadband" | "features" | "ends" | "fault-limits" | "warning";
  label: string;
  digits: string;
  unit: string;
  path: string;
}

export interface Settings {
  table: { reading: number; volume: number; readingUnit: string; volumeUnit: string }[];
  smoothing: { asks: string; value: number | null; unit: string } | null;
  deadband: { value: number; unit: string; kind: "play" | "jump" } | null;
  /** What else the device has and is set to; null: not set. */
  features: Features | null;
  /** In the display's unit and base, rounded up to its step: the light comes on early rather than late. */
  warning: { at: number; clear: number | null; delay_s: number | null; unit: string } | null;
  faultLimits: { low: number; high: number; unit: string } | null;
  /** Readings of the table's outer rows: below and above them the device holds what they say. */
  ends: { empty: number; full: number; unit: string };
  lines: SettingLine[];
}

/**
 * Writes down what is typed. Rounding happens here and nowhere after: every promise is scored with these values.
 * @returns never stuck once there is a table; smoothing, deadband, warning and fault limits are null while their stage waits.
 */
export function writeSettings(
  table: Table,
  ends: Ends,
  display: Display | null,
  circuit: Circuit | null,
  lowFuel: LowFuel | null,
  job: Job,
): Answer<Settings> {
  const { device } = job;
  const lines: SettingLine[] = [];
  const rows = table.rows.map((row, i) => {
    lines.push({
      group: "table",
      label: `Row ${i + 1}, reading`,
      digits: row.typedReading,
      unit: table.readingUnit,
      path: `settings.table.${i}.reading`,
    });
    lines.push({
      group: "table",
      label: `Row ${i + 1}, volume`,
      digits: row.typedVolume,
      unit: unitName(table.volumeUnit),
      path: `settings.table.${i}.volume`,
    });
    return {
      reading: Number(row.typedReading),
      volume: Number(row.typedVolume),
      readingUnit: table.readingUnit,
      volumeUnit: table.volumeUnit,
    };
  });
  const line = (
    group: SettingLine["group"],
    label: string,
    value: number,
    step: number,
    unit: string,
    path: string,
  ): number => {
    // On the device's lattice, and never "-0".
    const digits = ((Math.round(value / step) || 0) * step).toFixed(decimalsOfStep(step));
    lines.push({ group, label, digits, unit, path });
    return Number(digits);
  };
  let smoothing: Settings["smoothing"] = null;
  let deadband: Settings["deadband"] = null;
  if (display) {
    const { asked } = display;
    const units = { seconds: "s", factor: "", cutoff: "Hz", samples: "samples", none: "" } as const;
    smoothing =
      asked.smoothingUnit === "none"
        ? { asks: "none", value: null, unit: "" }
        : {
            asks: asked.smoothingUnit,
            value: line(
              "smoothing",
              smoothingLabel[asked.smoothingUnit],
              asked.smoothing,
              device.smoothing.step,
              units[asked.smoothingUnit],
              "settings.smoothing.value",
            ),
            unit: units[asked.smoothingUnit],
          };
    const unit = asked.deadbandUnit === "percent" ? "%" : asked.deadbandUnit;
    deadband = {
      value: line(
        "deadband",
        "Deadband, each way",
        asked.deadband,
        device.deadband.step,
        unit,
        "settings.deadband.value",
      ),
      unit,
      kind: display.deadbandKind,
    };
  }
  const features = display ? featureLines(display.features, line) : null;
  const cautions = litresNotStated("settings", job);
  let faultLimits: Settings["faultLimits"] = null;
  if (circuit && (circuit.faultLow !== null || circuit.faultHigh !== null) && device.has.includes("fault-limits")) {
    // The limits are typed where the table is: in its unit and step.
    const scale = readingScale(table.curveUnit, table.readingUnit, job);
    // Where a short or an open wire reads like an end there is no limit: then the rail is typed, and nothing lies beyond it.
    const typed = scale
      ? [
          circuit.faultLow === null ? 0 : scale.to(circuit.faultLow),
          circuit.faultHigh === null
            ? scale.to(topOf(job, table.curveUnit) ?? Number.NaN)
            : scale.to(circuit.faultHigh),
        ]
      : [];
    const step = device.tableReadingStep ?? (table.readingUnit === "V" ? 0.01 : 1);
    const unit = table.readingUnit;
    if (typed.length === 2 && typed.every(Number.isFinite) && typed[0]! >= 0 && typed[0]! < typed[1]!)
      faultLimits = {
        low: line("fault-limits", "Fault below", typed[0]!, step, unit, "settings.faultLimits.low"),
        high: line("fault-limits", "Fault above", typed[1]!, step, unit, "settings.faultLimits.high"),
        unit,
      };
    else
      cautions.push({
        code: "settings/fault-limits",
        says: `The fault limits lie outside what can be said in ${unit}, so none are given.`,
        remedy: "State supply and pull-up in the job, or leave the device’s own limits.",
        weight: "note",
      });
  }
  let warning: Settings["warning"] = null;
  if (lowFuel) {
    const shown = device.displayUnit;
    const per =
      litresPer(shown, {
        density_kg_per_L: null,
        capacity_L: job.tank.capacity_L ?? Math.max(...table.rows.map((r) => r.volume_L)),
      }) ?? 1;
    const unit = unitName(shown);
    // The light comes on early rather than late: rounded up to the displayed step.
    const up = (v: number) => Math.ceil(v / per / device.displayStep - 1e-9) * device.displayStep;
    const base = device.shows === "usable" ? 0 : unusableOffset_L(job).offset_L;
    warning = {
      at: line(
        "warning",
        "Warn at",
        up(lowFuel.warnAtUsable_L + base),
        device.displayStep,
        unit,
        "settings.warning.at",
      ),
      clear:
        device.warning.canClear && lowFuel.clearAtUsable_L !== null
          ? line(
              "warning",
              "Clear at",
              up(lowFuel.clearAtUsable_L + base),
              device.displayStep,
              unit,
              "settings.warning.clear",
            )
          : null,
      delay_s: device.warning.canDelay
        ? line("warning", "Delay", lowFuel.delay_s, 1, "s", "settings.warning.delay_s")
        : null,
      unit,
    };
  }
  // What the device holds outside its table is what the outer rows say: they are the ends.
  const byReading = [...table.rows].sort((a, b) => a.reading - b.reading);
  const outer = [byReading[0]!, byReading[byReading.length - 1]!];
  const [empty, full] = ends.empty.reading < ends.full.reading ? outer : [outer[1]!, outer[0]!];
  return ready(
    {
      table: rows,
      smoothing,
      deadband,
      features,
      warning,
      faultLimits,
      ends: { empty: Number(empty!.typedReading), full: Number(full!.typedReading), unit: table.readingUnit },
      lines,
    },
    cautions,
  );
}

type Line = (
  group: SettingLine["group"],
  label: string,
  value: number,
  step: number,
  unit: string,
  path: string,
) => number;

/** One line for each that is set; what is not set has none. */
function featureLines(features: Features, line: Line): Features {
  const { medianOf, holdOver_g, rateLimit_L_per_s, refuel } = features;
  const at = "settings.features";
  return {
    medianOf: medianOf > 1 ? line("features", "Median of", medianOf, 1, "readings", `${at}.medianOf`) : 1,
    holdOver_g:
      holdOver_g === null ? null : line("features", "Hold in a corner over", holdOver_g, 0.01, "g", `${at}.holdOver_g`),
    rateLimit_L_per_s:
      rateLimit_L_per_s === null
        ? null
        : line("features", "Rate limit", rateLimit_L_per_s, 0.01, "L/s", `${at}.rateLimit_L_per_s`),
    refuel: refuel && {
      rise_L: line("features", "Refuel: a rise of", refuel.rise_L, 0.1, "L", `${at}.refuel.rise_L`),
      seconds: line("features", "Refuel: for", refuel.seconds, 1, "s", `${at}.refuel.seconds`),
    },
  };
}

/** The upper rail in a reading's unit; null where the job does not say it. */
function topOf(job: Job, unit: Table["curveUnit"]): number | null {
  const { supplyVolts, adcBits } = job.circuit;
  return unit === "V" ? supplyVolts : unit === "count" && adcBits !== null ? 2 ** adcBits - 1 : null;
}

const smoothingLabel = {
  seconds: "Smoothing, time constant",
  factor: "Smoothing factor",
  cutoff: "Smoothing, cut-off",
  samples: "Smoothing, samples N (factor 2/(N+1))",
} as const;

const unitName = (unit: string) => ({ percent: "%", USgal: "US gal", impgal: "imp gal" })[unit] ?? unit;
