/** Measures one simulated job: every promise of the pipeline against the truth. Missing results are null, never guessed. */
import { restReading, type Truth, trueModes_Hz, type WorldJob } from "../../datasets/world/job";
import { unitsPerVolt } from "../../datasets/world/sender";
import { createTank } from "../../datasets/world/tank";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { interpolate } from "../../src/pipeline/curve-lookup";
import type { Curve } from "../../src/pipeline/curve-types";
import { knowingCurve } from "./knowing";
import { measureRefuel, type RefuelScore } from "./measure-refuel";
import { measureRoad, type RoadScore } from "./measure-road";
import { measureSlosh, offModes, type SloshScore } from "./measure-slosh";
import { measureTilt, type TiltScore } from "./measure-tilt";
import { measureWatch, type WatchScore } from "./measure-watch";
import { lookUp, type Point, rawTable, twoPoints } from "./naive";
import { type PipelineRun, runPipeline } from "./pipeline-run";
import { coverage, leastPossibleRms, matchFaults, mean, rms } from "./score";

export interface JobScore {
  seed: number;
  family: string;
  sender: string;
  style: string;
  capacity_L: number;
  steps: number;
  recorded: boolean;
  crashes: PipelineRun["crashes"];
  stuck: PipelineRun["stuck"];
  took_ms: number;
  /** Percent of capacity, at rest, whole fill range. */
  curveRms: number | null;
  tableRms: number | null;
  serviceTableRms: number | null;
  twoPointRms: number;
  rawRms: number;
  leastRms: number;
  /** Share of the points between the dead zones that lie in the band, and mean half-width in percent of capacity. */
  band: { share: number; halfWidth: number } | null;
  serviceBand: { share: number; halfWidth: number } | null;
  /** The same curve and band told what is really so in the run (`knowing.ts`); its RMS also with the container's error taken off. */
  knowing: { share: number; halfWidth: number; rms: number; rmsContainerKnown: number } | null;
  /** Two-point RMS as told less as it is, percent of capacity; right within 10 % or 0.2 % of capacity; RMS and largest error within their limits. */
  twoPointTold: { off: number; right: boolean; rmsInside: boolean; largestInside: boolean } | null;
  faults: { worthy: number; found: number; named: number; falseFlags: number; flags: number; clean: boolean } | null;
  /** What is said while the sheet is poured, row by row. */
  watch: WatchScore | null;
  events: string[];
  trueFaults: string[];
  noise: {
    sloshFrequency_Hz: number | null;
    trueModes_Hz: [number, number];
    sloshOff: number | null;
    floorOff: number | null;
  } | null;
  /** Peaks of slosh that are claimed, and whether there is one. */
  slosh: SloshScore | null;
  /** Hidden litres at the ends beyond the sender's own dead zones, percent of capacity. */
  hidden: { empty: number; emptyUsable: number; full: number } | null;
  verdict: { decision: string; probability: number; conforms: boolean; largest_L: number } | null;
  range: { inside: boolean; lower: number; upper: number; truth: number } | null;
  road: RoadScore | null;
  /** Burn of the log, true less told over its standard uncertainty. */
  burnOff: number | null;
  /** Whether more than told may have been burnt, since the log stands at an end: then `burnOff` is judged on one side. */
  burnIsLeast: boolean;
  /** Courses with a net turning direction: mean error of the reading, litres, as told (0: not claimed) and as it is; percent of capacity. */
  turning: { told: number; truth: number } | null;
  /** Litres a g as told, with its interval, and as it is. */
  tilt: TiltScore | null;
  /** Every third job with drives. */
  refuel: RefuelScore | null;
}

const points = 240;

