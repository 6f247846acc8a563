/** Complaint: the lamp comes on while there is fuel enough, in corners or anywhere. */

import { fixed, setText, withUnit } from "../format";
import { say } from "../said";
import type { Cause } from "./complaint";
import { chanceOfAtLeast, corner, shareInCorners, turnsOf } from "./complaint-corners";
import {
  dropoutsOf,
  dropoutText,
  dropsOut,
  type FoundDevice,
  fewest,
  holdingLastGood,
  limitsRemedy,
  mends,
  minutesIn,
  minutesText,
  mostly,
  mostlySpikes,
  smoothed,
  spikeRemedy,
  spikesIn,
  spikeText,
  times,
  withoutSpikes,
} from "./complaint-device";
import type { VolumeByReading } from "./curve-types";
import { type DeviceSettings, replay } from "./device-model";
import type { DeviceRecord } from "./device-record";
import type { Display } from "./display";
import type { Job } from "./job";
import { litresSetTo } from "./litres";

/** Chance below which so many lights in corners are more than the time spent there. Named default, no source. */
const leastChance = 0.01;
/** A warning may wait for so long, and a false light lasts less, for a delay to be worth naming. Named default, no source. */
const longestDelay_s = 30;

/**
 * Lamp: lights while more fuel is there than the warning asks for. One thing after the other is mended and the log replayed: drop-outs and spikes
 * left out, the table of the fill run, more smoothing. What smoothing mends is laid to corners where more of the lights fall in or just after turns
 * (or braking) than turns last. Null where the lamp does not come on falsely.
 *
 * @param curve of a fill run; null where the litres are those of the table found.
 */
export function lampInACorner(
  device: FoundDevice,
  display: Display | null,
  curve: VolumeByReading | null,
  job: Job,
): Cause | null {
  const { settings, warn_L } = device;
  if (warn_L === null || device.records.length === 0) return null;
  const lightsOf = (changed: DeviceSettings) =>
    device.records.flatMap(({ record }) => falseLights(record, changed, warn_L));
  const byRecord = device.records.map(({ record }) => falseLights(record, settings, warn_L));
  const lights = byRecord.flat();
  if (lights.length < fewest) return null;
  const minutes = minutesIn(device).all;
  const longest_s = Math.max(...lights.map((l) => l.seconds));
  const withDisplay = display ? lightsOf(smoothed(settings, display)).length : null;
  const best = mostLit(device, byRecord);
  const dropouts = dropoutsOf(device);
  const lit = `The lamp comes on ${lights.length} times in ${minutesText(minutes)} with more in the tank than the ${warnText(device, job)} that it warns at`;
  const figures = {
    falseLights: lights.length,
    minutes,
    inCorners: best.lit,
    direction: best.name,
    timeInCorners_fraction: best.share,
    longest_s,
    warnAt_L: warn_L,
    falseLightsSmoothed: withDisplay,
    dropouts,
    falseLightsMended: withDisplay,
  };
  const base = { trouble: "lamp-in-a-corner" as const, figures, weight: lights.length / (minutes / 60) };
  const cures = (left: number | null): left is number => left !== null && left <= mends * lights.length;
  const mainly = (left: number | null): left is number => left !== null && left <= mostly * lights.length;
  const again = (left: number) => (left === 0 ? "never lights it" : `lights it ${times(left)}`);

  const holding = holdingLastGood(device);
  const dropoutCause = (): Cause | null => {
    const held = dropsOut(device)
      ? holding.records.flatMap(({ record }) => falseLights(record, holding.settings, warn_L)).length
      : null;
    if (!mainly(held)) return null;
    return {
      ...base,
      cause: "dropouts",
      figures: { ...figures, falseLightsMended: held },
      says: `${lit}, ${dropoutText(device)}. With the last good reading held meanwhile the same drive ${again(held)}.`,
      remedy: limitsRemedy(device, job),
    };
  };
  const spikeCause = (): Cause | null => {
    const unspiked = spikesIn(device) >= 0.5 * lights.length ? lightsOf(withoutSpikes(settings)).length : null;
    if (!mainly(unspiked)) return null;
    return {
      ...base,
      cause: "spikes",
      figures: { ...figures, falseLightsMended: unspiked },
      says: `${lit}, ${spikeText(device)} the same drive ${again(unspiked)}.`,
      remedy: spikeRemedy(job),
    };
  };
  const line = mostlySpikes(device) ? (spikeCause() ?? dropoutCause()) : (dropoutCause() ?? spikeCause());
  if (line) return line;
  const byCurve = curve ? lightsOf({ ...settings, table: curve.grid }).length : null;
  if (cures(byCurve) && !cures(withDisplay))
    return {
      ...base,
      cause: "table",
      figures: { ...figures, falseLightsMended: byCurve },
      says: `${lit}, because the table found shows too little there: by the curve of the fill run the same drive ${again(byCurve)}.`,
      remedy: "Type in the rows of the table leaf: they follow the curve of the fill run.",
    };
  const delay = job.device.warning.canDelay && longest_s <= longestDelay_s ? longest_s : null;
  const wait = delay === null ? null : `let the warning wait: the longest false light lasts ${withUnit(delay, "s", 2)}`;
  if (!cures(withDisplay) || !display)
    return {
      ...base,
      cause: wait ? "short-lights" : "unknown",
      says: say`${lit}${display && withDisplay !== null ? say`, and ${setText(display.timeConstant_s, "s")} with a deadband of ${litresSetTo(display.deadband_L)} still ${again(withDisplay)}` : ", and this log is not enough to tell what would hold it"}${wait ? `: a light lasts ${withUnit(longest_s, "s", 2)} at most` : ""}.`,
      remedy: wait
        ? `Smoothing alone does not do it: ${wait}.`
        : "Warn at less, or bring a longer log of the drive on which it happens, with the acceleration across beside the reading.",
    };
  const remedy = `Smooth as the display leaf works out${wait ? `, or ${wait}` : ""}.`;
  const filter =
    settings.timeConstant_s > 0
      ? `${setText(settings.timeConstant_s, "s")} of smoothing are too quick to hide that`
      : "nothing smooths that";
  const calm = say`With ${setText(display.timeConstant_s, "s")} and a deadband of ${litresSetTo(display.deadband_L)} the same drive ${again(withDisplay)}.`;
  const tilts = best.lit >= 0.6 * lights.length && chanceOfAtLeast(best.lit, lights.length, best.share) < leastChance;
  if (tilts)
    return {
      ...base,
      cause: "tilt",
      says: say`The lamp comes on in ${best.name === "across" ? "corners" : "braking and pulling away"} because fuel runs away from the sender there and ${filter}: ${best.lit} of ${lights.length} false lights fall in or right after ${best.name === "across" ? "turns" : "them"}, which take ${fixed(100 * best.share, 0)} % of the drive${best.oneWay >= 0.8 * best.lit && best.name === "across" ? ", nearly all to the same side" : ""}. ${calm}`,
      remedy,
    };
  const logged = device.records.some((r) => r.log.columns.across_g);
  return {
    ...base,
    cause: logged ? "slosh" : "motion",
    says: say`${lit}, because motion carries the reading past the warning and ${filter}${logged ? "; not in turns alone" : "; the log has no accelerations to tell corners by"}. ${calm}`,
    remedy: logged ? remedy : `${remedy} To tell corners from slosh, log the acceleration across beside the reading.`,
  };
}

