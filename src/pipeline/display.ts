/** Display: what holds the reading still, and at what delay? Time constant and deadband together, by replay of the log. */
import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import {
  countChanges,
  cutoffOf,
  factorOfSamples,
  lowPass,
  play,
  samplesOf,
  smoothingFactor,
  timeConstantOf,
} from "../math/filter";
import type { Choices } from "./choices";
import type { Circuit } from "./circuit";
import type { VolumeByReading } from "./curve";
import { type Features, quick_s } from "./device-features";
import { atDeviceRate, believed, lookUp, shownAs, shownValue, steadiness } from "./device-model";
import type { DriveLog } from "./drive-log";
import { steepestEnd } from "./end-replay";
import { type FeatureTrial, tryFeatures } from "./feature-trial";
import type { Feature, Job } from "./job";
import type { Noise } from "./noise";

export interface DisplaySetting {
  timeConstant_s: number;
  deadband_L: number;
  /** Lag in litres at the log's burn, and seconds to show 90 % of a refuel. */
  lag_L: number;
  refuel90_s: number;
  reversalsPerMinute: number;
  /** Half-width of the 95 % interval of that count. */
  reversalsHalfWidth: number;
  digitChangesPerMinute: number;
  rmsError_L: number;
}

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
  order: "reading-then-table" | "table-then-filter";
  uses: Feature[];
  /** Set beside smoothing and deadband, of what the device has; and what each of them buys on this log. */
  features: Features;
  featureTrials: FeatureTrial[];
  /** Steadiness of the bare reading and of a 1 s filter, for comparison. */
  bare: { reversalsPerMinute: number; digitChangesPerMinute: number };
  oneSecond: { reversalsPerMinute: number; digitChangesPerMinute: number };
  /** The whole trade: one line a deadband. */
  trade: {
    deadband_L: number;
    points: { timeConstant_s: number; reversalsPerMinute: number; digitChangesPerMinute: number; lag_L: number }[];
  }[];
  /** Deadbands offered with the least smoothing that each needs (null: none in the device's range does it). */
  options: { deadband_L: number; timeConstant_s: number | null }[];
  recommended: DisplaySetting;
  overridden: boolean;
  /** Whether the wanted steadiness and the lag limit are both met. */
  met: boolean;
  nearest: { steady: DisplaySetting | null; quick: DisplaySetting | null } | null;
}

/** A setting with what it is chosen by: error expected on a service day, upper limit of the reversals, turns back in a pass of an end. */
type Weighed = DisplaySetting & { expected_L: number; upper: number; perPass: number };

/**
 * Chooses time constant and deadband together.
 *
 * Every pair of the device's own lattice (thinned) is replayed on all logs with the curve as the table. Of the pairs that hold the wanted
 * steadiness with room for the count's own spread, those that hardly turn back while the level passes an end are kept, and of these the one
 * with the least error is taken, as it is to be expected on a service day: a falling level reads high by half the sender's loop, and lag and
 * deadband add to that.
 *
 * @returns never stuck once there is noise; caution `display/not-met` when steadiness and lag cannot both be had: the first sentence says so.
 */
