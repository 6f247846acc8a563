/**
 * Low fuel: when does the light come on? Warning and clear points from the reserve, the risk, lag, deadband and delay.
 *
 * `warn = reserve + z·u + b + τ·q + d + delay·q`, u without slosh: slosh lights it early, never late (methods part 9); b is what a
 * falling level on a service day shows too much. A device that smooths behind its table shows a moving level too high by what the table bends and
 * cuts off: that is added.
 */

import { type Answer, type Issue, ready, stuck } from "../answer";
import { fixed } from "../format";
import { normalProbability, normalQuantile } from "../math/distributions";
import { interpolateHeld } from "../math/interpolate";
import { type Said, say } from "../said";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../units";
import { believedDropouts, type DropoutLift, ofDropouts } from "./believed-dropouts";
import type { Choices } from "./choices";
import type { BelievedLimits } from "./circuit";
import { reserveLitres } from "./consumption";
import type { Curve } from "./curve-types";
import { heldAt } from "./deadband-in-volts";
import type { Display } from "./display";
import { type TooShort, tooShortForRates } from "./display-weigh";
import type { DriveLog } from "./drive-log";
import { liftBehind } from "./end-behind";
import { evenScale, motionSamples, movingOf, readingsOf, travelOf } from "./end-motion";
import { confirmingDelay_s, type FirstLight, firstLight, takenAtFirstLight_L } from "./first-light";
import { type Job, unusableOffset_L } from "./job";
import { lightAlwaysOn } from "./light-always-on";
import { litresTo, litresTyped } from "./litres";
import type { Noise } from "./noise";
import { shownNoise } from "./shown-noise";
import type { Table } from "./table";
import type { Trial } from "./trial";

export interface LowFuel {
  reserve_L: number;
  warnAtUsable_L: number;
  clearAtUsable_L: number | null;
  delay_s: number;
  falseAlarmsPerHour: number | null;
  /** True volume above which an alarm counts as false, usable litres. */
  falseAbove_L: number;
  parts: { part: string; value_L: number; why: Said }[];
  recommendedWarnAt_L: number;
  /** Chance that less than the reserve is left when the light first comes on, on a service day; what shakes behind the smoothing lights it early. */
  underReserveChance: number;
  /** What the recommended point would do: the same as above unless another one was chosen. */
  recommended: WarningEffect;
  overridden: boolean;
  risk: number;
  /** The log reached low levels, or the noise was carried over from higher ones. */
  evidence: "drive-log-low" | "drive-log-higher" | "fill-run";
  /** Burn that lag and delay were counted at, litres an hour; 0 where nothing tells it. */
  burn_L_per_h: number;
  /** Least usable volume that the sender can show. */
  lowestShown_L: number;
  /** What is reckoned with at the moment the light comes on; range left takes the same. */
  firstLight: FirstLight;
  /** Litres by which smoothing behind the table lifts what is shown at the warning; only of a device that does so, with a drive log. */
  behindTable_L?: number;
  /** Set where the log is too short to tell what a display does: how often the light would come on too early is then not known. */
  tooShort?: TooShort;
  /** What drop-outs that the device takes for fuel do to what is shown at the warning; only where the logs hold some and no fault limit is set. */
  dropouts?: DropoutLift;
  /** Set where the light would never go out: the most that the display shows, usable litres, at or under the warning. */
  alwaysOn?: { most_L: number };
}

/** What a warning point does to the driver. */
export interface WarningEffect {
  warnAtUsable_L: number;
  clearAtUsable_L: number | null;
  falseAlarmsPerHour: number | null;
  underReserveChance: number;
}

/** False alarms an hour that the clear point aims at. Named default, no source. */
const aimedFalseAlarmsPerHour = 0.1;

/** Standard uncertainty of the service-day volume at `volume_L` since the start. */
export function serviceStandardAt(curve: Curve, volume_L: number): number {
  const rows = [...curve.grid].sort((a, b) => a.serviceVolume_L - b.serviceVolume_L);
  const x: number[] = [];
  const y: number[] = [];
  for (const row of rows) {
    if (x.length > 0 && !(row.serviceVolume_L > x[x.length - 1]!)) {
      y[y.length - 1] = Math.max(y[y.length - 1]!, row.serviceStandard_L);
      continue;
    }
    x.push(row.serviceVolume_L);
    y.push(row.serviceStandard_L);
  }
  return interpolateHeld(x, y, volume_L);
}

