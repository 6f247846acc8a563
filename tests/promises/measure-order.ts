/**
 * Closed loop of the order of smoothing and table: the same tanks with a device that smooths the reading and with one that smooths the volume, each
 * with the settings that are recommended for it, on the same fresh drives; and beside them the settings for the one typed into the other.
 */
import { freshDrive, makeJob, restReading } from "../../datasets/world/job";
import { valueIn } from "../../src/answer";
import { unusableOffset_L } from "../../src/pipeline/job";
import { type Line, present, share, shareLine, spread } from "./lines";
import { hiddenOf } from "./measure";
import { type EndsScore, measureEnds } from "./measure-ends";
import { type PipelineRun, runPipeline } from "./pipeline-run";
import { type Device, deviceFrom, runDevice } from "./replay";
import { countChanges, mean, rms } from "./score";

export type Way = "reading" | "volume" | "typed for the other";

export interface OrderScore {
  reversalsPerMinute: number;
  /** Shown less true, percent of capacity: root mean square and mean. */
  shownRms: number;
  shownMean: number;
  promisedReversals: number;
  ends: EndsScore;
  endsTold: boolean;
  zeroInTimeTold: number | null;
  hidden: { emptyUsable: number; full: number };
  timeConstant_s: number;
  /** Share of time in which a full tank, driven, shows full: five minutes from the brim. */
  fullShown: number;
}

export interface OrderCase {
  seed: number;
  ways: Record<Way, OrderScore | undefined>;
}

/** @param minutes length of the fresh drive. */
export function measureOrder(seed: number, minutes: number): OrderCase {
  const world = makeJob(seed);
  const runOf = (smooths: "reading" | "volume") =>
    runPipeline({ ...world, job: { ...world.job, device: { ...world.job.device, smooths } } });
  const runs = { reading: runOf("reading"), volume: runOf("volume") };
  const { truth } = world;
  const fresh = freshDrive(truth, 1, minutes);
  const brim = freshDrive(truth, 900, 8, { from: 1 });
  const percent = (litres: number) => (100 * litres) / truth.tank.capacity_L;
  const top_L = truth.tank.capacity_L - truth.fill.start_L;
  const rest = restReading(truth, "fill");
  const readings = Array.from({ length: 400 }, (_, i) => rest(((i + 0.5) / 400) * top_L));
  const score = (run: PipelineRun, order: Device["order"]): OrderScore | undefined => {
    // A job that fails must not go missing from the count.
    if (run.crashes.length > 0) throw new Error(`seed ${seed}: ${run.crashes[0]!.stage}: ${run.crashes[0]!.says}`);
    const settings = valueIn(run.answers.settings);
    const display = valueIn(run.answers.display);
    const job = valueIn(run.answers.job);
    const ends = valueIn(run.answers.ends);
    const table = valueIn(run.answers.table);
    const circuit = valueIn(run.answers.circuit);
    if (!settings || !display || !job || !ends || !table) return undefined;
    const device = deviceFrom(settings, order, {
      capacity_L: job.tank.capacity_L ?? truth.tank.capacity_L,
      rate_Hz: job.device.rate_Hz,
      displayUnit: job.device.displayUnit,
      displayStep: job.device.displayStep,
    });
    const base_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
    const { shown_L } = runDevice(device, fresh.reading, fresh.record.across_g);
    const off = shown_L.map((v, i) => percent(v + base_L - fresh.added_L[i]!));
    // Three minutes for the filter to forget how it began.
    const full = runDevice(device, brim.reading, brim.record.across_g);
    const late = full.shown_L.subarray(1800);
    const rows = table.rows.map((r) => ({ reading: r.reading, volume_L: r.volume_L }));
    rows.sort((a, b) => a.reading - b.reading);
    const { emptyUsable, full: fullHidden } = hiddenOf(rows, readings, top_L, percent, truth);
    return {
      reversalsPerMinute: countChanges(shown_L).reversals / minutes,
      shownRms: rms(off),
      shownMean: mean([...off]),
      promisedReversals: display.reversalsPerMinute,
      ends: measureEnds(world, device),
      endsTold: circuit !== null && circuit !== undefined && circuit.faultLow !== null && circuit.faultHigh !== null,
      zeroInTimeTold: ends.empty.zeroInTime,
      hidden: { emptyUsable, full: fullHidden },
      timeConstant_s: display.timeConstant_s,
      fullShown: late.filter((v) => v === full.highEnd_L).length / late.length,
    };
  };
  return {
    seed,
    ways: {
      reading: score(runs.reading, "reading-then-table"),
      volume: score(runs.volume, "table-then-filter"),
      "typed for the other": score(runs.reading, "table-then-filter"),
    },
  };
}

const names: Record<Way, string> = {
  reading: "smooths the reading",
  volume: "smooths the volume",
  "typed for the other": "smooths the volume, settings for the reading",
};

export const orderLines = (from: number, to: number): Line[] =>
  countOrders(Array.from({ length: to - from + 1 }, (_, i) => measureOrder(from + i, 60)));

export function countOrders(cases: OrderCase[]): Line[] {
  return (Object.keys(names) as Way[]).flatMap((way) => linesOf(way, present(cases.map((c) => c.ways[way]))));
}

function linesOf(way: Way, scores: OrderScore[]): Line[] {
  const told = scores.filter((s) => s.endsTold);
  const dry = scores.filter((s) => s.ends.dryDrives > 0);
  return [
    shareLine(
      `${names[way]}: at most 2 reversals a minute`,
      scores.filter((s) => s.reversalsPerMinute <= 2).length,
      scores.length,
    ),
    spread(
      "  shown volume, RMS",
      scores.map((s) => s.shownRms),
      "% of capacity",
      `mean ${mean(scores.map((s) => s.shownMean)).toFixed(2)} %`,
    ),
    ...(["empty", "full"] as const).map((end) =>
      shareLine(
        `  at most 1 flicker an hour at ${end}`,
        told.filter((s) => s.ends[`${end}FlickersPerHour`] <= 1).length,
        told.length,
      ),
    ),
    spread(
      "  usable hidden at empty",
      scores.map((s) => s.hidden.emptyUsable),
      "% of capacity",
    ),
    spread(
      "  hidden at full",
      scores.map((s) => s.hidden.full),
      "% of capacity",
    ),
    {
      promise: "  0 up before dry, share of drives; its chance stated, share of a job's drives",
      jobs: dry.length,
      value: share(sum(dry.map((s) => s.ends.shownBefore)) / sum(dry.map((s) => s.ends.dryDrives))),
      figures: {},
      beside: `${share(mean(present(dry.map((s) => s.zeroInTimeTold))))}, ${share(mean(dry.map((s) => s.ends.shownBefore / s.ends.dryDrives)))}`,
    },
    {
      promise: "  full shown on the road from the brim, share of time",
      jobs: scores.length,
      value: share(mean(scores.map((s) => s.fullShown))),
      figures: {},
      beside: `under half of it in ${scores.filter((s) => s.fullShown < 0.5).length} jobs`,
    },
    spread(
      "  time constant",
      scores.map((s) => s.timeConstant_s),
      "s",
    ),
  ];
}

const sum = (x: number[]) => x.reduce((a, b) => a + b, 0);
