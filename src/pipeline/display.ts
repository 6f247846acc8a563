/** Display: what holds the reading still, and at what delay? Time constant and deadband together, by replay of the log. */
import { type Answer, type Issue, ready } from "../answer";
import { fixed } from "../format";
import { cutoffOf, lowPass, smoothingFactor } from "../math/filter";
import type { Choices } from "./choices";
import type { BelievedLimits } from "./circuit";
import type { VolumeByReading } from "./curve-types";
import { type Features, quick_s } from "./device-features";
import { askedDeadband, askedSmoothing, deadbands, snapTimeConstant, timeConstants } from "./device-lattice";
import { atDeviceRate, believed, type DeviceRecord, lookUp, shownAs, shownValue, steadiness } from "./device-model";
import { countShown, createSmoothed, type ShownCount, type Smoothed, sumTrend } from "./display-count";
import { createEndFlickers, type EndsFrom, firstCalm } from "./display-ends";
import { expectedSquare, settledFrom } from "./display-error";
import { slowEnough } from "./display-unseen";
import type { DriveLog } from "./drive-log";
import { steepestEnd } from "./end-motion";
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
  /** The chosen pair on each log by itself: it must hold for all of them. */
  byLog: { file: string; minutes: number; reversalsPerMinute: number }[];
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
  const uses: Feature[] =
    device.has.includes("fault-limits") && limits && (limits.faultLow !== null || limits.faultHigh !== null)
      ? ["fault-limits"]
      : [];
  const faults = uses.length > 0;
  const total_L = Math.max(...curve.grid.map((g) => g.volume_L));
  const shown = shownAs(job, total_L);
  const table = curve.grid.map((g) => ({ reading: g.reading, volume_L: g.volume_L }));
  const records = logs.map((l) => atDeviceRate(l, device.rate_Hz, limits?.faultLow ?? null, limits?.faultHigh ?? null));
  const believedReadings = records.map((r) => believed(r, faults));
  const burn_L_per_s = Math.max(...logs.map((l) => l.burn_L_per_h)) / 3600;
  const interval_s = 1 / device.rate_Hz;
  // Turns of the digits go with the square of the motion in litres (σ²/(2d²τ), methods part 8): it may be larger at an end than on the log.
  const steeper = steepestEnd(logs, curve, job) ** 2;
  // On a service day the level falls: what is read then stands this much higher than what is there (0 for a table found in a device).
  const middle = curve.grid[curve.grid.length >> 1]!;
  const high_L = middle.volume_L - (middle.serviceVolume_L ?? middle.volume_L);
  const slope = total_L / Math.abs(curve.grid[curve.grid.length - 1]!.reading - curve.grid[0]!.reading);

  const trends = records.map((r) => sumTrend(r.trend_L));
  const volumes = createSmoothed(records, believedReadings, table);
  const countFor = (v: Smoothed[], timeConstant_s: number, deadband_L: number) =>
    v.map((one, k) => {
      const since = settledFrom(timeConstant_s, records[k]!.interval_s, one.volume_L.length);
      return countShown(one, trends[k]!, deadband_L, shown, 4, since);
    });
  let bare: { timeConstant_s: number; counts: ShownCount[] } | null = null;
  const rate = (timeConstant_s: number, deadband_L: number): Weighed => {
    let minutes = 0;
    let reversals = 0;
    let changes = 0;
    let squares = 0;
    let n = 0;
    let worst = 0;
    let turns = 0;
    let expected = 0;
    const smoothed = volumes(timeConstant_s);
    if (bare?.timeConstant_s !== timeConstant_s)
      bare = { timeConstant_s, counts: countFor(smoothed, timeConstant_s, 0) };
    const { counts: bareCounts } = bare;
    const counts = deadband_L > 0 ? countFor(smoothed, timeConstant_s, deadband_L) : bareCounts;
    counts.forEach((c, k) => {
      const samples = smoothed[k]!.volume_L.length;
      const length_min = minutesOf(records[k]!);
      minutes += length_min;
      reversals += c.reversals;
      changes += c.changes;
      turns += c.turnsElsewhere;
      squares += c.squares;
      expected +=
        samples *
        expectedSquare(c, bareCounts[k]!, {
          high_L,
          lag_L: (timeConstant_s * logs[k]!.burn_L_per_h) / 3600,
          timeConstant_s,
          duration_s: 60 * length_min,
          step_L: shown.step_L,
        });
      n += samples;
      // Settings must hold for every log: the worst one decides.
      worst = Math.max(worst, upperRate(c.reversals, length_min));
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
  const seen = slowEnough(grid, logs, shown.step_L, targets.maxLag_s);
  const wanted = targets.displayReversalsPerMinute;
  // A deadband over half a displayed step would keep the display from ever showing its ends: only where nothing else is steady.
  const narrow = seen.pairs.filter((g) => g.deadband_L < 0.499 * shown.step_L);
  const steadyNarrow = narrow.filter(
    (g) => g.upper <= wanted && (targets.maxLag_s === null || g.timeConstant_s <= targets.maxLag_s),
  );
  const steady = (steadyNarrow.length > 0 ? narrow : seen.pairs).filter((g) => g.upper <= wanted);
  const quick =
    targets.maxLag_s === null ? seen.pairs : seen.pairs.filter((g) => g.timeConstant_s <= targets.maxLag_s!);
  const both = steady.filter((g) => quick.includes(g));
  const met = both.length > 0;
  const atEnds = endsFrom ? createEndFlickers(endsFrom, noise, logs, limits, job, uses) : null;
  const least = (list: typeof grid) => {
    const least = Math.min(...list.map((g) => g.expected_L));
    const affordable = list.filter((g) => g.expected_L <= calmCost * least);
    // Where none is calm enough, those nearest to it.
    const calm = Math.max(
      calmPass * targets.endFlickersPerHour,
      1.25 * Math.min(...affordable.map((g) => g.perPass)) + 0.02,
    );
    const byError = affordable.filter((g) => g.perPass <= calm).sort((a, b) => a.expected_L - b.expected_L);
    return atEnds && targets.endFlickersPerHour > 0
      ? firstCalm(byError, atEnds, carriedCalm * targets.endFlickersPerHour)
      : byError[0]!;
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
  const cautions: Issue[] = [...seen.cautions];
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
      byLog: volumes(chosen.timeConstant_s).map((v, k) => {
        const length_min = minutesOf(records[k]!);
        const { reversals } = countShown(v, trends[k]!, chosen.deadband_L, shown, 1);
        return { file: logs[k]!.file, minutes: length_min, reversalsPerMinute: reversals / length_min };
      }),
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
const calmPass = 0.5;
const calmCost = 1.4;
/** Share of the wanted flickers an hour that motion carried to an end may make: room for the count's own spread. Named default, no source. */
const carriedCalm = 0.5;

const minutesOf = (record: DeviceRecord): number => (Math.max(1, record.reading.length) * record.interval_s) / 60;

/** Upper 95 % limit of a rate from a count (one-sided, normal to the Poisson), with a tenth for drives rougher than this one. */
function upperRate(count: number, minutes: number): number {
  return (1.1 * (count + 1.645 * Math.sqrt(count + 1))) / minutes;
}