/** A warning at or above the most that the table shows: the lamp never goes out, with or without a log. */
export function lampAlwaysOn(device: FoundDevice, job: Job): Cause | null {
  const { settings, warn_L } = device;
  const top_L = Math.max(...settings.table.map((r) => r.volume_L));
  if (warn_L === null || warn_L < top_L) return null;
  const most = setText((top_L - settings.shown.offset_L) * perLitre(device, job), signOf(job));
  return {
    trouble: "lamp-in-a-corner",
    cause: "warning-over-full",
    weight: 1000,
    figures: { warnAt_L: warn_L, fullest_L: top_L },
    says: `The lamp is always on, because it warns at ${warnText(device, job)} and the table found shows ${most} at most.`,
    remedy: "Correct the warning, or the unit that it is written in: it is read in the unit that the display shows.",
  };
}

const signOf = ({ device }: Job): string =>
  ({ L: "L", percent: "%", USgal: "US gal", impgal: "imp gal" })[device.displayUnit];
const perLitre = ({ settings }: FoundDevice, { device }: Job): number => device.displayStep / settings.shown.step_L;

/** The warning as it was typed, in the display's unit. */
export const warnText = (device: FoundDevice, job: Job): string =>
  setText((device.warn_L! - device.settings.shown.offset_L) * perLitre(device, job), signOf(job));

type Light = ReturnType<typeof falseLights>[number];

/** The direction whose corners hold more of the lights than their time would. @param lights of each record. */
function mostLit({ records }: FoundDevice, lights: Light[][]) {
  const all = lights.reduce((sum, l) => sum + l.length, 0);
  const directions = (["across", "along"] as const).map((name) => {
    const turns = records.map(({ log, record }) => turnsOf(log, record, `${name}_g`));
    const lit = lights
      .flatMap((list, k) => list.map(({ at }) => turns[k]?.[at] ?? 0))
      .filter((g) => Math.abs(g) >= corner.least_g);
    const left = lit.filter((g) => g > 0).length;
    return {
      name,
      lit: lit.length,
      share: turns.reduce((sum, g) => sum + (g ? shareInCorners(g) : 0), 0) / records.length,
      oneWay: Math.max(left, lit.length - left),
    };
  });
  return directions.reduce((a, b) =>
    chanceOfAtLeast(b.lit, all, b.share) < chanceOfAtLeast(a.lit, all, a.share) ? b : a,
  );
}

/**
 * Times at which the lamp came on although the level, by the trend, stood more than a step above the warning. The device compares its inner value, as
 * `first-light.ts` takes it, not the rounded one that it shows.
 */
export function falseLights(record: DeviceRecord, settings: DeviceSettings, warn_L: number) {
  const inner = replay(record, settings).held_L;
  const found: { at: number; seconds: number }[] = [];
  for (let i = 1; i < inner.length; i++) {
    if (!(inner[i]! <= warn_L && inner[i - 1]! > warn_L)) continue;
    if (!(record.trend_L[i]! > warn_L + settings.shown.step_L)) continue;
    let end = i;
    while (end < inner.length && inner[end]! <= warn_L) end++;
    found.push({ at: i, seconds: (end - i) * record.interval_s });
  }
  return found;
}
