/** What each thing that the device has buys on this log: every one is set, replayed with and without, and taken only if it pays. */
import { fixed } from "../format";
import { lowPass, smoothingFactor } from "../math/filter";
import { type Features, noFeatures, quick_s } from "./device-features";
import { believed, type DeviceRecord, type DeviceSettings, lookUp, replay, steadiness } from "./device-model";
import type { Feature } from "./job";

export interface FeatureTrial {
  feature: Feature;
  /** In words, with its figures: "median of 5 readings". */
  setting: string;
  taken: boolean;
  why: string;
  with: { reversalsPerMinute: number; rmsError_L: number; timeConstant_s: number };
  without: { reversalsPerMinute: number; rmsError_L: number; timeConstant_s: number };
}

/** Least gain for which something more is set: error or turns. Named default, no source. */
const leastGain = 0.03;
/** Seconds for which the refuelling rule wants its rise, and how far above the log's own slow motion the rise is set. Named defaults, no source. */
const refuelSeconds = 4;
const refuelRoom = 1.3;
/** A refuelling rule that wants more than this share of the tank helps no one. Named default, no source. */
const mostRise = 0.2;

/** Seconds in which a third of the tank must get through a rate limit. Named default, no source. */
const slowRefuel_s = 300;

type Run = FeatureTrial["with"];

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
  const count = (settings: DeviceSettings): Omit<Run, "timeConstant_s"> => {
    let minutes = 0;
    let reversals = 0;
    let squares = 0;
    let n = 0;
    for (const record of records) {
      const { shown_L } = replay(record, settings);
      const s = steadiness(shown_L, record.trend_L, record.interval_s);
      minutes += s.minutes;
      reversals += s.reversals;
      squares += s.rmsError_L ** 2 * shown_L.length;
      n += shown_L.length;
    }
    return { reversalsPerMinute: reversals / minutes, rmsError_L: Math.sqrt(squares / n) };
  };
  const plain: Run = { ...count(base), timeConstant_s: base.timeConstant_s };
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
  const pays = (r: Omit<Run, "timeConstant_s">, than: Omit<Run, "timeConstant_s">) =>
    r.rmsError_L <= (1 - leastGain) * than.rmsError_L && r.reversalsPerMinute <= than.reversalsPerMinute + 0.05
      ? true
      : r.reversalsPerMinute <= 0.7 * than.reversalsPerMinute - 0.05 && r.rmsError_L <= than.rmsError_L;
  const trials: FeatureTrial[] = [];
  let features = noFeatures;
  const tryOne = (feature: Feature, options: Partial<Features>[], say: (f: Features) => string) => {
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
      setting: say(best.set),
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
      (f) => `at most ${fixed(f.rateLimit_L_per_s ?? 0, 2)} L a second`,
    );
  if (has.includes("refuel-rule")) {
    const rise_L =
      Math.ceil(
        Math.max(2 * base.shown.step_L, 0.02 * total_L, refuelRoom * sustainedRise(records, { ...base, features })) *
          10,
      ) / 10;
    const taken = rise_L <= mostRise * total_L && base.timeConstant_s > refuelSeconds;
    const set = { ...features, refuel: { rise_L, seconds: refuelSeconds } };
    const run = count({ ...base, features: set });
    const before = count({ ...base, features });
    if (taken) features = set;
    trials.push({
      feature: "refuel-rule",
      setting: `a rise of ${fixed(rise_L, 1)} L for ${refuelSeconds} s is a refuel`,
      taken,
      why: taken
        ? `shows nine tenths of a refuel after about ${fixed(refuelSeconds + Math.LN10 * quick_s, 0)} s instead of ${fixed(Math.LN10 * base.timeConstant_s, 0)} s`
        : base.timeConstant_s <= refuelSeconds
          ? "the smoothing is quick enough by itself"
          : "the motion on this log rises as far and as long as a small refuel does",
      with: { ...run, timeConstant_s: base.timeConstant_s },
      without: { ...before, timeConstant_s: base.timeConstant_s },
    });
  }
  return { features, trials };
}

/** Highest rise of the quick volume over the smoothed one that lasts for the rule's seconds, over all records. */
function sustainedRise(records: DeviceRecord[], settings: DeviceSettings): number {
  let most = 0;
  for (const record of records) {
    const reading = believed(record, settings.faultLimits);
    const quick = lookUp(settings.table, lowPass(reading, smoothingFactor(quick_s, record.interval_s)));
    const slow = lookUp(settings.table, lowPass(reading, smoothingFactor(settings.timeConstant_s, record.interval_s)));
    const width = Math.max(1, Math.round(refuelSeconds / record.interval_s));
    // The least rise within each window of the rule's length: a queue of rising values keeps it cheap.
    const queue: number[] = [];
    for (let i = 0; i < quick.length; i++) {
      const rise = quick[i]! - slow[i]!;
      while (queue.length > 0 && quick[queue[queue.length - 1]!]! - slow[queue[queue.length - 1]!]! >= rise)
        queue.pop();
      queue.push(i);
      if (queue[0]! <= i - width) queue.shift();
      if (i >= width) most = Math.max(most, quick[queue[0]!]! - slow[queue[0]!]!);
    }
  }
  return most;
}