export function chooseDisplay(
  logs: DriveLog[],
  _noise: Noise,
  curve: VolumeByReading,
  circuit: Circuit | null,
  job: Job,
  choice: Choices["display"],
): Answer<Display> {
  const { device, targets } = job;
  const uses: Feature[] =
    device.has.includes("fault-limits") && circuit && (circuit.faultLow !== null || circuit.faultHigh !== null)
      ? ["fault-limits"]
      : [];
  const faults = uses.length > 0;
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const table = curve.grid.map((g) => ({ reading: g.reading, volume_L: g.volume_L }));
  const records = logs.map((l) =>
    atDeviceRate(l, device.rate_Hz, circuit?.faultLow ?? null, circuit?.faultHigh ?? null),
  );
  const believedReadings = records.map((r) => believed(r, faults));
  const burn_L_per_s = Math.max(...logs.map((l) => l.burn_L_per_h)) / 3600;
  const interval_s = 1 / device.rate_Hz;
  // Turns of the digits go with the square of the motion in litres (σ²/(2d²τ), methods part 8): it may be larger at an end than on the log.
  const steeper = steepestEnd(logs, curve, job) ** 2;
  // On a service day the level falls: what is read then stands this much higher than what is there (0 for a table found in a device).
  const middle = curve.grid[curve.grid.length >> 1]!;
  const high_L = middle.volume_L - (middle.serviceVolume_L ?? middle.volume_L);
  const slope = total_L / Math.abs(curve.grid[curve.grid.length - 1]!.reading - curve.grid[0]!.reading);

  const filteredFor = new Map<number, Float64Array[]>();
  const volumes = (timeConstant_s: number): Float64Array[] => {
    const kept = filteredFor.get(timeConstant_s);
    if (kept) return kept;
    const made = believedReadings.map((r) => lookUp(table, lowPass(r, smoothingFactor(timeConstant_s, interval_s))));
    filteredFor.set(timeConstant_s, made);
    return made;
  };
  const rate = (timeConstant_s: number, deadband_L: number): Weighed => {
    let minutes = 0;
    let reversals = 0;
    let changes = 0;
    let squares = 0;
    let n = 0;
    let worst = 0;
    let turns = 0;
    let expected = 0;
    volumes(timeConstant_s).forEach((v, k) => {
      const held = deadband_L > 0 ? play(v, deadband_L) : v;
      // How often the digits turn back depends on where the level stands between two of them: four places, for the mean.
      for (const part of [0.25, 0.5, 0.75])
        turns += countChanges(shownValue(held, { ...shown, offset_L: shown.offset_L + part * shown.step_L })).reversals;
      const s = steadiness(shownValue(held, shown), records[k]!.trend_L, interval_s);
      minutes += s.minutes;
      reversals += s.reversals;
      changes += s.changes;
      squares += s.rmsError_L ** 2 * v.length;
      expected += (s.rmsError_L ** 2 + 2 * high_L * s.meanError_L + high_L ** 2) * v.length;
      n += v.length;
      // Settings must hold for every log: the worst one decides.
      worst = Math.max(worst, upperRate(s.reversals, s.minutes));
    });
    return {
      timeConstant_s,
      deadband_L,
      lag_L: timeConstant_s * burn_L_per_s,
      refuel90_s: Math.LN10 * timeConstant_s,
      reversalsPerMinute: reversals / minutes,
      reversalsHalfWidth: (1.96 * Math.sqrt(reversals + 1)) / minutes,
      digitChangesPerMinute: changes / minutes,
      rmsError_L: Math.sqrt(squares / n),
      expected_L: Math.sqrt(Math.max(0, expected / n)),
      upper: worst,
      perPass:
        burn_L_per_s > 0
          ? ((steeper * (((reversals + turns) / 4 / minutes / 60) * shown.step_L)) / burn_L_per_s) * 0.5
          : 0,
    };
  };

  const taus = timeConstants(job, interval_s);
  const bands = deadbands(job, total_L, slope, shown.step_L);
  const grid = taus.flatMap((t) => bands.map((d) => rate(t, d)));
  const wanted = targets.displayReversalsPerMinute;
  // A deadband over half a displayed step would keep the display from ever showing its ends: only where nothing else is steady.
  const narrow = grid.filter((g) => g.deadband_L < 0.499 * shown.step_L);
  const steadyNarrow = narrow.filter(
    (g) => g.upper <= wanted && (targets.maxLag_s === null || g.timeConstant_s <= targets.maxLag_s),
  );
  const steady = (steadyNarrow.length > 0 ? narrow : grid).filter((g) => g.upper <= wanted);
  const quick = targets.maxLag_s === null ? grid : grid.filter((g) => g.timeConstant_s <= targets.maxLag_s!);
  const both = steady.filter((g) => quick.includes(g));
  const met = both.length > 0;
  const least = (list: typeof grid) => {
    const least = Math.min(...list.map((g) => g.expected_L));
    const affordable = list.filter((g) => g.expected_L <= calmCost * least);
    // Where none is calm enough, those nearest to it.
    const calm = Math.max(
      calmPass * targets.endFlickersPerHour,
      1.25 * Math.min(...affordable.map((g) => g.perPass)) + 0.02,
    );
    return affordable.filter((g) => g.perPass <= calm).reduce((a, b) => (b.expected_L < a.expected_L ? b : a));
  };
  const steadiest = (list: typeof grid) =>
    list.reduce((a, b) => (b.upper < a.upper || (b.upper === a.upper && b.rmsError_L < a.rmsError_L) ? b : a));
  const recommended = met
    ? least(both)
    : steady.length > 0
      ? steady.reduce((a, b) => (b.timeConstant_s < a.timeConstant_s ? b : a))
      : steadiest(quick.length > 0 ? quick : grid);
  const overridden = choice.timeConstant_s !== null || choice.deadband_L !== null;
  const chosen = overridden
    ? rate(
        snapTimeConstant(choice.timeConstant_s ?? recommended.timeConstant_s, job, interval_s),
        choice.deadband_L ?? recommended.deadband_L,
      )
    : recommended;
  const cautions: Issue[] = [];
  if (!met)
    cautions.push({
      code: "display/not-met",
      says:
        steady.length > 0
          ? `At most ${wanted} reversals a minute and a lag of at most ${targets.maxLag_s} s cannot both be had: the steady setting needs ${fixed(recommended.timeConstant_s, 1)} s.`
          : `No setting in the device's range holds ${wanted} reversals a minute on this log.`,
      remedy: "Allow more lag, a larger displayed step, or mend what makes the noise (baffle, damping, wiring).",
      weight: "doubtful",
    });
  if (chosen.deadband_L >= 0.5 * shown.step_L)
    cautions.push({
      code: "display/wide-deadband",
      says: `A deadband of ${fixed(chosen.deadband_L, 1)} L is more than half a displayed step: after a long run down the display stops short of its ends by as much.`,
      remedy: "Allow more lag, then a narrower deadband will do.",
      weight: "note",
    });
  if (logs.reduce((s, l) => s + l.duration_s, 0) < 600)
    cautions.push({
      code: "display/short-log",
      says: `The logs last ${fixed(logs.reduce((s, l) => s + l.duration_s, 0) / 60, 1)} min in all: the counts are rough.`,
      remedy: "Bring ten minutes or more.",
      weight: "holds-if",
      condition: "other drives are like this short log",
    });
  const extra = tryFeatures(
    records,
    device.has,
    {
      timeConstant_s: chosen.timeConstant_s,
      deadband_L: chosen.deadband_L,
      deadbandKind: "play",
      faultLimits: faults,
      table,
      shown,
    },
    burn_L_per_s,
    total_L,
  );
  for (const t of extra.trials) if (t.taken && !uses.includes(t.feature)) uses.push(t.feature);
  const after = extra.trials.filter((t) => t.taken && t.feature !== "fault-limits").at(-1);
  const strip = ({
    expected_L: _expected_L,
    upper: _upper,
    perPass: _perPass,
    ...rest
  }: (typeof grid)[number]): DisplaySetting => rest;
  const bareVolumes = records.map((r) => lookUp(table, believed(r, false)));
  const count = (list: Float64Array[]) => {
    let minutes = 0;
    let reversals = 0;
    let changes = 0;
    list.forEach((v, k) => {
      const s = steadiness(shownValue(v, shown), records[k]!.trend_L, interval_s);
      minutes += s.minutes;
      reversals += s.reversals;
      changes += s.changes;
    });
    return { reversalsPerMinute: reversals / minutes, digitChangesPerMinute: changes / minutes };
  };
  return ready(
    {
      ...strip(chosen),
      // What was counted with everything that is set.
      ...(after && { reversalsPerMinute: after.with.reversalsPerMinute, rmsError_L: after.with.rmsError_L }),
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
        deadband: askedDeadband(chosen.deadband_L, job, total_L, slope),
        deadbandUnit: device.deadband.unit,
      },
      order: "reading-then-table",
      uses,
      bare: count(bareVolumes),
      oneSecond: count(records.map((r) => lookUp(table, lowPass(believed(r, false), smoothingFactor(1, interval_s))))),
      trade: bands.map((d) => ({
        deadband_L: d,
        points: grid
          .filter((g) => g.deadband_L === d)
          .map(({ timeConstant_s, reversalsPerMinute, digitChangesPerMinute, lag_L }) => ({
            timeConstant_s,
            reversalsPerMinute,
            digitChangesPerMinute,
            lag_L,
          })),
      })),
      options: bands.map((d) => ({
        deadband_L: d,
        timeConstant_s: grid
          .filter((g) => g.deadband_L === d && g.upper <= wanted)
          .reduce<number | null>((m, g) => (m === null || g.timeConstant_s < m ? g.timeConstant_s : m), null),
      })),
      recommended: strip(recommended),
      overridden,
      met,
      nearest: met
        ? null
        : {
            steady:
              steady.length > 0 ? strip(steady.reduce((a, b) => (b.timeConstant_s < a.timeConstant_s ? b : a))) : null,
            quick: quick.length > 0 ? strip(steadiest(quick)) : null,
          },
    },
    cautions,
  );
}

