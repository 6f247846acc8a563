/** Display: what holds the reading still, and at what delay? Time constant and deadband together, by replay of the log. */

import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import { cutoffOf, smoothingFactor } from "../math/filter";
import { say } from "../said";
import type { Choices } from "./choices";
import type { BelievedLimits } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import { deadbandInVolts, heldVolts, litresPerVolt, tableInVolts } from "./deadband-in-volts";
import { steadiness } from "./device-counts";
import { type Features, quick_s } from "./device-features";
import { askedDeadband, askedSmoothing, deadbands, snapTimeConstant, timeConstants } from "./device-lattice";
import { type DeviceSettings, type Order, replay } from "./device-model";
import { minutesOf } from "./device-record";
import { createEndFlickers, type EndsFrom } from "./display-ends";
import { type Picked, pickPair } from "./display-pick";
import { type OrderDifference, orderDifference, type SwitchOn, switchOn } from "./display-start";
import { slowEnough } from "./display-unseen";
import {
  createWeigher,
  type DisplayGround,
  type DisplaySetting,
  displayGround,
  halfWidth,
  type LogSteadiness,
  steadinessOf,
  type TooShort,
  tooShortIssue,
  tooShortToTell,
  type Weighed,
} from "./display-weigh";
import { type DriveLog, tenMinutes_s } from "./drive-log";
import { type FeatureTrial, tryFeatures } from "./feature-trial";
import type { Feature, Job } from "./job";
import { litresTyped } from "./litres";
import type { Noise } from "./noise";

export interface Display extends DisplaySetting {
  smoothingFactor: number;
  rate_Hz: number;
  cutoff_Hz: number;
  deadbandKind: "play" | "jump";
  /** In the unit and step in which the device asks. */
  asked: {
    smoothing: number;
    smoothingUnit: "seconds" | "factor" | "cutoff" | "samples" | "none";
    deadband: number;
    deadbandUnit: "L" | "percent" | "V";
  };
  /** What was replayed, as the job states it; and how far both orders are apart. */
  order: Order;
  orderDifference: OrderDifference;
  switchOn: SwitchOn;
  /** Litres of one displayed step. */
  displayStep_L: number;
  uses: Feature[];
  /** Set beside smoothing and deadband, of what the device has; and what each of them buys on this log. */
  features: Features;
  featureTrials: FeatureTrial[];
  /** Steadiness of the bare reading and of a 1 s filter, for comparison. */
  bare: ReturnType<typeof steadinessOf>;
  oneSecond: ReturnType<typeof steadinessOf>;
  /** The chosen pair on each log by itself: it must hold for all of them. */
  byLog: LogSteadiness[];
  /** Minutes of all logs in which the vehicle moves, over which turns and digit changes are counted, and in which it is parked. */
  minutes: number;
  parkedMinutes: number;
  /** The whole trade: one line a deadband. */
  trade: {
    deadband_L: number;
    points: { timeConstant_s: number; reversalsPerMinute: number; digitChangesPerMinute: number; lag_L: number }[];
  }[];
  /** Deadbands offered with the least smoothing that each needs (null: none in the device's range does it). */
  options: { deadband_L: number; timeConstant_s: number | null }[];
  recommended: DisplaySetting;
  overridden: boolean;
  /** Whether the wanted steadiness and the lag limit are both met; false where a log is too short to tell. */
  met: boolean;
  tooShort: TooShort | null;
  nearest: { steady: DisplaySetting | null; quick: DisplaySetting | null } | null;
}

/**
 * Chooses time constant and deadband together.
 *
 * Every pair of the device's own lattice (thinned) is replayed on all logs with the curve as the table. Of the pairs that hold the wanted
 * steadiness with room for the count's own spread, those that hardly turn back while the level passes an end are kept, and of these the one
 * with the least error is taken, as it is to be expected on a long drive of a service day (`display-error.ts`): a falling level reads high by
 * half the sender's loop, and lag and deadband add to that. Where the ends of the sender are known, it is moreover the first whose motion,
 * carried to both ends with the margins and the table that would be typed for it, flickers there no more than wanted.
 *
 * @param endsFrom what the ends stand on; null without a fill run: then nothing is carried to them.
 * @returns never stuck once there is noise; caution `display/not-met` when steadiness and lag cannot both be had: the first sentence says so.
 */