/**
 * Litres by which the table, cut from the fill-day curve, stands above the service-day curve where it shows `volume_L`: on a falling
 * level the sender hangs back and shows more than there is. Never below 0: a warning is not lowered on a prior.
 */
export function serviceDayBelow_L(curve: Pick<Curve, "grid">, volume_L: number): number {
  const rows = [...curve.grid].sort((a, b) => a.volume_L - b.volume_L);
  const shown = rows.map((r) => r.volume_L);
  const below = rows.map((r) => r.volume_L - r.serviceVolume_L);
  return Math.max(0, interpolateHeld(shown, below, volume_L));
}

/** Litres in one display step; a percent needs the tank, else what the curve covers. */
export function displayStep_L(job: Job, full_L: number): number {
  const { displayUnit, displayStep } = job.device;
  const per =
    displayUnit === "percent"
      ? (job.tank.capacity_L ?? full_L) / 100
      : displayUnit === "USgal"
        ? LITRES_PER_USGAL
        : displayUnit === "impgal"
          ? LITRES_PER_IMPGAL
          : 1;
  return displayStep * per;
}

/** What smoothing behind the table adds where this volume is shown, litres since the start. */
function behindTable(
  curve: Curve,
  display: Display,
  table: Pick<Table, "rows">,
  logs: DriveLog[],
  job: Job,
): (volume_L: number) => number {
  const rows = [...table.rows].sort((a, b) => a.reading - b.reading);
  const at = {
    ...travelOf(curve),
    scale: evenScale(curve, job),
    samples: motionSamples(0, movingOf(logs, curve, { low: null, high: null }, job), curve, job, display.features, 1),
  };
  return (volume_L) => liftBehind(readingsOf(curve, Float64Array.of(volume_L))[0]!, rows, at);
}

/**
 * @param limits outside which a reading is a drop-out; null where none are known.
 * @returns stuck `low-fuel/no-consumption` or `low-fuel/units-differ` when the reserve has no litres; cautions where the
 *   sender cannot show the warning level, or the burn is not known.
 */
