/** Measures the typed settings on fresh drives of the same tank: steadiness, error, flicker at the ends, the warning. */
import { freshDrive, type WorldJob } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { unusableOffset_L } from "../../src/pipeline/job";
import type { Settings } from "../../src/pipeline/settings";
import { type EndsScore, measureEnds } from "./measure-ends";
import { twoPoints } from "./naive";
import { bestPossible, type Oracle } from "./oracle";
import type { PipelineRun } from "./pipeline-run";
import { deviceFrom, litresInUnit, runDevice } from "./replay";
import { countChanges, rms } from "./score";

export interface RoadScore {
  minutes: number;
  timeConstant_s: number | null;
  deadband_L: number | null;
  reversalsPerMinute: number;
  digitChangesPerMinute: number;
  /** Two points in volts with a 1 s filter on the same drive. */
  naiveReversalsPerMinute: number;
  /** Shown less true, percent of capacity: root mean square and mean. */
  shownRms: number;
  shownMean: number;
  naiveShownRms: number;
  promisedReversals: number | null;
  ends: EndsScore;
  /** Whether the sender's own ends can be told from a short and from an open wire. */
  endsTold: boolean;
  /** Chance as told that 0 has come up when the pick-up runs dry. */
  zeroInTimeTold: number | null;
  /** Best that any time constant and deadband could do on this very drive. */
  oracle: Oracle | null;
  /** Dry tank: does the display show its low end? */
  showsEmpty: boolean;
  low: {
    drives: number;
    /** True usable litres when the light first came on, one a drive; none if it never did. */
    usableAtWarning_L: number[];
    late: number;
    missed: number;
    falseAlarmsPerHour: number | null;
  } | null;
}

export function measureRoad(world: WorldJob, run: PipelineRun, minutes: number): RoadScore | null {
  const { truth } = world;
  const settings = valueIn(run.answers.settings);
  const display = valueIn(run.answers.display);
  const job = valueIn(run.answers.job);
  const lowFuel = valueIn(run.answers.lowFuel);
  if (!settings || !job || !display) return null;
  const capacity_L = job.tank.capacity_L ?? truth.tank.capacity_L;
  const device = deviceFrom(settings, display.order, {
    capacity_L,
    rate_Hz: job.device.rate_Hz,
    displayUnit: job.device.displayUnit,
    displayStep: job.device.displayStep,
  });
  const base_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
  const percent = (litres: number) => (100 * litres) / truth.tank.capacity_L;
  const fresh = freshDrive(truth, 1, minutes);
  const shown = runDevice(device, fresh.reading, fresh.record.across_g);
  const changes = countChanges(shown.shown_L);
  const off = shown.shown_L.map((v, i) => v + base_L - fresh.added_L[i]!);
  const naive = runDevice(
    {
      ...device,
      table: twoPoints(truth.record.steps),
      factor: 1 - Math.exp(-1 / truth.deviceRate_Hz),
      deadband_L: 0,
      faultLow: Number.NEGATIVE_INFINITY,
      faultHigh: Number.POSITIVE_INFINITY,
      features: { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null },
    },
    fresh.reading,
  );
  const circuit = valueIn(run.answers.circuit);
  return {
    minutes,
    timeConstant_s: display.timeConstant_s,
    deadband_L: display.deadband_L,
    reversalsPerMinute: changes.reversals / minutes,
    digitChangesPerMinute: changes.changes / minutes,
    naiveReversalsPerMinute: countChanges(naive.shown_L).reversals / minutes,
    shownRms: percent(rms(off)),
    shownMean: percent(off.reduce((a, b) => a + b, 0) / off.length),
    naiveShownRms: percent(rms(naive.shown_L.map((v, i) => v - fresh.added_L[i]!))),
    promisedReversals: display.reversalsPerMinute,
    ends: measureEnds(world, device),
    endsTold: circuit !== null && circuit.faultLow !== null && circuit.faultHigh !== null,
    zeroInTimeTold: valueIn(run.answers.ends)?.empty.zeroInTime ?? null,
    oracle: bestPossible(
      device,
      fresh.reading,
      fresh.added_L.map((v) => v - base_L),
      { rate_Hz: truth.deviceRate_Hz, reversalsPerMinute: job.targets.displayReversalsPerMinute },
    ),
    ...measureLow(world, device, lowFuel, warningFrom(settings, capacity_L)),
  };
}