/**
 * Turns back while the level passes from one digit to the next, as a share of the flickers an hour wanted at an end: an hour near an end
 * holds a pass or two. And how much more error that calm may cost. Named defaults, no source.
 */
const calmPass = 0.25;
const calmCost = 1.4;

/** Upper 95 % limit of a rate from a count (one-sided, normal to the Poisson), with a tenth for drives rougher than this one. */
function upperRate(count: number, minutes: number): number {
  return (1.1 * (count + 1.645 * Math.sqrt(count + 1))) / minutes;
}

const wantedTimes = [0, 0.5, 1, 1.5, 2, 3, 4, 5.5, 7.5, 10, 13, 17, 22, 29, 38, 50, 65, 85, 110, 145, 190, 250];

/** Time constants that the device can really be set to, thinned. */
function timeConstants(job: Job, interval_s: number): number[] {
  if (job.device.smoothing.asks === "none") return [0];
  const list = [...new Set(wantedTimes.map((t) => snapTimeConstant(t, job, interval_s)))];
  return list.sort((a, b) => a - b);
}

/** What is typed for a time constant: rounded and held inside the device's range. */
function askedSmoothing(
  timeConstant_s: number,
  job: Job,
  interval_s: number,
): { smoothing: number; smoothingUnit: Display["asked"]["smoothingUnit"] } {
  const { asks, least, most, step } = job.device.smoothing;
  const alpha = smoothingFactor(timeConstant_s, interval_s);
  const exact =
    asks === "seconds"
      ? timeConstant_s
      : asks === "factor"
        ? alpha
        : asks === "cutoff"
          ? timeConstant_s > 0
            ? cutoffOf(timeConstant_s)
            : most
          : asks === "samples"
            ? samplesOf(alpha)
            : 0;
  const rounded = Math.round(exact / step) * step;
  return {
    smoothing: Number(
      Math.min(most, Math.max(least, rounded === 0 && asks !== "seconds" ? Math.max(step, least) : rounded)).toFixed(9),
    ),
    smoothingUnit: asks,
  };
}

