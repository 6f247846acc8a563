/** What each thing that the device has buys on this log: every one is set, replayed with and without, and taken only if it pays. */

import { fixed } from "../format";
import { type Said, say } from "../said";
import { steadiness } from "./device-counts";
import { type Features, noFeatures, quick_s } from "./device-features";
import { beforeTable, behindTable, type DeviceSettings, replay } from "./device-model";
import type { DeviceRecord } from "./device-record";
import type { Feature } from "./job";
import { litresTyped } from "./litres";

export interface FeatureRun {
  reversalsPerMinute: number;
  digitChangesPerMinute: number;
  rmsError_L: number;
  timeConstant_s: number;
}

export interface FeatureTrial {
  feature: Feature;
  /** In words, with its figures: "median of 5 readings". */
  setting: Said;
  taken: boolean;
  why: string;
  with: FeatureRun;
  without: FeatureRun;
}

/** Least gain for which something more is set: error or turns. Named default, no source. */
const leastGain = 0.03;
/**
 * Seconds for which the refuelling rule may want its rise, the first that serves: up to 6 s nine tenths of any refuel are shown within 10 s of its
 * end; longer ones leave out a long corner or a hill, and show a small refuel later. Named default, no source.
 */
const refuelSeconds = [6, 9, 12, 16, 20];
/** How far above the log's own slow motion the rise is set: other drives go further. Named default, no source. */
const refuelRoom = 1.5;
/** A rise of so little of the tank serves; one of more than the other share helps no one. Named defaults, no source. */
const servingRise = 0.1;
const mostRise = 0.2;

/** Seconds in which a third of the tank must get through a rate limit. Named default, no source. */
const slowRefuel_s = 300;

/**
 * @param base what was chosen without any of them; `time constant` in the result is the least that is as steady, of a few tried.
 * @returns the features to set, and one trial for each that the device has.
 */
export function tryFeatures(
  records: DeviceRecord[],
  has: Feature[],
  base: DeviceSettings,
  burn_L_per_s: number,
  total_L: number,
): { features: Features; trials: FeatureTrial[] } {
  const count = (settings: DeviceSettings): Omit<FeatureRun, "timeConstant_s"> => {
    let minutes = 0;
    let reversals = 0;
    let changes = 0;
    let squares = 0;
    let n = 0;
    for (const record of records) {
      const { shown_L } = replay(record, settings);
      const s = steadiness(shown_L, record);
      minutes += s.minutes;
      reversals += s.reversals;
      changes += s.changes;
      squares += s.rmsError_L ** 2 * shown_L.length;
      n += shown_L.length;
    }
    return {
      reversalsPerMinute: reversals / minutes,
      digitChangesPerMinute: changes / minutes,
      rmsError_L: Math.sqrt(squares / n),
    };
  };
  const plain: FeatureRun = { ...count(base), timeConstant_s: base.timeConstant_s };
  /** Least time constant that turns back no more often than the plain one does. */
  const leastFor = (features: Features): number => {
    let least = base.timeConstant_s;
    for (const share of [0.8, 0.6, 0.45, 0.3, 0.2]) {
      const timeConstant_s = share * base.timeConstant_s;
      if (count({ ...base, features, timeConstant_s }).reversalsPerMinute > plain.reversalsPerMinute) break;
      least = timeConstant_s;
    }
    return least;
  };
  const pays = (r: Omit<FeatureRun, "timeConstant_s">, than: Omit<FeatureRun, "timeConstant_s">) =>
    r.rmsError_L <= (1 - leastGain) * than.rmsError_L && r.reversalsPerMinute <= than.reversalsPerMinute + 0.05
      ? true
      : r.reversalsPerMinute <= 0.7 * than.reversalsPerMinute - 0.05 && r.rmsError_L <= than.rmsError_L;
  const trials: FeatureTrial[] = [];
  let features = noFeatures;
  const tryOne = (feature: Feature, options: Partial<Features>[], told: (f: Features) => Said) => {
    const runs = options.map((o) => {
      const set = { ...features, ...o };
      return { set, run: count({ ...base, features: set }) };
    });
    const before = count({ ...base, features });
    const best = runs.reduce((a, b) => (b.run.rmsError_L < a.run.rmsError_L ? b : a));
    const taken = pays(best.run, before);
    if (taken) features = best.set;
    trials.push({
      feature,
      setting: told(best.set),
      taken,
      why: taken
        ? "steadier or nearer on this log than without it"
        : "buys nothing on this log that smoothing and deadband do not give already",
      with: { ...best.run, timeConstant_s: taken ? leastFor(best.set) : base.timeConstant_s },
      without: { ...before, timeConstant_s: base.timeConstant_s },
    });
  };
  if (has.includes("fault-limits") && base.faultLimits) {
    const without = count({ ...base, faultLimits: false });
    trials.push({
      feature: "fault-limits",
      setting: "fault limits, last good value held",
      taken: true,
      why: "a wire fault must not pass for fuel, whether or not this log shows one",
      with: plain,
      without: { ...without, timeConstant_s: base.timeConstant_s },
    });
  }
  if (has.includes("median"))
    tryOne(
      "median",
      [3, 5, 9].map((medianOf) => ({ medianOf })),
      (f) => `median of ${f.medianOf} readings`,
    );
  if (has.includes("hold-in-corner")) {
    if (records.every((r) => r.across_g === null))
      trials.push({
        feature: "hold-in-corner",
        setting: "not set",
        taken: false,
        why: "the log has no sideways acceleration, so no limit can be tried; log it, or leave the hold off",
        with: plain,
        without: plain,
      });
    else
      tryOne(
        "hold-in-corner",
        [0.12, 0.2, 0.3, 0.45].map((holdOver_g) => ({ holdOver_g })),
        (f) => `hold over ${f.holdOver_g ?? 0} g sideways`,
      );
  }
  if (has.includes("rate-limit") && burn_L_per_s > 0)
    tryOne(
      "rate-limit",
      // Slower than a few times the burn it would fall behind on a hard stretch; and a refuel has to get through it, unless a rule lets it by.
      [3, 6, 12, 25]
        .map((times) => Math.max(times * burn_L_per_s, has.includes("refuel-rule") ? 0 : total_L / 3 / slowRefuel_s))
        .map((most) => ({ rateLimit_L_per_s: Math.ceil(100 * most) / 100 })),
      (f) => say`at most ${litresTyped(f.rateLimit_L_per_s ?? 0, 2, "L a second")}`,
    );
  if (has.includes("refuel-rule")) {
    const rule = refuelRule(records, { ...base, features }, total_L);
    const { rise_L, seconds } = rule;
    const ruled_s = seconds + Math.LN10 * quick_s;
    const slow_s = Math.LN10 * base.timeConstant_s;
    const taken = rise_L <= mostRise * total_L && slow_s > ruled_s;
    const set = { ...features, refuel: rule };
    const run = count({ ...base, features: set });
    const before = count({ ...base, features });
    if (taken) features = set;
    trials.push({
      feature: "refuel-rule",
      setting: say`a rise of ${litresTyped(rise_L, 1)} for ${seconds} s is a refuel`,
      taken,
      why: taken
        ? `shows nine tenths of a larger refuel at most ${fixed(Math.ceil(ruled_s), 0)} s after it instead of ${fixed(slow_s, 0)} s`
        : slow_s <= ruled_s
          ? "the smoothing is quick enough by itself"
          : "the motion on this log rises as far and as long as a small refuel does",
      with: { ...run, timeConstant_s: base.timeConstant_s },
      without: { ...before, timeConstant_s: base.timeConstant_s },
    });
  }
  return { features, trials };
}