interface Warning {
  at_L: number;
  clear_L: number;
  delay_s: number;
}

/**
 * Runs the light along a drive. An alarm is false with the true volume over the clear point, as the contract says; a light that came on early and
 * still burns is no late one: from the clear point on it has warned.
 * @param usable_L true usable litres at each sample. @returns those when the light first came on, null if it never did, and the false alarms.
 */
export function runLight(
  dragged_L: Float64Array,
  usable_L: Float64Array,
  warning: Warning,
  falseAbove_L: number,
  rate_Hz: number,
): { first_L: number | null; falseAlarms: number } {
  const delay = Math.max(1, Math.round(warning.delay_s * rate_Hz));
  let under = 0;
  let on = false;
  let falseAlarms = 0;
  let first_L: number | null = null;
  for (let i = 0; i < dragged_L.length; i++) {
    const usable = usable_L[i]!;
    under = dragged_L[i]! <= warning.at_L ? under + 1 : 0;
    if (!on && under >= delay) {
      on = true;
      if (usable > falseAbove_L) falseAlarms++;
    } else if (on && dragged_L[i]! > warning.clear_L) on = false;
    if (on && first_L === null && usable <= falseAbove_L) first_L = usable;
  }
  return { first_L, falseAlarms };
}

/** The typed warning in litres of the shown volume, rounded as it was typed. */
export function warningFrom(settings: Settings, capacity_L: number): Warning | null {
  const typed = settings.warning;
  if (!typed) return null;
  const litres = litresInUnit(typed.unit, capacity_L);
  return { at_L: typed.at * litres, clear_L: (typed.clear ?? typed.at) * litres, delay_s: typed.delay_s ?? 0 };
}

function measureLow(
  world: WorldJob,
  device: ReturnType<typeof deviceFrom>,
  lowFuel: { warnAtUsable_L: number; clearAtUsable_L: number | null; delay_s: number; reserve_L: number } | null,
  warning: Warning | null,
): Pick<RoadScore, "low" | "showsEmpty"> {
  const { truth } = world;
  const drives = 3;
  const low: NonNullable<RoadScore["low"]> = {
    drives,
    usableAtWarning_L: [],
    late: 0,
    missed: 0,
    falseAlarmsPerHour: null,
  };
  let falseAlarms = 0;
  let highHours = 0;
  let showsEmpty = true;
  // From a tenth of the tank over the warning until a tenth of an hour after the pick-up runs dry.
  const start_L =
    truth.unusable_L + (lowFuel?.warnAtUsable_L ?? 0.1 * truth.tank.capacity_L) + 0.07 * truth.tank.capacity_L;
  const minutes = Math.min(150, (60 * (start_L - truth.unusable_L)) / truth.drive.burn_L_per_h + 6);
  for (let d = 0; d < drives; d++) {
    const fresh = freshDrive(truth, 100 + d, minutes, { from: start_L / truth.tank.capacity_L });
    const shown = runDevice(device, fresh.reading, fresh.record.across_g);
    if (shown.shown_L[shown.shown_L.length - 1] !== shown.lowEnd_L) showsEmpty = false;
    if (!lowFuel || !warning) continue;
    const falseAbove_L = lowFuel.clearAtUsable_L ?? lowFuel.warnAtUsable_L;
    const usable_L = fresh.contents_L.map((c) => c - truth.unusable_L);
    for (const usable of usable_L) if (usable > falseAbove_L) highHours += 1 / (3600 * truth.deviceRate_Hz);
    const light = runLight(shown.dragged_L, usable_L, warning, falseAbove_L, truth.deviceRate_Hz);
    falseAlarms += light.falseAlarms;
    const first = light.first_L;
    if (first === null) low.missed++;
    else low.usableAtWarning_L.push(first);
    if (first === null || first < lowFuel.reserve_L) low.late++;
  }
  low.falseAlarmsPerHour = highHours > 0.05 ? falseAlarms / highHours : null;
  return { low: lowFuel && warning ? low : null, showsEmpty };
}