export function setWarning(
  curve: Curve,
  display: Display | null,
  noise: Noise | null,
  trial: Trial | null,
  logs: DriveLog[] | null,
  job: Job,
  choice: Choices["lowFuel"],
  table: Pick<Table, "rows"> | null = null,
  limits: BelievedLimits | null = null,
): Answer<LowFuel> {
  const volumes = curve.grid.map((g) => g.serviceVolume_L);
  const full_L = Math.max(...volumes);
  const lowest_L = Math.min(...volumes);
  const reserve = reserveLitres(job, job.tank.capacity_L ?? full_L);
  if ("issue" in reserve) return stuck(reserve.issue);
  const cautions: Issue[] = reserve.caution ? [reserve.caution] : [];
  const { reserve_L } = reserve;
  const risk = job.targets.runDryRisk;
  const z = normalQuantile(1 - risk);
  const offset = unusableOffset_L(job);

  const burn_L_per_h = Math.max(
    0,
    ...(logs ?? []).map((l) => l.burn_L_per_h),
    job.consumption.unit === "L/h" ? (job.consumption.mean ?? 0) : 0,
  );
  const burn_L_per_s = burn_L_per_h / 3600;
  const step_L = displayStep_L(job, full_L);
  const heldAt_L = heldAt(display, curve, job);
  const anyLight = firstLight(display, noise, trial, job, burn_L_per_s, step_L);
  const lightAt = (at_L: number): FirstLight => ({ ...anyLight, deadband_L: heldAt_L(at_L + offset.offset_L) });
  const { lag_L, delay_L, turning_L } = anyLight;
  const behindAt =
    display?.order === "table-then-filter" && table && logs ? behindTable(curve, display, table, logs, job) : null;

  // The uncertainty belongs to the level at which the light comes on, which it raises itself: a few rounds settle it.
  let slow_L = 0;
  let below_L = 0;
  let deadband_L = 0;
  let behind_L = 0;
  let warn = reserve_L;
  // At the reserve already: the lower the level, the further a drop-out to full lifts it.
  const dropouts =
    display && table && logs && limits
      ? believedDropouts(display, table, logs, limits, job, {
          volume_L: reserve_L + offset.offset_L,
          burn_L_per_s,
          total_L: full_L,
          z,
        })
      : null;
  // Where they are too large to promise anything the point is reckoned as for a sound contact, and said so.
  const counted = dropouts && !dropouts.tooLate ? dropouts : null;
  let unknown_L = 0;
  for (let round = 0; round < 20; round++) {
    slow_L = Math.hypot(serviceStandardAt(curve, warn + offset.offset_L), offset.standard_L);
    below_L = serviceDayBelow_L(curve, warn + offset.offset_L);
    deadband_L = heldAt_L(warn + offset.offset_L);
    if (behindAt) behind_L = behindAt(warn + offset.offset_L);
    unknown_L = Math.hypot(slow_L, counted?.lateStandard_L ?? 0);
    warn =
      reserve_L +
      z * unknown_L +
      below_L +
      lag_L +
      deadband_L +
      delay_L +
      turning_L +
      behind_L +
      (counted?.late_L ?? 0);
  }
  const parts: LowFuel["parts"] = [
    { part: "reserve", value_L: reserve_L, why: "what must be left, as stated" },
    {
      part: "what is not known of the level",
      value_L: z * slow_L,
      why: say`${fixed(z, 2)} standard uncertainties of ${litresTo(slow_L, 2)} on a service day: risk ${fixed(100 * risk, 1)} %`,
    },
    {
      part: "falling level, on a service day",
      value_L: below_L,
      why: "the table is of a rising level; on a falling one the sender shows this much more than there is",
    },
    { part: "lag of the smoothing", value_L: lag_L, why: "time constant times burn" },
    { part: "deadband", value_L: deadband_L, why: "on a falling level the display stands this much high" },
    { part: "confirming delay", value_L: delay_L, why: "delay times burn, in full" },
  ];
  if (turning_L > 0)
    parts.push({ part: "turning course", value_L: turning_L, why: "the course of the log reads high on average" });
  if (counted) {
    parts.push({
      part: "drop-outs taken for fuel",
      value_L: counted.late_L + z * (unknown_L - slow_L),
      why: say`${counted.dropouts} on the logs, laid over a level that falls through the warning: they lift what is shown by ${litresTo(counted.late_L, 2)} on average then, with a standard uncertainty of ${litresTo(counted.lateStandard_L, 2)}`,
    });
  }
  if (behindAt)
    parts.push({
      part: "smoothing behind the table",
      value_L: behind_L,
      why: "the bend of the table, and what its end row cuts off before it is smoothed, lift the mean of a moving level by this much",
    });

  const lowestShown_L = lowest_L - offset.offset_L;
  if (warn < lowestShown_L) {
    parts.push({
      part: "the sender’s lower stop",
      value_L: lowestShown_L - warn,
      why: "below this the reading stands still, so no light can follow it",
    });
    cautions.push({
      code: "low-fuel/under-the-stop",
      says: say`The sender shows nothing under ${litresTo(lowestShown_L, 1)} usable, so the light must come on there already.`,
      remedy: "Lower the sender in the tank, or keep a larger reserve.",
      weight: "note",
    });
    warn = lowestShown_L;
  }
  // Rounded up in the figure that is typed, which carries the display's base.
  const base = job.device.shows === "usable" ? 0 : offset.offset_L;
  const typedAt = (usable_L: number) => Math.ceil((usable_L + base) / step_L - 1e-9) * step_L - base;
  const recommended = typedAt(warn);
  const overridden = choice.warnAtUsable_L !== null;
  // A point of the user's own is typed in the same steps: all that is said is of what the device is given.
  const warnAtUsable_L = choice.warnAtUsable_L === null ? recommended : typedAt(choice.warnAtUsable_L);
  // What the device compares is held at the table's fullest row.
  const most_L = (table ? Math.max(...table.rows.map((r) => r.volume_L)) : full_L) - offset.offset_L;
  const alwaysOn = warnAtUsable_L >= most_L - 1e-9;
  if (alwaysOn) cautions.push(lightAlwaysOn(warn, { warnAtUsable_L, overridden, parts }, most_L, job));
  const shown = shownNoise(display, noise, trial);
  const band_L = shown
    ? Math.max(
        shown.sd_L * Math.sqrt(2 * Math.log(Math.max(1.0001, (3600 * shown.rate_Hz) / aimedFalseAlarmsPerHour))),
        2.33 * shown.sd_L,
        step_L,
      )
    : Math.max(step_L, 0.02 * full_L);
  // A light that clears over the most that is shown would stay on after every refuel: then at the highest step under that, if it lies over the warning.
  const clearFor = (at_L: number) => {
    const wanted = Math.ceil((at_L + band_L + base) / step_L - 1e-9) * step_L - base;
    const highest = (Math.ceil((most_L + base) / step_L - 1e-9) - 1) * step_L - base;
    return wanted > highest && highest > at_L + 1e-9 ? highest : wanted;
  };
  const effectOf = (at_L: number): WarningEffect => {
    const margin = clearFor(at_L) - at_L;
    const spread_L = Math.hypot(
      serviceStandardAt(curve, at_L + offset.offset_L),
      offset.standard_L,
      anyLight.turningStandard_L,
      anyLight.motionStandard_L,
      dropouts?.lateStandard_L ?? 0,
    );
    // What is over the reserve once the falling level, lag, deadband, delay and turning have taken their part, and the shaking has given its own:
    // the warning point leaves that out, the chance does not.
    const taken_L =
      takenAtFirstLight_L(lightAt(at_L)) + (behindAt ? behindAt(at_L + offset.offset_L) : 0) + (dropouts?.late_L ?? 0);
    const spare_L = at_L - reserve_L - serviceDayBelow_L(curve, at_L + offset.offset_L) - taken_L;
    return {
      warnAtUsable_L: at_L,
      clearAtUsable_L: job.device.warning.canClear ? clearFor(at_L) : null,
      falseAlarmsPerHour:
        shown && shown.sd_L > 0
          ? 3600 * shown.rate_Hz * Math.exp(-(margin * margin) / (2 * shown.sd_L * shown.sd_L))
          : shown
            ? 0
            : null,
      underReserveChance: spread_L > 0 ? normalProbability(-spare_L / spread_L) : spare_L < 0 ? 1 : 0,
    };
  };
  const effect = effectOf(warnAtUsable_L);
  if (overridden && warnAtUsable_L < warn - 1e-9 && effect.underReserveChance > risk)
    cautions.push({
      code: "low-fuel/under-the-risk",
      says: say`You chose ${litresTyped(warnAtUsable_L, 1)}: the chance of less than the reserve at the first light is then ${fixed(100 * effect.underReserveChance, 1)} %, over the ${fixed(100 * risk, 1)} % that you allow.`,
      weight: "holds-if",
      condition: "the lower warning is meant",
    });
  if (dropouts) cautions.push(ofDropouts(dropouts));
  const tooShort = tooShortForRates(display?.byLog ?? []);
  const low = (logs ?? []).some((l) => Math.min(l.from_L, l.to_L) - offset.offset_L <= 1.5 * warnAtUsable_L);
  if (burn_L_per_h === 0 && display)
    cautions.push({
      code: "low-fuel/no-burn",
      says: "Neither the log nor the job tells the burn, so lag and delay cost nothing here.",
      remedy: "State the consumption in litres an hour, or bring in a log on which the level falls.",
      weight: "note",
    });
  return ready(
    {
      reserve_L,
      ...effect,
      delay_s: confirmingDelay_s(display, job),
      falseAbove_L: clearFor(warnAtUsable_L),
      parts,
      recommendedWarnAt_L: recommended,
      recommended: overridden ? effectOf(recommended) : effect,
      overridden,
      risk,
      evidence: !logs || logs.length === 0 ? "fill-run" : low ? "drive-log-low" : "drive-log-higher",
      burn_L_per_h,
      lowestShown_L,
      firstLight: lightAt(warnAtUsable_L),
      ...(behindAt && { behindTable_L: behindAt(warnAtUsable_L + offset.offset_L) }),
      ...(tooShort && { tooShort }),
      ...(dropouts && { dropouts }),
      ...(alwaysOn && { alwaysOn: { most_L } }),
    },
    cautions,
  );
}