/** The shortest rule that lies clear of the log's own motion with a rise that serves; where there is none, the one with the least rise. */
function refuelRule(
  records: DeviceRecord[],
  settings: DeviceSettings,
  total_L: number,
): NonNullable<Features["refuel"]> {
  const least_L = Math.max(2 * settings.shown.step_L, 0.02 * total_L);
  const rises = records.map((record) => quickRise(record, settings));
  let best: NonNullable<Features["refuel"]> | null = null;
  for (const seconds of refuelSeconds) {
    const sustained_L = Math.max(0, ...rises.map((rise, k) => sustained(rise, seconds / records[k]!.interval_s)));
    const rise_L = Math.ceil(10 * Math.max(least_L, refuelRoom * sustained_L)) / 10;
    if (!best || rise_L < best.rise_L) best = { rise_L, seconds };
    if (rise_L <= servingRise * total_L) break;
  }
  return best!;
}

/** Litres by which the quick reading stands over the smoothed one. */
function quickRise(record: DeviceRecord, settings: DeviceSettings): Float64Array {
  const behind = (timeConstant_s: number) => {
    const plain = { ...settings, timeConstant_s, features: noFeatures };
    return behindTable(beforeTable(record, plain), plain).volume_L;
  };
  const slow = behind(settings.timeConstant_s);
  return behind(quick_s).map((v, i) => v - slow[i]!);
}

/** Highest value that lasts for so many samples: the least within each window of that length, the largest of them. A queue of rising values keeps it cheap. */
function sustained(values: Float64Array, samples: number): number {
  const width = Math.max(1, Math.round(samples));
  const queue: number[] = [];
  let most = 0;
  for (let i = 0; i < values.length; i++) {
    while (queue.length > 0 && values[queue[queue.length - 1]!]! >= values[i]!) queue.pop();
    queue.push(i);
    if (queue[0]! <= i - width) queue.shift();
    if (i >= width) most = Math.max(most, values[queue[0]!]!);
  }
  return most;
}
