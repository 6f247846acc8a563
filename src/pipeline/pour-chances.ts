/**
 * Chances while pouring or drawing: what may be wrong in the rows so far? The same states are weighed as for a whole run (suspect-search.ts),
 * on the part of the tank that was filled or drawn: roughness, noise and odds are those of the whole tank, of which the part holds its share.
 */
import { normalProbability } from "../math/distributions";
import { chainScores } from "../math/smooth-chain";
import type { FillRuns } from "./fill-run";
import type { Job } from "./job";
import { type PourRow, type RunKind, runSoFar } from "./pour-run";
import { readingModel } from "./reading-model";
import { noRoom, type Room } from "./room";
import { type Member, placed, type RunChain, runChain } from "./run-chain";
import { seenIn, shares } from "./suspect-events";
import { explanationsFor, mostFaults, usualPour_L } from "./suspect-explanations";
import { type State, searchStates } from "./suspect-search";

export type { PourRow, RunKind } from "./pour-run";

/** What may be wrong at one row. */
export interface Slip {
  row: number;
  /** Chance that something is wrong there, and the parts of it that a wrong reading, any wrong pour and a pour missing from the sheet have. */
  chance: number;
  reading: number;
  pour: number;
  missing: number;
  /** Reading that the other rows lead to expect there, with its standard deviation, reading unit; null where it cannot be told. */
  expected: { reading: number; standard: number } | null;
  /** Litres that the pour held more than written, with their standard deviation; null unless a wrong pour is the likeliest. */
  more_L: { amount: number; standard: number } | null;
}

export interface PourChances {
  slips: Slip[];
  /** Reading that the rows before lead to expect in the last row. */
  expected: Slip["expected"];
}

/** A tank of unknown capacity is taken for so many pours, until there are more (named default, no source). */
const usualPours = 12;
/**
 * Rows off the stop from which on anything is told. The wide top of a tank holds few contacts of a ladder: how far they are apart is not told
 * by its first draws, and a contact passed looked like a slip (12 of the 18 clean drains of tuning seeds 1–110 that were asked about).
 */
export const leastRows = (job: Job, kind: RunKind): number =>
  kind === "drain" && job.sender.kind === "reed-ladder" ? 9 : 4;
/** What of the capacity is poured in the end, and how a stated capacity is wrong, as in room.ts. */
const poured = 0.97;
const brim = 0.995;
const capacityStandard = 0.012;
const notThisTank = 0.002;
/** The foot of a tank is narrow more often than any other part of it: from this share of the capacity on drawn, a bend is so many times as likely (named defaults, no source). */
const foot = { from: 0.6, odds: 4 };
/** Slips fainter than this are not described. */
const faintest = 0.1;

/**
 * Weighs the rows so far against each other.
 *
 * @param rows all typed so far, the one just typed last; rows without a reading still count as poured or drawn.
 * @param readingStep smallest step of the readings as they are written.
 * @param kind poured into the tank, or drawn out of a full one.
 * @returns null where there are too few rows off the stop (`leastRows`), or the reading has hardly moved: then nothing can be told.
 */