/** The time constant that the device really has after its own rounding. */
function snapTimeConstant(timeConstant_s: number, job: Job, interval_s: number): number {
  const { smoothing, smoothingUnit } = askedSmoothing(timeConstant_s, job, interval_s);
  if (smoothingUnit === "seconds") return smoothing;
  if (smoothingUnit === "factor") return timeConstantOf(Math.min(1, smoothing), interval_s);
  if (smoothingUnit === "cutoff") return smoothing > 0 ? 1 / (2 * Math.PI * smoothing) : 0;
  if (smoothingUnit === "samples") return timeConstantOf(factorOfSamples(smoothing), interval_s);
  return 0;
}

/** Deadbands that the device can be set to, in litres, thinned. */
function deadbands(job: Job, total_L: number, slope: number, step_L: number): number[] {
  const most_L = Math.min(0.05 * total_L, fromAsked(job.device.deadband.most, job, total_L, slope));
  const wanted = [0, 0.2, 0.35, 0.49, 0.75, 1, 1.5, 2, 3].map(
    (f) => f * (f < 0.5 ? step_L : Math.max(step_L, 0.006 * total_L)),
  );
  return [
    ...new Set(
      wanted
        .filter((d) => d <= most_L + 1e-9)
        .map((d) =>
          Number(fromAsked(askedDeadband(d, job, total_L, slope, d < 0.5 * step_L), job, total_L, slope).toFixed(6)),
        ),
    ),
  ];
}

/** @param down rounds down: a deadband chosen below half a displayed step must stay below it. */
function askedDeadband(deadband_L: number, job: Job, total_L: number, slope: number, down = false): number {
  const { unit, step, most } = job.device.deadband;
  const exact =
    unit === "L"
      ? deadband_L
      : unit === "percent"
        ? (100 * deadband_L) / (job.tank.capacity_L ?? total_L)
        : deadband_L / slope;
  const steps = down ? Math.floor(exact / step + 1e-6) : Math.round(exact / step);
  return Number(Math.min(most, steps * step).toFixed(9));
}

function fromAsked(asked: number, job: Job, total_L: number, slope: number): number {
  const { unit } = job.device.deadband;
  return unit === "L" ? asked : unit === "percent" ? (asked * (job.tank.capacity_L ?? total_L)) / 100 : asked * slope;
}