export function measureJob(
  world: WorldJob,
  options: { drives: boolean; minutes: number },
): {
  score: JobScore;
  run: PipelineRun;
} {
  const { truth } = world;
  const from = performance.now();
  const run = runPipeline(world, options.drives);
  const took_ms = performance.now() - from;
  const { answers } = run;
  const tank = createTank(truth.tank);
  const capacity_L = truth.tank.capacity_L;
  const percent = (litres: number) => (100 * litres) / capacity_L;
  const fillReading = restReading(truth, "fill", tank);
  const serviceReading = restReading(truth, "service", tank);
  const steps = truth.record.steps;
  const top_L = steps[steps.length - 1]!.trueVolume_L;
  const volumes = Array.from({ length: points }, (_, i) => ((i + 0.5) / points) * top_L);
  const readings = volumes.map(fillReading);
  const serviceReadings = volumes.map(serviceReading);
  const errorOf = (at: (r: number) => number, shown: number[]) =>
    percent(rms(volumes.map((v, i) => at(shown[i]!) - v)));

  const curve = valueIn(answers.curve);
  const settings = valueIn(answers.settings);
  const table = valueIn(answers.table);
  const suspects = valueIn(answers.suspectSteps);
  const noise = valueIn(answers.noise);
  const ends = valueIn(answers.ends);
  const lowFuel = valueIn(answers.lowFuel);
  const range = valueIn(answers.range);
  const verdict = valueIn(answers.verdict);
  const log = valueIn(answers.driveLog)?.[0];
  const rows: Point[] | null = table
    ? table.rows.map((r) => ({ reading: r.reading, volume_L: r.volume_L })).sort((a, b) => a.reading - b.reading)
    : null;

  // Between the dead zones: where the float is off its stops.
  const between = volumes.flatMap((v, i) => {
    const height = tank.heightAt(v + truth.fill.start_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop ? [i] : [];
  });
  const bandOf = (day: "fill" | "service", curve: Curve | null) => {
    if (!curve) return null;
    const shown = day === "fill" ? readings : serviceReadings;
    const scored = coverage(
      between.map((i) => ({
        truth: volumes[i]!,
        lower: interpolate(curve.grid, shown[i]!, (p) => (day === "fill" ? p.lower_L : p.serviceLower_L)),
        upper: interpolate(curve.grid, shown[i]!, (p) => (day === "fill" ? p.upper_L : p.serviceUpper_L)),
      })),
    );
    return { share: scored.share, halfWidth: percent(scored.halfWidth) };
  };
  const knowingOf = (): JobScore["knowing"] => {
    const fillRuns = valueIn(answers.fillRun);
    const stated = valueIn(answers.job);
    if (!fillRuns || !stated || !suspects) return null;
    const known = knowingCurve(truth, tank, fillRuns, suspects, stated);
    const band = bandOf("fill", known);
    if (!known || !band) return null;
    const at = (r: number) => interpolate(known.grid, r, (p) => p.volume_L);
    const { scaleError } = truth.fill;
    return {
      ...band,
      rms: errorOf(at, readings),
      rmsContainerKnown: errorOf((r) => at(r) * (1 + scaleError), readings),
    };
  };
  const naiveTwo = twoPoints(steps);
  // What the notebook tells is the error of two points on the treated sheet, so the true volumes of the end steps count.
  const trueTwo = twoPoints(steps.map((s) => ({ reading: s.reading, volume_L: s.trueVolume_L })));
  const twoPointRms = errorOf((r) => lookUp(naiveTwo, r), readings);

  const score: JobScore = {
    seed: truth.seed,
    family: truth.family,
    sender: truth.sender.kind,
    style: truth.drive.style,
    capacity_L,
    steps: steps.length,
    recorded: truth.fill.recorded,
    crashes: run.crashes,
    stuck: run.stuck,
    took_ms,
    curveRms: curve ? errorOf((r) => interpolate(curve.grid, r, (p) => p.volume_L), readings) : null,
    tableRms: rows ? errorOf((r) => lookUp(rows, r), readings) : null,
    serviceTableRms: rows ? errorOf((r) => lookUp(rows, r), serviceReadings) : null,
    twoPointRms,
    rawRms: errorOf((r) => lookUp(rawTable(steps), r), readings),
    leastRms: percent(leastPossibleRms(volumes, readings)),
    band: bandOf("fill", curve ?? null),
    serviceBand: bandOf("service", curve ?? null),
    knowing: knowingOf(),
    twoPointTold: curve
      ? toldTwoPoint(
          curve.overall,
          volumes.map((v, i) => lookUp(trueTwo, readings[i]!) - v),
          percent,
        )
      : null,
    faults: suspects
      ? {
          ...matchFaults(
            suspects.runs.flatMap((r) => r.events),
            truth.record.faults,
          ),
          flags: suspects.runs.reduce((n, r) => n + r.events.length, 0),
          clean: truth.record.faults.length === 0,
        }
      : null,
    watch: measureWatch(world),
    events: (suspects?.runs ?? []).flatMap((r) =>
      r.events.map((e) => `${e.kind}@${e.step} ${e.amount_L.toFixed(2)}L p=${e.p.toPrecision(2)}`),
    ),
    trueFaults: truth.record.faults.map(
      (f) => `${f.kind}@${f.step} ${f.amount_L.toFixed(2)}L ${f.inStandardErrors.toFixed(0)}se`,
    ),
    noise: noise ? scoreNoise(noise, truth) : null,
    slosh: noise && options.drives ? measureSlosh(world, noise.sloshFrequency_Hz) : null,
    hidden: ends && rows ? hiddenOf(rows, readings, top_L, percent, truth) : null,
    verdict: verdict && ends && rows ? scoreVerdict(verdict, rows, serviceReadings, volumes, ends) : null,
    range: null,
    road: null,
    burnOff: log?.burnStandard_L_per_h
      ? (truth.drive.burn_L_per_h - log.burn_L_per_h) / log.burnStandard_L_per_h
      : null,
    burnIsLeast: log?.burnIsLeast ?? false,
    turning:
      noise && log && truth.drive.style === "circuit"
        ? { told: percent(noise.turningBias_L ?? 0), truth: percent(turningOf(truth, log.columns)) }
        : null,
    tilt: noise && log ? measureTilt(truth, noise, log) : null,
    refuel: null,
  };
  if (options.drives && settings && table) score.road = measureRoad(world, run, options.minutes);
  // A second run of the pipeline: every third job is enough, and 3 and the number of families have no common factor.
  if (options.drives && truth.seed % 3 === 0) score.refuel = measureRefuel(world, run);
  if (lowFuel && range && range.unit === "km" && score.road?.low) {
    // One drive of many: the light comes on at this true volume, the consumption of this run is drawn as stated.
    const random = createRandom(truth.seed * 31 + 7);
    const { mean, standardUncertainty } = truth.consumption;
    const used = Math.max(0.2 * mean, mean + standardUncertainty * random.normal());
    const usable = score.road.low.usableAtWarning_L[0];
    if (usable !== undefined) {
      const truthKm = (100 * Math.max(0, usable)) / used;
      score.range = {
        inside: range.rangeLower <= truthKm && truthKm <= range.rangeUpper,
        lower: range.rangeLower,
        upper: range.rangeUpper,
        truth: truthKm,
      };
    }
  }
  return { score, run };
}

/** Mean litres by which the log reads wrong as against the same levels at rest: what its leaning course did, sender steps left out. */
export function turningOf(truth: Truth, log: { time_s: Float64Array; reading: Float64Array }): number {
  const rest = restReading(truth, "service");
  const top_L = truth.tank.capacity_L - truth.fill.start_L;
  const known = Array.from({ length: 400 }, (_, i) => ({
    volume_L: (i / 399) * top_L,
    reading: rest((i / 399) * top_L),
  }));
  const rows = known
    .sort((p, q) => p.reading - q.reading)
    .filter((r, i) => i === 0 || r.reading > known[i - 1]!.reading);
  const room = 0.05 * (rows[rows.length - 1]!.reading - rows[0]!.reading);
  const errors: number[] = [];
  for (let i = 0; i < log.reading.length; i++) {
    const reading = log.reading[i]!;
    // Line faults and spikes beyond the sender's travel are another matter.
    if (!(reading > rows[0]!.reading - room && reading < rows[rows.length - 1]!.reading + room)) continue;
    const contents_L = truth.log.from_L - ((log.time_s[i]! - log.time_s[0]!) * truth.drive.burn_L_per_h) / 3600;
    errors.push(lookUp(rows, reading) - lookUp(rows, rest(contents_L - truth.fill.start_L)));
  }
  return mean(errors);
}

function toldTwoPoint(
  told: Curve["overall"],
  errors_L: number[],
  percent: (litres: number) => number,
): NonNullable<JobScore["twoPointTold"]> {
  const rms_L = rms(errors_L);
  const largest_L = Math.max(...errors_L.map(Math.abs));
  const off = percent(told.twoPointRms_L - rms_L);
  return {
    off,
    right: Math.abs(off) <= Math.max(0.1 * percent(rms_L), 0.2),
    rmsInside: told.twoPointRmsLower_L <= rms_L && rms_L <= told.twoPointRmsUpper_L,
    largestInside: told.twoPointLower_L <= largest_L && largest_L <= told.twoPointUpper_L,
  };
}

function scoreNoise(
  noise: { sloshFrequency_Hz: number | null; floorSd: number },
  truth: Truth,
): NonNullable<JobScore["noise"]> {
  const first = trueModes_Hz(truth, truth.log.from_L);
  const last = trueModes_Hz(truth, truth.log.to_L);
  const modes: [number, number] = [(first.along_Hz + last.along_Hz) / 2, (first.across_Hz + last.across_Hz) / 2];
  const perVolt = unitsPerVolt(truth.circuit);
  const step =
    truth.circuit.unit === "V"
      ? truth.circuit.supplyVolts / (2 ** truth.circuit.adcBits - 1)
      : truth.circuit.unit === "ohm"
        ? 0.1
        : 1;
  const floor = Math.hypot(truth.drive.floor * perVolt, step / Math.sqrt(12));
  const nearest = noise.sloshFrequency_Hz === null ? Number.NaN : offModes(noise.sloshFrequency_Hz, truth);
  const refresh_Hz = truth.drive.refresh_Hz || truth.logRate_Hz;
  return {
    sloshFrequency_Hz: noise.sloshFrequency_Hz,
    trueModes_Hz: modes,
    // Judged only where the record can show them: refreshed at four times the slosh; every row new, and over 10 Hz.
    sloshOff: Number.isFinite(nearest) && refresh_Hz >= 4 * Math.min(...modes) ? nearest : null,
    floorOff: refresh_Hz > 10 ? noise.floorSd / floor - 1 : null,
  };
}

/** Litres over which the table holds its end value, less those over which the sender stands on its stop. */
export function hiddenOf(
  rows: Point[],
  readings: number[],
  top_L: number,
  percent: (x: number) => number,
  truth: Truth,
): { empty: number; emptyUsable: number; full: number } {
  const rising = truth.sender.full > truth.sender.empty;
  const [low, high] = [rows[0]!.reading, rows[rows.length - 1]!.reading];
  const each = top_L / readings.length;
  const first = readings[0]!;
  const last = readings[readings.length - 1]!;
  const beyond = (end: "empty" | "full", from_L = Number.NEGATIVE_INFINITY) =>
    readings.filter((r, i) => {
      if ((i + 0.5) * each < from_L) return false;
      const outside = (end === "empty") === rising ? r <= low : r >= high;
      return outside && r !== (end === "empty" ? first : last);
    }).length * each;
  // Under the pick-up there is no fuel to hide: 0 must show there.
  const dry_L = truth.unusable_L - truth.fill.start_L;
  return {
    empty: percent(beyond("empty")),
    emptyUsable: percent(beyond("empty", dry_L)),
    full: percent(beyond("full")),
  };
}

function scoreVerdict(
  verdict: { decision: string; probability: number; tolerance_L: number },
  rows: Point[],
  serviceReadings: number[],
  volumes: number[],
  ends: { empty: { reading: number }; full: { reading: number } },
): NonNullable<JobScore["verdict"]> {
  const low = Math.min(ends.empty.reading, ends.full.reading);
  const high = Math.max(ends.empty.reading, ends.full.reading);
  let largest_L = 0;
  serviceReadings.forEach((r, i) => {
    if (r > low && r < high) largest_L = Math.max(largest_L, Math.abs(lookUp(rows, r) - volumes[i]!));
  });
  return {
    decision: verdict.decision,
    probability: verdict.probability,
    conforms: largest_L <= verdict.tolerance_L,
    largest_L,
  };
}
