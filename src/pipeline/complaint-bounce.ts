/** Complaint: the display bounces at an end. */

import { decimalsOfStep, fixed, plusMinus, withUnit } from "../format";
import { capital, say } from "../said";
import type { Cause } from "./complaint";
import {
  countFlickers,
  dropoutsOf,
  dropoutText,
  dropsOut,
  type FoundDevice,
  fewest,
  holdingLastGood,
  limitsRemedy,
  mends,
  minutesText,
  mostly,
  mostlySpikes,
  settingText,
  smoothed,
  smoothingText,
  spikeRemedy,
  spikesIn,
  spikeText,
  unitOf,
  withoutSpikes,
} from "./complaint-device";
import { type DeviceSettings, replay } from "./device-model";
import { lookUp } from "./device-table";
import type { Display } from "./display";
import type { Job } from "./job";
import { litresOf, litresSetTo } from "./litres";

/** Share of time off the end that is held to 1 %: m ≥ 2.33 σ (normal quantile). */
const offEnd = 2.33;
/** Margins that are tried where the formula's does not do, as shares of the table's readings. Named default, no source. */
const marginShares = [0.01, 0.02, 0.03, 0.04, 0.06];
/** A margin that hides more than this share of the table's litres is not asked for where smoothing does as well. Named default, no source. */
const mostHidden = 0.08;

/**
 * Bounce: what takes the display off the value of an end and back. One thing after the other is mended and the log replayed: drop-outs and spikes
 * left out, the end's row moved in, more smoothing and deadband. Null where the display does not flicker there more than is wanted.
 */
export function bounceAtAnEnd(
  end: "empty" | "full",
  device: FoundDevice,
  display: Display | null,
  job: Job,
): Cause | null {
  const { settings } = device;
  const { at, volume_L } = rowOf(end, settings);
  const row = settings.table[at]!;
  const found = countFlickers(device, settings, volume_L);
  const wanted = job.targets.endFlickersPerHour;
  if (found.flickers < fewest || !(found.perHour > wanted)) return null;
  const margin = marginOf(at, device, job, found.flickers);
  const { middle, sd } = margin;
  const unit = unitOf(job);
  const digits = unit === "V" ? 3 : 0;
  const here = `${fixed(row.reading, digits)} ${unit}`;
  const bounce = `The display bounces at the ${end} end, ${found.flickers} times in ${minutesText(60 * found.hours)}`;
  const figures = {
    end,
    flickers: found.flickers,
    flickersPerHour: found.perHour,
    minutes: 60 * found.hours,
    rowReading: row.reading,
    endReading: middle,
    endReadingStandard: sd,
    foundMargin: margin.found,
    neededMargin: margin.needed,
    movedReading: margin.reading,
    hiddenByMargin_L: margin.hidden_L,
    flickersWithMargin: margin.flickers,
    dropouts: dropoutsOf(device),
    flickersMended: margin.flickers,
  };
  const base = { trouble: "bounces-at-an-end" as const, weight: found.perHour / wanted, figures };
  const cures = (flickers: number | null): flickers is number =>
    flickers !== null && flickers <= mends * found.flickers;
  const mainly = (left: number | null): left is number => left !== null && left <= mostly * found.flickers;
  const after = (changed: DeviceSettings) => countFlickers(device, changed, volume_L).flickers;

  const withMedian = spikesIn(device) >= 0.5 * found.flickers ? after(withoutSpikes(settings)) : null;
  const spikes = (): Cause | null =>
    mainly(withMedian)
      ? {
          ...base,
          cause: "spikes",
          figures: { ...figures, flickersMended: withMedian },
          says: `${bounce}, ${spikeText(device)} the same drive gives ${withMedian === 0 ? "none" : withMedian}.`,
          remedy: spikeRemedy(job),
        }
      : null;
  const dropouts = (): Cause | null => {
    if (!dropsOut(device)) return null;
    const holding = holdingLastGood(device);
    const left = countFlickers(holding, holding.settings, volume_L).flickers;
    if (!mainly(left)) return null;
    return {
      ...base,
      cause: "dropouts",
      figures: { ...figures, flickersMended: left },
      says: `${bounce}, ${dropoutText(device)}. With the last good reading held meanwhile the same drive gives ${left === 0 ? "none" : left}.`,
      remedy: limitsRemedy(device, job),
    };
  };
  const line = mostlySpikes(device) ? (spikes() ?? dropouts()) : (dropouts() ?? spikes());
  if (line) return line;
  const calmer = display ? after(smoothed(settings, display)) : null;
  const byMargin = margin.found < margin.needed && cures(margin.flickers);
  const total_L = Math.abs(settings.table[settings.table.length - 1]!.volume_L - settings.table[0]!.volume_L);
  const dear = margin.hidden_L !== null && margin.hidden_L > mostHidden * total_L;
  // A row that stands on the stop has no margin, whatever one would hide; where there is some, a dear one is not asked for if smoothing does.
  const hasSome = margin.found >= 0.5 * sd;
  if (byMargin && margin.reading !== null && !(dear && hasSome && cures(calmer))) {
    const move = say`move that row in by ${withUnit(Math.abs(margin.reading - row.reading), unit, 2)}: by the table found that hides ${litresOf(margin.hidden_L!)} there.`;
    return {
      ...base,
      cause: "no-margin",
      says: `${bounce}, because the table’s end row, ${here}, ${Math.abs(margin.found) < 0.5 * sd ? "has no margin to" : margin.found < 0 ? "lies beyond" : "has too little margin to"} what the sender reads there, ${plusMinus(middle, 2 * sd, unit)}: with that row at ${fixed(margin.reading, decimalsOfStep(typedStep(job)))} ${unit} the same drive gives ${margin.flickers === 0 ? "none" : margin.flickers}.`,
      remedy: !cures(calmer)
        ? capital(move)
        : dear
          ? say`Smooth more and give the display a deadband, as the display leaf works out: that holds it too. Else ${move}`
          : say`${capital(move)} Smoothing more does it too.`,
    };
  }
  if (display && cures(calmer))
    return {
      ...base,
      cause: "moving-level",
      figures: { ...figures, flickersMended: calmer },
      says: say`${bounce}, because motion carries the level to and fro over the end of the table and ${smoothingText(settings.timeConstant_s)}${settings.deadband_L > 0 ? say` with a deadband of ± ${litresSetTo(settings.deadband_L)}` : " without a deadband"} lets it through: with ${settingText(display)} the same drive gives ${calmer === 0 ? "none" : calmer}.`,
      remedy: "Smooth more and give the display a deadband, as the display leaf works out.",
    };
  return {
    ...base,
    cause: "unknown",
    figures: { ...figures, flickersMended: null },
    says: say`${bounce}, and neither a margin at that end${display ? say` nor ${settingText(display)}` : ""} holds it still on this log.`,
    remedy: "Bring a longer log with the tank at that end, from before to after it bounces.",
  };
}