export function chooseDisplay(
  logs: DriveLog[],
  noise: Pick<Noise, "turningBias_L">,
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: Pick<Job, "tank" | "fill" | "circuit" | "device" | "targets">,
  choice: Choices["display"],
  endsFrom: EndsFrom | null = null,
): Answer<Display> {
  const { device, targets } = job;
  const ground = displayGround(logs, curve, limits, job);
  const { shown, total_L, interval_s, faults } = ground;
  const volts = device.deadband.unit === "V" ? tableInVolts(curve, job) : null;
  const perVolt_L = volts && litresPerVolt(volts);
  const uses: Feature[] = faults ? ["fault-limits"] : [];
  const weigher = createWeigher(ground, curve, job);
  const bands = deadbands(job, total_L, perVolt_L, shown.step_L);
  const inVolts = (deadband_L: number) => {
    const said = deadbandInVolts(deadband_L, device.deadband.unit, volts);
    return said ? [said] : [];
  };
  const grid = timeConstants(job, interval_s).flatMap((t) => bands.map((d) => weigher.weigh(t, d)));
  const seen = slowEnough(grid, logs, shown.step_L, targets.maxLag_s);
  const atEnds = endsFrom ? createEndFlickers(endsFrom, noise, logs, limits, job, uses) : null;
  const picked = pickPair(grid, seen.pairs, targets, shown.step_L, atEnds, ground.order);
  const { recommended, met } = picked;
  const overridden = choice.timeConstant_s !== null || choice.deadband_L !== null;
  const chosen = overridden
    ? weigher.weigh(
        snapTimeConstant(choice.timeConstant_s ?? recommended.timeConstant_s, job, interval_s),
        // What was chosen in litres cannot be typed where nobody knows the volts.
        device.deadband.unit === "V" && !volts ? 0 : (choice.deadband_L ?? recommended.deadband_L),
      )
    : recommended;
  const typedDeadband = askedDeadband(chosen.deadband_L, job, total_L, perVolt_L);
  const set: DeviceSettings = {
    order: ground.order,
    timeConstant_s: chosen.timeConstant_s,
    deadband_L: chosen.deadband_L,
    deadbandKind: "play",
    faultLimits: faults,
    table: ground.table,
    shown,
    holds: heldVolts({ litres: chosen.deadband_L, volts: typedDeadband }, curve.readingUnit, job),
  };
  const extra = tryFeatures(ground.records, device.has, set, ground.burn_L_per_s, total_L);
  const lengths = ground.records.map(minutesOf);
  const minutes = lengths.reduce((sum, l) => sum + l.driven, 0);
  for (const t of extra.trials) if (t.taken && !uses.includes(t.feature)) uses.push(t.feature);
  const after = extra.trials.filter((t) => t.taken && t.feature !== "fault-limits").at(-1);
  const byLog = after ? replayedByLog(ground, { ...set, features: extra.features }) : weigher.byLog(chosen);
  const tooShort = tooShortToTell(byLog, targets.displayReversalsPerMinute);
  return ready(
    {
      ...setting(chosen),
      // What was counted with everything that is set.
      ...(after && {
        reversalsPerMinute: after.with.reversalsPerMinute,
        reversalsHalfWidth: halfWidth(after.with.reversalsPerMinute * minutes, minutes),
        digitChangesPerMinute: after.with.digitChangesPerMinute,
        rmsError_L: after.with.rmsError_L,
      }),
      ...(extra.features.refuel && { refuel90_s: extra.features.refuel.seconds + Math.LN10 * quick_s }),
      ...(extra.features.rateLimit_L_per_s !== null &&
        !extra.features.refuel && {
          refuel90_s: Math.LN10 * chosen.timeConstant_s + (0.9 * total_L) / 2 / extra.features.rateLimit_L_per_s,
        }),
      features: extra.features,
      featureTrials: extra.trials,
      smoothingFactor: smoothingFactor(chosen.timeConstant_s, interval_s),
      rate_Hz: device.rate_Hz,
      cutoff_Hz: chosen.timeConstant_s > 0 ? cutoffOf(chosen.timeConstant_s) : device.rate_Hz / 2,
      deadbandKind: "play",
      asked: {
        ...askedSmoothing(chosen.timeConstant_s, job, interval_s),
        deadband: typedDeadband,
        deadbandUnit: device.deadband.unit,
      },
      order: ground.order,
      orderDifference: orderDifference(ground.records, ground.believed, ground.table, chosen.timeConstant_s),
      switchOn: switchOn(
        ground.records,
        ground.believed,
        ground.table,
        chosen.timeConstant_s,
        shown.step_L,
        ground.order,
      ),
      displayStep_L: shown.step_L,
      uses,
      bare: steadinessOf(ground, 0),
      oneSecond: steadinessOf(ground, 1),
      byLog,
      minutes,
      parkedMinutes: lengths.reduce((sum, l) => sum + l.parked, 0),
      ...tradeOf(grid, bands, targets.displayReversalsPerMinute),
      recommended: setting(recommended),
      overridden,
      met: met && !tooShort,
      tooShort,
      nearest:
        met || tooShort
          ? null
          : { steady: picked.steady && setting(picked.steady), quick: picked.quick && setting(picked.quick) },
    },
    [...seen.cautions, ...inVolts(chosen.deadband_L), ...cautionsOf(chosen, picked, ground, targets, tooShort)],
  );
}

