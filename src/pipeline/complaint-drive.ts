/** Complaints that a drive log shows: the display bounces at an end, the lamp comes on in corners. */
import { decimalsOfStep, fixed, plusMinus, setText, withUnit } from "../format";
import type { Cause } from "./complaint";
import { flickersPerHour } from "./device-counts";
import { type DeviceSettings, replay } from "./device-model";
import { atDeviceRate, type DeviceRecord } from "./device-record";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job } from "./job";

export interface FoundDevice {
  settings: DeviceSettings;
  records: { log: DriveLog; record: DeviceRecord }[];
  /** Warning found, litres since the start; null if none. */
  warn_L: number | null;
}

/** Fewer flickers or lights than this in the log are no complaint yet. Named default, no source. */
const fewest = 3;
/**
 * A corner or a hard braking: this acceleration over `over_s`. The fuel takes some seconds to run to the other side and back, so that a light up
 * to `after_s` later is counted to it. Named defaults, no source.
 */
const corner = { least_g: 0.15, over_s: 1.5, after_s: 4 };
/** Chance below which so many lights in corners are more than the time spent there. Named default, no source. */
const leastChance = 0.01;
/** Share of time off the end that is held to 1 %: m ≥ 2.33 σ (normal quantile). */
const offEnd = 2.33;

/**
 * Bounce: the last row lies so near the reading of the very end that noise after the found smoothing takes the display off it. Tried
 * by moving that row in and replaying. Null where the display does not flicker there more than is wanted.
 */