/** The table's row at an end. */
export function rowOf(
  end: "empty" | "full",
  { table }: Pick<DeviceSettings, "table">,
): { at: number; volume_L: number } {
  const rising = table[table.length - 1]!.volume_L > table[0]!.volume_L;
  const at = (end === "full") === rising ? table.length - 1 : 0;
  return { at, volume_L: table[at]!.volume_L };
}

/** The margin that would hold an end, tried by moving the row in; `reading` is null where no such row can be typed. */
function marginOf(at: number, device: FoundDevice, job: Job, flickers: number) {
  const { settings } = device;
  const rows = settings.table;
  const row = rows[at]!;
  const still = readingsAt(device, row.volume_L);
  const middle = quantileOf(still.readings, 0.5);
  const sd =
    1.4826 *
    quantileOf(
      still.readings.map((r) => Math.abs(r - middle)),
      0.5,
    );
  // Beyond the end is where the row would be safe: outward is the side of the row away from the rest of the table.
  const outward = at === 0 ? -1 : 1;
  // Level crossings of Gaussian noise (Rice 1944/45): one flicker in T asks m = σ·√(2 ln f₀T).
  const crossings = still.crossingsPerSecond * (3600 / job.targets.endFlickersPerHour);
  const byFormula = sd * Math.max(offEnd, crossings > 1 ? Math.sqrt(2 * Math.log(crossings)) : 0);
  const tried = (needed: number) => {
    const reading = typedInward(middle - outward * needed, outward, job);
    const moved = { ...settings, table: rows.map((r, i) => (i === at ? { ...r, reading } : r)) };
    const inside =
      (row.reading - reading) * outward > 0 &&
      moved.table.every((r, i) => i === 0 || r.reading > moved.table[i - 1]!.reading);
    return {
      needed,
      reading: inside ? reading : null,
      flickers: inside ? countFlickers(device, moved, row.volume_L).flickers : null,
      hidden_L: inside ? Math.abs(lookUp(rows, Float64Array.of(reading))[0]! - row.volume_L) : null,
    };
  };
  const span = rows[rows.length - 1]!.reading - rows[0]!.reading;
  // The formula first: where no such row can be typed, or it does not do, whole shares of the travel and what lies behind a table.
  const further = [
    ...marginShares.map((share) => share * span),
    ...(settings.order === "table-then-filter" ? wider(device, row.volume_L, byFormula) : []),
  ].sort((a, b) => a - b);
  let best = tried(byFormula);
  for (let k = 0; k < further.length && !(best.flickers !== null && best.flickers <= mends * flickers); k++) {
    const next = tried(further[k]!);
    if (next.flickers !== null && next.flickers <= mends * flickers) best = next;
  }
  return { ...best, middle, sd, found: (middle - row.reading) * outward };
}