/** Turns on each log by itself, with everything that is set. */
const replayedByLog = ({ logs, records }: DisplayGround, set: DeviceSettings): Display["byLog"] =>
  records.map((record, k) => {
    const { reversals, minutes, parkedMinutes } = steadiness(replay(record, set).shown_L, record);
    return { file: logs[k]!.file, minutes, parkedMinutes, reversalsPerMinute: reversals / minutes };
  });

const setting = ({ expected_L: _expected_L, upper: _upper, perPass: _perPass, ...rest }: Weighed): DisplaySetting =>
  rest;

/** The whole trade, one line a deadband, and the least smoothing with which each holds the display still. */
function tradeOf(grid: Weighed[], bands: number[], reversalsPerMinute: number): Pick<Display, "trade" | "options"> {
  const lines = bands.map((deadband_L) => ({ deadband_L, pairs: grid.filter((g) => g.deadband_L === deadband_L) }));
  return {
    trade: lines.map(({ deadband_L, pairs }) => ({
      deadband_L,
      points: pairs.map(({ timeConstant_s, reversalsPerMinute, digitChangesPerMinute, lag_L }) => ({
        timeConstant_s,
        reversalsPerMinute,
        digitChangesPerMinute,
        lag_L,
      })),
    })),
    options: lines.map(({ deadband_L, pairs }) => {
      const steady = pairs.filter((g) => g.upper <= reversalsPerMinute).map((g) => g.timeConstant_s);
      return { deadband_L, timeConstant_s: steady.length > 0 ? Math.min(...steady) : null };
    }),
  };
}

function cautionsOf(
  chosen: DisplaySetting,
  picked: Picked,
  ground: DisplayGround,
  targets: Job["targets"],
  tooShort: TooShort | null,
): Issue[] {
  const { recommended } = picked;
  const wanted = targets.displayReversalsPerMinute;
  const cautions: Issue[] = [];
  if (tooShort) cautions.push(tooShortIssue("display/too-short", tooShort, wanted));
  else if (!picked.met)
    cautions.push({
      code: "display/not-met",
      says: picked.steady
        ? `At most ${wanted} reversals a minute and a lag of at most ${targets.maxLag_s} s cannot both be had: the steady setting needs ${fixed(recommended.timeConstant_s, 1)} s.`
        : `No setting in the device’s range holds ${wanted} reversals a minute on this log.`,
      remedy: "Allow more lag, a larger displayed step, or mend what makes the noise (baffle, damping, wiring).",
      weight: "doubtful",
    });
  if (chosen.deadband_L >= 0.5 * ground.shown.step_L)
    cautions.push({
      code: "display/wide-deadband",
      says: say`A deadband of ${litresTyped(chosen.deadband_L, 1)} is half a displayed step or more: run down, the display stops as much over empty and never shows 0; filled, it stops as much short of full.`,
      remedy: "Allow more lag, then a narrower deadband will do.",
      weight: "doubtful",
    });
  const logged_s = ground.logs.reduce((s, l) => s + l.duration_s, 0);
  if (logged_s < tenMinutes_s && !tooShort)
    cautions.push({
      code: "display/short-log",
      says: `The logs last ${logged_s < 120 ? `${fixed(logged_s, 0)} s` : `${fixed(logged_s / 60, 1)} min`} in all: the counts are rough.`,
      remedy: "Bring ten minutes or more.",
      weight: "holds-if",
      condition: "other drives are like this short log",
    });
  return cautions;
}