export function chancesSoFar(
  rows: PourRow[],
  stated: Job,
  readingStep: number,
  kind: RunKind = "fill",
): PourChances | null {
  // Another container has another size.
  const other = kind === "drain" && stated.drain.container === "other";
  const job = other ? { ...stated, pour: { ...stated.pour, size_L: null } } : stated;
  const soFar = runSoFar(rows, job, readingStep, kind);
  if (!soFar) return null;
  const { run, sense, nearEnd, total_L, usual_L, fixedSteps } = soFar;
  const capacity_L = job.tank.capacity_L;
  const whole_L = Math.max(total_L, capacity_L === null ? usualPours * usual_L : poured * capacity_L);
  const points = run.steps.filter((s) => s.atStop === null).map((step) => ({ run: 0, step, volume_L: step.volume_L }));
  const [first, last] = [points[0], points[points.length - 1]];
  if (!first || !last || points.length < leastRows(job, kind) || last.step.index !== rows.length - 1) return null;
  const n = points.length;
  const range_L = Math.abs(last.volume_L - first.volume_L);
  const readings = points.map((p) => p.step.reading);
  if (!(range_L > 0) || Math.max(...readings) - Math.min(...readings) < 2 * readingStep) return null;
  const fillRuns: FillRuns = {
    readingUnit: job.readingUnit ?? "V",
    sense,
    runs: [run],
    readingStep,
    repeatability: null,
    betweenRuns: null,
    hysteresis_L: null,
    scaleStandard: 0,
    startStandard_L: 0,
    fixedSteps,
    deadZones: [],
    total_L,
    capacity_L,
    deviceHeldBack: null,
  };
  const model = readingModel(fillRuns, points, [], job, [], null, Math.min(1, range_L / whole_L));
  const chain = runChain(model, points);
  const slopes = placed(chain, [], false)?.slopes ?? model.slopes;
  const pour_L = usualPour_L(run, job, chain.range_L);
  const explanations = explanationsFor(fillRuns, run, chain, slopes, job, () => false, {
    steps: Math.max(rows.length, Math.round(whole_L / pour_L) + 1),
    stopAtEnd: nearEnd,
  });
  const inTheFoot = (at: number) =>
    kind === "drain" && capacity_L !== null && total_L - points[at]!.volume_L > foot.from * capacity_L;
  const possible = explanations.map((p) =>
    p.what === "kink" && inTheFoot(p.at) ? { ...p, logPrior: p.logPrior + Math.log(foot.odds) } : p,
  );
  // Litres more in the chain are litres fewer drawn.
  const room = roomLeft(capacity_L, total_L);
  const posterior = searchStates(
    chain,
    possible,
    { ...room, odds: (more_L) => room.odds(chain.direction * more_L) },
    {
      faults: mostFaults(run.steps.length),
      kinks: 4,
    },
  );
  const best = posterior.states[0]!;
  const slips = new Map<
    number,
    Omit<Slip, "expected" | "more_L"> & { top: { share: number; state: State; member: Member } }
  >();
  for (const { state, share } of shares(posterior))
    for (const member of state.members) {
      if (member.what !== "reading" && member.what !== "pour") continue;
      // The first pour moves all points but the first: the same as a wrong first reading.
      const at = member.what === "pour" && member.at === 1 ? 0 : member.at;
      const known = slips.get(at);
      const slip = known ?? {
        row: points[at]!.step.index,
        chance: 0,
        reading: 0,
        pour: 0,
        missing: 0,
        top: { share: 0, state, member },
      };
      slip.chance += share;
      slip[member.what] += share;
      if (member.what === "pour" && member.amountName === "one-pour") slip.missing += share;
      if (share > slip.top.share) slip.top = { share, state, member };
      slips.set(at, slip);
    }
  const expectedIn = (state: State, at: number) =>
    expectedAt(
      chain,
      state.members.filter((m) => m.at !== at || m.what === "kink"),
      at,
    );
  const end = n - 1;
  return {
    slips: [...slips]
      .filter(([, s]) => s.chance >= faintest)
      .map(([at, { top, ...slip }]) => {
        const pour = top.member.what === "pour" ? seenIn(chain, top.state, top.member, pour_L) : null;
        return {
          ...slip,
          expected: expectedIn(top.state, at),
          more_L: pour && { amount: -pour.amount_L, standard: pour.standard_L },
        };
      })
      .sort((a, b) => a.row - b.row),
    expected: expectedIn(slips.get(end)?.top.state ?? best, end),
  };
}

/** While it is poured or drawn only the brim bounds what may have been in the tank. */
function roomLeft(capacity_L: number | null, total_L: number): Room {
  if (capacity_L === null) return noRoom;
  const chance = (more_L: number) =>
    normalProbability((brim - (total_L + more_L) / capacity_L) / capacityStandard) + notThisTank;
  const asWritten = Math.log(chance(0));
  return { odds: (more_L) => Math.log(chance(more_L)) - asWritten, most: Math.log(1 + notThisTank) - asWritten };
}

/** What the other points lead to expect at one: deleted residual, averaged over the settings as the other points weigh them. */
function expectedAt(run: RunChain, members: Member[], at: number): Slip["expected"] {
  const put = placed(run, members, false);
  if (!put) return null;
  const scores = chainScores(put.chain, run.settings);
  const n = put.chain.x.length;
  const node = put.node[at]!;
  const rows = run.settings.map((s, k) => {
    const u = scores.readingScore[k * n + node]!;
    const d = scores.readingInformation[k * n + node]!;
    return {
      off: u / d,
      variance: 1 / d,
      log: s.logPrior + scores.logLikelihood[k]! - 0.5 * Math.log(d) + (0.5 * u * u) / d,
    };
  });
  const known = rows.filter((r) => Number.isFinite(r.log));
  if (known.length === 0) return null;
  const top = Math.max(...known.map((r) => r.log));
  let total = 0;
  let mean = 0;
  let second = 0;
  for (const r of known) {
    const w = Math.exp(r.log - top);
    total += w;
    mean += w * r.off;
    second += w * (r.variance + r.off * r.off);
  }
  mean /= total;
  const standard = Math.sqrt(Math.max(0, second / total - mean * mean));
  const { coordinate, points } = run;
  const read = points[at]!.step.reading;
  // Newton's steps back from the coordinate to the reading.
  const wanted = coordinate.of(read) - mean;
  let reading = read;
  for (let k = 0; k < 20; k++) reading -= (coordinate.of(reading) - wanted) / coordinate.slope(reading);
  if (!Number.isFinite(reading) || Math.abs(coordinate.of(reading) - wanted) > 1e-6) return null;
  return { reading, standard: standard / Math.abs(coordinate.slope(reading)) };
}