/** Step in which the device takes a reading of its table, in the unit of the readings; 0.01 V or 1 where the job does not say. */
function typedStep({ device, readingUnit }: Job): number {
  const unit = readingUnit ?? "V";
  if (device.tableReadingUnit === "mV" && unit === "V") return (device.tableReadingStep ?? 1) / 1000;
  const own = device.tableReadingUnit === null || device.tableReadingUnit === unit;
  return (own ? device.tableReadingStep : null) ?? (unit === "V" ? 0.01 : 1);
}

/** The next reading that can be typed, on the side of the tank's inside: never less of a margin than was asked for. */
function typedInward(reading: number, outward: 1 | -1, job: Job): number {
  const step = typedStep(job);
  const steps = reading / step;
  return Number(((outward > 0 ? Math.floor(steps + 1e-9) : Math.ceil(steps - 1e-9)) * step).toFixed(9));
}

/**
 * Behind a table the end row cuts off motion that was not smoothed, which the formula knows nothing of: margins up to three of its standard
 * deviations are tried one after the other (named default, no source).
 */
function wider(device: FoundDevice, end_L: number, from: number): number[] {
  const { readings } = readingsAt(device, end_L, 0);
  const middle = quantileOf(readings, 0.5);
  const distances = readings.map((r) => Math.abs(r - middle));
  const sd = 1.4826 * quantileOf(distances, 0.5);
  return Array.from({ length: 12 }, (_, k) => 0.25 * (k + 1) * sd).filter((m) => m > from);
}

/** Smoothed readings while the display stands within two steps of the end, and how often they cross their own middle. */
function readingsAt(
  device: FoundDevice,
  end_L: number,
  timeConstant_s = device.settings.timeConstant_s,
): { readings: number[]; crossingsPerSecond: number } {
  const { settings } = device;
  // A table that hands the reading through shows what the filter makes of it.
  const first = settings.table[0]!;
  const last = settings.table[settings.table.length - 1]!;
  const span = last.reading - first.reading;
  const wide = [first.reading - span, last.reading + span].map((r) => ({ reading: r, volume_L: r }));
  let seconds = 0;
  let up = 0;
  const parts: { values: number[]; interval_s: number }[] = [];
  for (const { record } of device.records) {
    const shown = replay(record, settings).shown_L;
    const filtered = replay(record, { ...settings, timeConstant_s, table: wide, deadband_L: 0 }).smoothed_L;
    const near: number[] = [];
    for (let i = 0; i < shown.length; i++)
      if (Math.abs(shown[i]! - end_L) <= 2.5 * settings.shown.step_L) near.push(filtered[i]!);
    parts.push({ values: near, interval_s: record.interval_s });
  }
  const readings = parts.flatMap((part) => part.values);
  const middle = quantileOf(readings, 0.5);
  for (const part of parts) {
    seconds += part.values.length * part.interval_s;
    for (let i = 1; i < part.values.length; i++) if (part.values[i - 1]! < middle && part.values[i]! >= middle) up++;
  }
  return { readings, crossingsPerSecond: seconds > 0 ? up / seconds : 0 };
}

function quantileOf(values: number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
}