export function bounceAtAnEnd(end: "empty" | "full", device: FoundDevice, job: Job): Cause | null {
  const { settings } = device;
  const rows = settings.table;
  const rising = rows[rows.length - 1]!.volume_L > rows[0]!.volume_L;
  const at = (end === "full") === rising ? rows.length - 1 : 0;
  const row = rows[at]!;
  const found = countFlickers(device, settings, row.volume_L);
  const wanted = job.targets.endFlickersPerHour;
  if (found.flickers < fewest || !(found.perHour > wanted)) return null;
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
  const margin = (middle - row.reading) * outward;
  // Level crossings of Gaussian noise (Rice 1944/45): one flicker in T asks m = σ·√(2 ln f₀T).
  const crossings = still.crossingsPerSecond * (3600 / wanted);
  const byFormula = sd * Math.max(offEnd, crossings > 1 ? Math.sqrt(2 * Math.log(crossings)) : 0);
  const tried = (needed: number) => {
    const reading = typedInward(middle - outward * needed, outward, job);
    const moved = { ...settings, table: rows.map((r, i) => (i === at ? { ...r, reading } : r)) };
    const inside = moved.table.every((r, i) => i === 0 || r.reading > moved.table[i - 1]!.reading);
    const after = inside ? countFlickers(device, moved, row.volume_L) : null;
    return { needed, moved, after, cures: after !== null && after.flickers <= 0.2 * found.flickers };
  };
  const margins = [
    byFormula,
    ...(settings.order === "table-then-filter" ? wider(device, row.volume_L, byFormula) : []),
  ];
  let { needed, moved, after, cures } = tried(margins[0]!);
  for (let k = 1; k < margins.length && !cures; k++) ({ needed, moved, after, cures } = tried(margins[k]!));
  const unit = job.readingUnit === "ohm" ? "Ω" : job.readingUnit === "count" ? "counts" : "V";
  const digits = unit === "V" ? 3 : 0;
  const typedDigits = decimalsOfStep(typedStep(job));
  const here = `${fixed(row.reading, digits)} ${unit}`;
  const bounce = `The display bounces at the ${end} end, ${found.flickers} times in ${fixed(60 * found.hours, 0)} min`;
  const figures = {
    end,
    flickers: found.flickers,
    flickersPerHour: found.perHour,
    minutes: 60 * found.hours,
    rowReading: row.reading,
    endReading: middle,
    endReadingStandard: sd,
    foundMargin: margin,
    neededMargin: needed,
    flickersWithMargin: after?.flickers ?? null,
  };
  const weight = found.perHour / wanted;
  if (margin < needed && after !== null && cures)
    return {
      trouble: "bounces-at-an-end",
      cause: "no-margin",
      weight,
      figures,
      says: `${bounce}, because the table’s end row, ${here}, has ${Math.abs(margin) < 0.5 * sd ? "no margin" : margin < 0 ? "less than no margin" : "too little margin"} to what the sender reads there, ${plusMinus(middle, 2 * sd, unit)}: with that row at ${fixed(moved.table[at]!.reading, typedDigits)} ${unit} the same drive gives ${after.flickers === 0 ? "none" : after.flickers}.`,
      remedy: `Move that row in by ${withUnit(Math.abs(moved.table[at]!.reading - row.reading), unit, 2)}; a fill run tells what that hides in litres.`,
    };
  return {
    trouble: "bounces-at-an-end",
    cause: "moving-level",
    weight,
    figures,
    says: `${bounce}, because the level goes through the end of the table there and slosh carries it to and fro${settings.deadband_L > 0 ? "" : " with no deadband to hold it"}: moving the last row in would not cure it.`,
    remedy: "Smooth more and give the display a deadband, as the display leaf works out.",
  };
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

function countFlickers(device: FoundDevice, settings: DeviceSettings, end_L: number) {
  const { step_L, offset_L } = settings.shown;
  const onStep = Math.round((end_L - offset_L) / step_L) * step_L + offset_L;
  let flickers = 0;
  let hours = 0;
  for (const { record } of device.records) {
    const f = flickersPerHour(replay(record, settings).shown_L, onStep, record.interval_s);
    flickers += f?.flickers ?? 0;
    hours += f?.hours ?? 0;
  }
  return { flickers, hours, perHour: hours > 0 ? flickers / Math.max(hours, 1 / 60) : 0 };
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
  const readings: number[] = [];
  let seconds = 0;
  let up = 0;
  const parts: { values: number[]; interval_s: number }[] = [];
  for (const { record } of device.records) {
    const shown = replay(record, settings).shown_L;
    const filtered = replay(record, { ...settings, timeConstant_s, table: wide, deadband_L: 0 }).smoothed_L;
    const near: number[] = [];
    for (let i = 0; i < shown.length; i++)
      if (Math.abs(shown[i]! - end_L) <= 2.5 * settings.shown.step_L) near.push(filtered[i]!);
    readings.push(...near);
    parts.push({ values: near, interval_s: record.interval_s });
  }
  const middle = quantileOf(readings, 0.5);
  for (const part of parts) {
    seconds += part.values.length * part.interval_s;
    for (let i = 1; i < part.values.length; i++) if (part.values[i - 1]! < middle && part.values[i]! >= middle) up++;
  }
  return { readings, crossingsPerSecond: seconds > 0 ? up / seconds : 0 };
}

/**
 * Lamp: lights while more fuel is there than the warning asks for, in or just after turns (or braking), more often than turns last. Tried
 * with the recommended smoothing and with a confirming delay. Null where the lamp does not come on falsely.
 */
export function lampInACorner(device: FoundDevice, display: Display | null, job: Job): Cause | null {
  const { settings, warn_L } = device;
  if (warn_L === null || device.records.length === 0) return null;
  const lights = device.records.flatMap((r) => falseLights(r, settings, warn_L));
  if (lights.length < fewest) return null;
  const minutes = device.records.reduce((s, r) => s + (r.record.reading.length * r.record.interval_s) / 60, 0);
  const longest_s = Math.max(...lights.map((l) => l.seconds));
  const smoothed = display
    ? device.records.flatMap((r) =>
        falseLights(r, { ...settings, timeConstant_s: display.timeConstant_s, deadband_L: display.deadband_L }, warn_L),
      ).length
    : null;
  const directions = (["across", "along"] as const).map((name) => {
    const lit = lights.filter((l) => Math.abs(l[name]) >= corner.least_g);
    const left = lit.filter((l) => l[name] > 0).length;
    return {
      name,
      lit: lit.length,
      share: mean(device.records.map((r) => shareOver(r, name))),
      oneWay: Math.max(left, lit.length - left),
    };
  });
  const best = directions.reduce((a, b) =>
    chanceOfAtLeast(b.lit, lights.length, b.share) < chanceOfAtLeast(a.lit, lights.length, a.share) ? b : a,
  );
  const tilts = best.lit >= 0.6 * lights.length && chanceOfAtLeast(best.lit, lights.length, best.share) < leastChance;
  const filter =
    settings.timeConstant_s > 0
      ? `${setText(settings.timeConstant_s, "s")} of smoothing are too quick to hide that`
      : "nothing smooths that";
  const figures = {
    falseLights: lights.length,
    minutes,
    inCorners: best.lit,
    direction: best.name,
    timeInCorners_fraction: best.share,
    longest_s,
    warnAt_L: warn_L,
    falseLightsSmoothed: smoothed,
  };
  const again =
    smoothed === null || !display
      ? ""
      : ` With ${setText(display.timeConstant_s, "s")} and a deadband of ${setText(display.deadband_L, "L", 2)} the same drive ${smoothed === 0 ? "never lights it" : `lights it ${smoothed === 1 ? "once" : `${smoothed} times`}`}.`;
  const base = { trouble: "lamp-in-a-corner" as const, figures, weight: lights.length / (minutes / 60) };
  const remedy = `Smooth as the display leaf works out${job.device.warning.canDelay ? `, or let the warning wait: the longest false light lasts ${withUnit(longest_s, "s", 2)}` : ""}.`;
  if (tilts)
    return {
      ...base,
      cause: "tilt",
      says: `The lamp comes on in ${best.name === "across" ? "corners" : "braking and pulling away"} because fuel runs away from the sender there and ${filter}: ${best.lit} of ${lights.length} false lights fall in or right after ${best.name === "across" ? "turns" : "them"}, which take ${fixed(100 * best.share, 0)} % of the drive${best.oneWay >= 0.8 * best.lit && best.name === "across" ? ", nearly all to the same side" : ""}.${again}`,
      remedy,
    };
  return {
    ...base,
    cause: device.records.some((r) => r.log.columns.across_g) ? "slosh" : "unknown",
    says: `The lamp comes on ${lights.length} times in ${fixed(minutes, 0)} min with enough fuel in the tank, and ${device.records.some((r) => r.log.columns.across_g) ? `not in turns alone: slosh does it, and ${filter}` : "the log has no accelerations to tell corners by"}.${again}`,
    remedy: device.records.some((r) => r.log.columns.across_g)
      ? remedy
      : "Log the acceleration across beside the reading, and drive the same road.",
  };
}

/**
 * Times at which the lamp came on although the level, by the trend, stood more than a step above the warning. The device compares its inner value, as
 * `first-light.ts` takes it, not the rounded one that it shows.
 */
function falseLights({ log, record }: FoundDevice["records"][number], settings: DeviceSettings, warn_L: number) {
  const inner = replay(record, settings).held_L;
  const across = turnsOf(log, record, "across_g");
  const along = turnsOf(log, record, "along_g");
  const found: { across: number; along: number; seconds: number }[] = [];
  for (let i = 1; i < inner.length; i++) {
    if (!(inner[i]! <= warn_L && inner[i - 1]! > warn_L)) continue;
    if (!(record.trend_L[i]! > warn_L + settings.shown.step_L)) continue;
    let end = i;
    while (end < inner.length && inner[end]! <= warn_L) end++;
    found.push({ across: across?.[i] ?? 0, along: along?.[i] ?? 0, seconds: (end - i) * record.interval_s });
  }
  return found;
}

/** Share of the drive that counts as in or right after a corner. */
function shareOver({ log, record }: FoundDevice["records"][number], name: "across" | "along"): number {
  const turns = turnsOf(log, record, `${name}_g`);
  return turns ? turns.filter((g) => Math.abs(g) >= corner.least_g).length / Math.max(1, turns.length) : 0;
}

/** For every update the acceleration, averaged over a second or two, that was largest in the seconds before; with its sign. */
function turnsOf(log: DriveLog, record: DeviceRecord, name: "across_g" | "along_g"): Float64Array | null {
  const g = channelOf(log, record, name);
  if (!g) return null;
  const over = Math.max(1, Math.round(corner.over_s / record.interval_s));
  const after = Math.max(1, Math.round(corner.after_s / record.interval_s));
  const averaged = new Float64Array(g.length);
  let sum = 0;
  for (let i = 0; i < g.length; i++) {
    sum += g[i]! - (i >= over ? g[i - over]! : 0);
    averaged[i] = sum / Math.min(i + 1, over);
  }
  // Candidates for the largest of the last `after` updates, largest first: each update enters and leaves once.
  const out = new Float64Array(g.length);
  const queue: number[] = [];
  let head = 0;
  for (let i = 0; i < g.length; i++) {
    while (queue.length > head && Math.abs(averaged[queue[queue.length - 1]!]!) <= Math.abs(averaged[i]!)) queue.pop();
    queue.push(i);
    if (queue[head]! < i - after) head++;
    out[i] = averaged[queue[head]!]!;
  }
  return out;
}

/** Chance of `hits` or more in `n` tries that each hit with `share`: the binomial tail, as if each light stood by itself. */
function chanceOfAtLeast(hits: number, n: number, share: number): number {
  if (hits === 0) return 1;
  if (!(share > 0)) return 0;
  if (share >= 1) return 1;
  let chance = 0;
  let logTerm = n * Math.log1p(-share);
  for (let k = 0; k <= n; k++) {
    if (k >= hits) chance += Math.exp(logTerm);
    logTerm += Math.log((n - k) / (k + 1)) + Math.log(share) - Math.log1p(-share);
  }
  return chance;
}

/** Another column of the log at the device's updates, gaps left out as for the reading. */
function channelOf(log: DriveLog, record: DeviceRecord, name: "across_g" | "along_g"): Float64Array | null {
  const column = log.columns[name];
  if (!column) return null;
  const blankAsRest = column.map((v) => (Number.isNaN(v) ? 0 : v));
  return atDeviceRate({ columns: { ...log.columns, reading: blankAsRest } }, 1 / record.interval_s, null, null).reading;
}

const mean = (v: number[]) => v.reduce((s, x) => s + x, 0) / Math.max(1, v.length);

function quantileOf(values: number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
}
