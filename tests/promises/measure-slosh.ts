/**
 * Measures slosh peaks that are claimed where there is none to see: the job's own log, and a twin of it in which nothing can slosh or nothing
 * of it can be seen. Twins: `damped` (a tank full of foam: no resonance), `central` (the sender stands where the surface does not move), `slow`
 * (refreshed slower than twice the slosh) and `smoothed` (the sender's own electronics take eight seconds).
 */
import { simulateDrive } from "../../datasets/world/drive";
import { sloshShareOf, type Truth, trueModes_Hz, type WorldJob } from "../../datasets/world/job";
import { unitsPerVolt } from "../../datasets/world/sender";
import { createTank } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { valueIn } from "../../src/answer";
import { lowPass, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { createPipeline } from "../../src/pipeline/index";
import { sourceFile } from "./pipeline-run";

export const twins = ["damped", "central", "slow", "smoothed"] as const;
export type Twin = (typeof twins)[number];

/** Below this share of the variance there is no slosh to speak of. */
export const leastShare = 0.02;
const smoothed_s = 8;

export interface SloshScore {
  /** The job's own log: share of slosh in it, whether it could show a peak at all, whether one was claimed, and how far off. */
  share: number;
  canShow: boolean;
  /** Whether the reading is refreshed four times as often as the slosh swings, as was asked. */
  showsWell: boolean;
  claimed: boolean;
  off: number | null;
  twin: { kind: Twin; share: number; claimed_Hz: number | null } | null;
}

/** Whether rows that are refreshed so often can place a peak: twice the slosh at least, and the log itself too. */
export function canShowSlosh(
  truth: Truth,
  refresh_Hz = truth.drive.refresh_Hz || truth.logRate_Hz,
  times = 2,
): boolean {
  const modes = [truth.log.from_L, truth.log.to_L].map((level) => trueModes_Hz(truth, level));
  return refresh_Hz >= times * Math.min(...modes.flatMap((m) => [m.along_Hz, m.across_Hz]));
}

export function measureSlosh(world: WorldJob, told_Hz: number | null): SloshScore {
  const { truth } = world;
  return {
    share: truth.log.sloshShare,
    canShow: canShowSlosh(truth),
    showsWell: canShowSlosh(truth, undefined, 4),
    claimed: told_Hz !== null,
    off: told_Hz === null ? null : offModes(told_Hz, truth),
    twin: measureTwin(world, twins[truth.seed % twins.length]!),
  };
}

/** How far a frequency lies from the nearest of both modes, as a share. The modes move while the tank empties: all that they pass is right. */
export function offModes(told_Hz: number, truth: Truth): number {
  const [first, last] = [truth.log.from_L, truth.log.to_L].map((level) => trueModes_Hz(truth, level));
  const outside = (a: number, b: number) =>
    told_Hz < Math.min(a, b)
      ? 1 - told_Hz / Math.min(a, b)
      : told_Hz > Math.max(a, b)
        ? told_Hz / Math.max(a, b) - 1
        : 0;
  return Math.min(outside(first!.along_Hz, last!.along_Hz), outside(first!.across_Hz, last!.across_Hz));
}

/** @returns null where the twin is one in name only: slosh so slow that even one reading a second shows it, or no noise. */
export function measureTwin(world: WorldJob, kind: Twin): SloshScore["twin"] {
  const { truth } = world;
  const slow = kind === "slow" ? { refresh_Hz: 1 } : {};
  if (kind === "slow" && canShowSlosh(truth, 1)) return null;
  const sender = kind === "central" ? { ...truth.sender, offAlong_mm: 0, offAcross_mm: 0 } : truth.sender;
  const drive = { ...truth.drive, ...(kind === "damped" ? { damping: 0.95 } : {}), ...slow };
  const random = createRandom(truth.seed * 104_729 + 1);
  const log = simulateDrive(
    createTank(truth.tank),
    sender,
    truth.circuit,
    truth.serviceDay,
    drive,
    { seconds: 15 * 60, rate_Hz: truth.logRate_Hz, from_L: truth.log.from_L, least_L: 0 },
    random,
  );
  if (kind === "smoothed") {
    const floor = truth.drive.floor * unitsPerVolt(truth.circuit);
    lowPass(log.clean, smoothingFactor(smoothed_s, 1 / truth.logRate_Hz), log.clean);
    for (let i = 0; i < log.reading.length; i++)
      if (log.mark[i] === 0) log.reading[i] = log.clean[i]! + floor * random.normal();
  }
  const share = sloshShareOf(log, {
    ...truth,
    sender,
    log: { ...truth.log, to_L: log.contents_L[log.contents_L.length - 1]! },
  });
  const files = {
    fills: world.fillFiles.map((f) => sourceFile("fill", f)),
    drives: [sourceFile("drive", { name: "twin.csv", text: driveCsv(log, truth.circuit, false) })],
  };
  const noise = valueIn(
    createPipeline({ job: world.job, files, readings: {}, choices: noChoices }).stages.noise.read(),
  );
  return noise ? { kind, share, claimed_Hz: noise.sloshFrequency_Hz } : null;
}
