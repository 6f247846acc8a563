/** Complaint: after a refuel the display takes minutes. */
import { fixed, setText } from "../format";
import { say } from "../said";
import type { Cause } from "./complaint";
import type { FoundDevice } from "./complaint-device";
import { type DeviceSettings, replay } from "./device-model";
import type { DeviceRecord } from "./device-record";
import type { Display } from "./display";
import type { Job } from "./job";
import { litresSetTo } from "./litres";

/** A refuel that is shown within so long is not slow. Named default, no source. */
const patience_s = 60;
/** Share of a refuel that counts as shown, and after which a first-order low-pass has ln 10 time constants behind it. */
const shownShare = 0.9;
/** A quicker setting must take at most this share of the time for the smoothing to be the cause. Named default, no source. */
const quicker = 0.6;
/** Litres of a refuel, in displayed steps, from which its tenth part can be told. Named default, no source. */
const leastSteps = 5;

/** A refuel in a record: samples at which the trend begins and ends to rise, and by how much. */
interface Refuel {
  from: number;
  to: number;
  rise_L: number;
}

/**
 * Slow: from the end of a refuel until nine tenths of it are shown. By replay where a log holds one; else reckoned, since a first-order low-pass shows
 * them after ln 10 time constants. Tried with the recommended smoothing. Null where it takes less than a minute.
 */
export function slowAfterRefuel(device: FoundDevice, display: Display | null, job: Job): Cause | null {
  const { settings } = device;
  const slowest = device.records
    .flatMap(({ record }) => refuelsOf(record.trend_L).map((refuel) => ({ record, refuel })))
    .filter(({ refuel }) => refuel.rise_L >= leastSteps * settings.shown.step_L)
    .reduce<{ record: DeviceRecord; refuel: Refuel } | null>(
      (a, b) => (a && a.refuel.rise_L >= b.refuel.rise_L ? a : b),
      null,
    );
  /** What the table found shows in the end, right or wrong: the mean without smoothing over a minute after the refuel. */
  const settled_L = (record: DeviceRecord, { to }: Refuel): number => {
    const { smoothed_L } = replay(record, { ...settings, timeConstant_s: 0 });
    const after = smoothed_L.subarray(to, to + Math.ceil(60 / record.interval_s));
    return after.reduce((sum, v) => sum + v, 0) / Math.max(1, after.length);
  };
  const secondsOf = (changed: DeviceSettings): number | null => {
    if (!slowest) return Math.log(1 / (1 - shownShare)) * changed.timeConstant_s;
    const { record, refuel } = slowest;
    const { held_L } = replay(record, changed);
    const target_L = held_L[refuel.from]! + shownShare * (settled_L(record, refuel) - held_L[refuel.from]!);
    for (let i = refuel.from; i < held_L.length; i++)
      if (held_L[i]! >= target_L) return Math.max(0, (i - refuel.to) * record.interval_s);
    return null;
  };
  // Without a refuel in the log there is only the driver's word that it is slow.
  if (!slowest && job.complaint !== "slow-after-refuel") return null;
  const found_s = secondsOf(settings);
  if (found_s !== null && !(found_s > patience_s)) return null;
  const after_s = display ? secondsOf({ ...settings, timeConstant_s: display.timeConstant_s }) : null;
  const seconds = (s: number) => (s < 120 ? `${fixed(s, 0)} s` : `${fixed(s / 60, 1)} min`);
  const takes = slowest
    ? found_s === null
      ? "The display does not show nine tenths of the refuel before the log ends"
      : `The display takes ${seconds(found_s)} to show nine tenths of a refuel`
    : `The display takes ${seconds(found_s!)} to show nine tenths of a refuel, by reckoning (the log holds none)`;
  const base = {
    trouble: "slow-after-refuel" as const,
    weight: (found_s ?? 10 * patience_s) / patience_s,
    figures: {
      shownAfter_s: found_s,
      shownAfterMended_s: after_s,
      timeConstant_s: settings.timeConstant_s,
      refuel_L: slowest?.refuel.rise_L ?? null,
    },
  };
  const rule = job.device.has.includes("refuel-rule");
  const withRule = rule
    ? "Set the device’s rule for refuelling: it follows a rise that stays at once."
    : "Only a device with a rule for refuelling, or one that starts anew from the reading when it is switched on, shows it sooner.";
  const its = `its ${setText(settings.timeConstant_s, "s")} of smoothing`;
  const mends = (s: number | null): s is number => s !== null && s <= quicker * (found_s ?? Number.POSITIVE_INFINITY);
  // A tenth of a refuel that lies within the deadband is never shown, however quick the smoothing.
  const narrow = display && slowest && settings.deadband_L > display.deadband_L ? display.deadband_L : null;
  const narrowed_s = narrow === null ? null : secondsOf({ ...settings, deadband_L: narrow });
  if (narrow !== null && mends(narrowed_s) && !(mends(after_s) && after_s <= narrowed_s))
    return {
      ...base,
      cause: "wide-deadband",
      figures: { ...base.figures, shownAfterMended_s: narrowed_s, deadband_L: settings.deadband_L },
      says: say`${takes}, because its deadband of ±\u00a0${litresSetTo(settings.deadband_L)} keeps it that far behind: with ±\u00a0${litresSetTo(narrow)} it takes ${seconds(narrowed_s)}.`,
      remedy: say`Give the display a deadband of ±\u00a0${litresSetTo(narrow)}, as the display leaf works out.`,
    };
  // What is left is smoothing: what is no later than its own time constant is something else.
  if (!(settings.timeConstant_s > 0)) return null;
  if (display && mends(after_s))
    return {
      ...base,
      cause: "slow-filter",
      says: `${takes}, because ${its} are more than this drive asks for: with ${setText(display.timeConstant_s, "s")} it takes ${seconds(after_s)}.`,
      remedy: `Smooth over ${setText(display.timeConstant_s, "s")}, as the display leaf works out.${after_s > patience_s ? ` ${withRule}` : ""}`,
    };
  // What the road asks for is no fault, unless the driver minds it.
  if (job.complaint !== "slow-after-refuel") return null;
  if (display && display.timeConstant_s < quicker * settings.timeConstant_s)
    return {
      ...base,
      cause: "unknown",
      says: `${takes}, and with ${setText(display.timeConstant_s, "s")} of smoothing ${after_s === null ? "it does not either" : `it still takes ${seconds(after_s)}`}.`,
      remedy:
        "Look at the sender’s reading in the log of the refuel: it may itself follow no quicker, or the log end too early.",
    };
  return {
    ...base,
    cause: "smoothing-that-is-needed",
    says: `${takes}, because ${its} follow no quicker${display ? `, and this drive asks for ${setText(display.timeConstant_s, "s")}: less would make it dance` : ""}.`,
    remedy: withRule,
  };
}

/** Where the trend rises: the burn trend does so in a refuel only. */
function refuelsOf(trend_L: Float64Array): Refuel[] {
  const found: Refuel[] = [];
  for (let i = 1; i < trend_L.length; i++) {
    if (!(trend_L[i]! - trend_L[i - 1]! > 1e-6)) continue;
    const last = found[found.length - 1];
    if (last && i - 1 <= last.to) {
      last.to = i;
      last.rise_L += trend_L[i]! - trend_L[i - 1]!;
    } else found.push({ from: i - 1, to: i, rise_L: trend_L[i]! - trend_L[i - 1]! });
  }
  return found;
}
