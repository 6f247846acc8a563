/** Complaint: the display dances under way, in the middle of the table as anywhere. */

import { fixed, setText } from "../format";
import { type Said, say } from "../said";
import type { Cause } from "./complaint";
import {
  dropoutsOf,
  dropoutText,
  dropsOut,
  type FoundDevice,
  holdingLastGood,
  limitsRemedy,
  mends,
  minutesIn,
  minutesText,
  mostly,
  mostlySpikes,
  settingText,
  smoothed,
  smoothingText,
  spikeRemedy,
  spikesIn,
  spikeText,
  withoutSpikes,
} from "./complaint-device";
import { steadiness } from "./device-counts";
import { type DeviceSettings, replay } from "./device-model";
import type { Display } from "./display";
import type { Job } from "./job";
import { litresSetTo } from "./litres";

/** Where nobody complains of it, a display that turns round less than twice as often as is wanted does not dance yet. Named default, no source. */
const clearly = 2;

/**
 * Dance: the shown digits turn round under way clearly more often than is wanted. One thing after the other is mended and the log replayed: drop-outs
 * and spikes left out, a deadband, more smoothing, both. Null where it does not.
 */
export function dancesUnderWay(device: FoundDevice, display: Display | null, job: Job): Cause | null {
  const { settings } = device;
  const minutes = minutesIn(device).driven;
  const wanted = job.targets.displayReversalsPerMinute;
  if (device.records.length === 0) return null;
  const rateOf = (changed: DeviceSettings, records = device.records) => {
    let reversals = 0;
    for (const { record } of records) reversals += steadiness(replay(record, changed).shown_L, record).reversals;
    return reversals / minutes;
  };
  const found = rateOf(settings);
  if (!(found > (job.complaint === "dances" ? 1 : clearly) * wanted)) return null;
  const calm = (left: number | null): left is number => left !== null && left <= wanted;
  const mainly = (left: number | null): left is number => left !== null && (calm(left) || left <= mostly * found);
  const rate = (perMinute: number) => fixed(perMinute, perMinute < 9.95 ? 1 : 0);
  const turns = `The display turns round ${rate(found)} times a minute in ${minutesText(minutes)} of driving`;
  const then = (left: number) => (left === 0 ? "it never does" : `it does so ${rate(left)} times a minute`);
  const dropouts = dropoutsOf(device);
  const cause = (name: string, left: number | null, why: Said, remedy: Said): Cause => ({
    trouble: "dances",
    cause: name,
    weight: found / wanted,
    figures: {
      reversalsPerMinute: found,
      reversalsPerMinuteMended: left,
      minutes,
      dropouts,
      timeConstant_s: settings.timeConstant_s,
      deadband_L: settings.deadband_L,
    },
    says: say`${turns}${why}.`,
    remedy,
  });

  const holding = holdingLastGood(device);
  const dropoutCause = (): Cause | null => {
    const held = dropsOut(device) ? rateOf(holding.settings, holding.records) : null;
    return mainly(held)
      ? cause(
          "dropouts",
          held,
          `, ${dropoutText(device)}. With the last good reading held meanwhile ${then(held)}`,
          limitsRemedy(device, job),
        )
      : null;
  };
  const spikeCause = (): Cause | null => {
    const unspiked = spikesIn(device) > 0 ? rateOf(withoutSpikes(settings)) : null;
    // A median calms small noise too: only where so many spikes were marked is it they that the display follows.
    return unspiked !== null && unspiked <= mostly * found && spikesIn(device) >= 0.3 * found * minutes
      ? cause("spikes", unspiked, `, ${spikeText(device)} ${then(unspiked)}`, spikeRemedy(job))
      : null;
  };
  const line = mostlySpikes(device) ? (spikeCause() ?? dropoutCause()) : (dropoutCause() ?? spikeCause());
  if (line) return line;
  if (!display)
    return cause(
      "unknown",
      null,
      ", and this log is not enough to work out what holds it still",
      "Bring ten minutes of driving or more.",
    );
  const quick = settings.timeConstant_s < 0.7 * display.timeConstant_s;
  const narrow = settings.deadband_L < 0.7 * display.deadband_L;
  const banded = narrow ? rateOf({ ...settings, deadband_L: display.deadband_L }) : null;
  const band = say`a deadband of ±\u00a0${litresSetTo(display.deadband_L)}`;
  const found_L =
    settings.deadband_L > 0
      ? say`its deadband of ±\u00a0${litresSetTo(settings.deadband_L)} is narrower than what shakes the digit`
      : "no deadband holds a digit between two steps";
  if (calm(banded))
    return cause(
      settings.deadband_L > 0 ? "narrow-deadband" : "no-deadband",
      banded,
      say`, because ${found_L}: with ${band} and its own ${smoothingText(settings.timeConstant_s)} ${then(banded)}`,
      say`Give the display ${band}.`,
    );
  const slower = quick ? rateOf({ ...settings, timeConstant_s: display.timeConstant_s }) : null;
  const tooQuick =
    settings.timeConstant_s > 0
      ? `${setText(settings.timeConstant_s, "s")} of smoothing are too quick for what the fuel does`
      : "nothing smooths what the fuel does";
  if (calm(slower))
    return cause(
      "quick-filter",
      slower,
      `, because ${tooQuick}: with ${setText(display.timeConstant_s, "s")} ${then(slower)}`,
      `Smooth over ${setText(display.timeConstant_s, "s")}, as the display leaf works out.`,
    );
  const both = rateOf(smoothed(settings, display));
  if (calm(both) || both <= mends * found)
    return cause(
      "quick-filter-and-deadband",
      both,
      say`, because ${tooQuick} and ${found_L}: with ${settingText(display)} ${then(both)}`,
      "Smooth more and give the display a deadband, as the display leaf works out.",
    );
  return cause(
    "unknown",
    null,
    say`, and with ${settingText(display)} ${then(both)} still`,
    "Look at the noise leaf for what moves the reading: no setting of this device holds it still.",
  );
}
