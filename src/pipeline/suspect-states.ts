/** States of one run: what may be true of it, with its chance. Raised faults and the band both come from the same states. */
import { type Course, chainCourse, likelihoodsBeside } from "../math/chain-course";
import type { Noise } from "../math/smooth-chain";
import type { Coordinate } from "./coordinate";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { readingModel } from "./reading-model";
import { roomIn } from "./room";
import { placed, type RunChain, runChain, shelfGaps, takenIn } from "./run-chain";
import { chordSpan } from "./slopes";
import type { FitPoint, PutIn } from "./smooth-problem";
import { type Diagnostic, diagnoseRun } from "./suspect-diagnostics";
import { chanceOf, faultAt, type OddEnd, type Raised, raiseFrom, toldFaults } from "./suspect-events";
import { explanationsFor, longHangs, mostFaults, readBefore, repeatsAt, usualPour_L } from "./suspect-explanations";
import { type Posterior, type State, searchStates, type Unseen, unseenIn } from "./suspect-search";

/** What one run may be: the points that count, where they stand, and the bends of the tank. */
export interface RunState {
  chance: number;
  points: FitPoint[];
  putIns: PutIn[];
  /** Litres since the start. */
  kinks_L: number[];
  /** A second room that fills over a wall: its size in litres lies at one height. Points and bends stand as if it were not there. */
  shelf: Shelf | null;
  /** Settings of the smooth curve that count; null: not known, all are weighed. */
  noises: Noise[] | null;
}

export interface Shelf {
  /** Litres under it, and how well that is known. */
  from_L: number;
  spread_L: number;
  size_L: number;
  /** Last step under it, and first step over it. */
  steps: [number, number];
  /** What it may have taken in other than written, with the odds of each against nothing. */
  unseen: Unseen[];
}

export interface Weighed {
  raised: Raised[];
  oddEnds: OddEnd[];
  coordinate: Coordinate["name"] | null;
  /** Likeliest first; their chances sum to 1. */
  states: RunState[];
  /** End steps that the sender's stop hides more likely than not: they stay in the curve by their chance and say nothing of pours. */
  hidden: number[];
  /** By step, in the likeliest state that holds what was raised. */
  diagnostics: { step: number; diagnostic: Diagnostic }[];
}

/** Most bends that the tank may have before the rest is left to the roughness. */
const mostKinks = 4;
/** States fainter than this, against the likeliest, are left out of the band; and so many are kept. */
const faintest = 0.02;
const mostStates = 8;
/**
 * A state's log odds against the likeliest are taken so many times: of what is stated with a chance of 0.1 to 0.5 only two thirds is so on
 * tuning seeds 1–700, since every step may be wrong in several ways and each of them takes a part. Chosen on seeds 1–360: the band is 2 % narrower
 * and covers 94.5 instead of 94.7 %, the curve is as near.
 */
const sharpened = 1.2;
/** Settings of a state fainter than this, against its likeliest, do not count. */
const faintSetting = 0.03;

/** @param putIns pours that the technician put in; the points' volumes hold them already. */
export function weighStates(
  fillRuns: FillRuns,
  r: number,
  points: FitPoint[],
  putIns: PutIn[],
  job: FillJob,
  decided: (index: number) => boolean,
): Weighed {
  const asWritten: RunState = { chance: 1, points, putIns, kinks_L: [], shelf: null, noises: null };
  if (points.length < 6)
    return { raised: [], oddEnds: [], coordinate: null, states: [asWritten], hidden: [], diagnostics: [] };
  const fillRun = fillRuns.runs[r]!;
  const model = readingModel(fillRuns, points, putIns, job);
  const run = runChain(model, points);
  const slopes = placed(run, [], false)?.slopes ?? model.slopes;
  const pour_L = usualPour_L(fillRun, job, run.range_L);
  const last = points[points.length - 1]!;
  const beyond_L = fillRun.steps[fillRun.steps.length - 1]!.volume_L - last.step.volume_L;
  const room = roomIn(fillRuns, fillRun, job, pour_L, last.volume_L + beyond_L);
  const possible = explanationsFor(fillRuns, fillRun, run, slopes, job, decided);
  const limits = { faults: mostFaults(fillRun.steps.length), kinks: mostKinks };
  // On a ladder, and among close neighbours, readings repeat by nature.
  const mayHang = !fillRuns.fixedSteps && chordSpan(points.length) === 1;
  const hangs = mayHang ? longHangs(possible, (k) => repeatsAt(run, slopes, k, fillRuns, readBefore(fillRun, k))) : [];
  const posterior = searchStates(run, possible, room, limits, hangs);
  const { raised, oddEnds } = toldFaults(run, fillRun, fillRuns, posterior, slopes, pour_L);
  const kept = oddEnds.reduce((states, { place }) => undecided(states, place), keep(posterior));
  // What the states have in common, from the first step on, is walked once.
  const course = chainCourse(placed(run, kept[0]!.state.members, true)!.chain, run.settings);
  const states = kept.map(({ state, chance }) => ({
    ...runState(run, course, r, state, putIns, unseenIn(run, state, possible, room)),
    chance,
  }));
  const holds = (s: State) =>
    raised.every((f) => s.members.some((m) => m.what !== "kink" && points[m.at]!.step.index === f.event.step));
  const best = kept.find(({ state }) => holds(state)) ?? kept[0]!;
  const hidden = [0, points.length - 1].filter(
    (k) => chanceOf(posterior, (m) => m.what === "hidden" && m.at === k) > 0.5,
  );
  const diagnostics = diagnoseRun(run, best.state.members, possible, room, raiseFrom).map((diagnostic, i) => ({
    step: points[i]!.step.index,
    diagnostic,
  }));
  return {
    raised,
    oddEnds: oddEnds.map((o) => o.end),
    coordinate: model.coordinate.name,
    states,
    hidden: hidden.map((k) => points[k]!.step.index),
    diagnostics,
  };
}

interface Kept {
  state: State;
  chance: number;
}

function keep(posterior: Posterior): Kept[] {
  const top = posterior.states[0]!.log;
  const kept = posterior.states
    .map((state) => ({ state, chance: Math.exp(sharpened * (state.log - top)) }))
    .filter((s) => s.chance >= faintest)
    .slice(0, mostStates);
  const total = kept.reduce((s, k) => s + k.chance, 0);
  return kept.map((k) => ({ ...k, chance: k.chance / total }));
}

/** What is not raised must not decide the curve: the states with a fault there get at most so much of the weight, and the band still holds them. */
const mostUndecided = 0.45;

function undecided(kept: Kept[], place: number): Kept[] {
  const odd = kept.reduce((sum, { state, chance }) => sum + (faultAt(state, place) ? chance : 0), 0);
  if (odd <= mostUndecided || odd >= 1) return kept;
  const scaled = (has: boolean) => (has ? mostUndecided / odd : (1 - mostUndecided) / (1 - odd));
  return kept
    .map(({ state, chance }) => ({ state, chance: chance * scaled(faultAt(state, place)) }))
    .sort((a, b) => b.chance - a.chance);
}

function runState(
  run: RunChain,
  course: Course,
  r: number,
  state: State,
  putIns: PutIn[],
  unseen: Unseen[],
): Omit<RunState, "chance"> {
  const put = placed(run, state.members, true)!;
  const likelihoods = likelihoodsBeside(course, put.chain);
  const logs = run.settings.map((s, k) => s.logPrior + likelihoods[k]!);
  const top = Math.max(...logs);
  const moved = run.points.map((p, i) => ({
    ...p,
    volume_L: run.low_L + run.direction * put.chain.x[put.node[i]!]! * run.range_L,
  }));
  const aside = new Set(state.members.filter((m) => m.what === "reading" || m.what === "hidden").map((m) => m.at));
  const wall = state.members.find((m) => m.what === "shelf");
  let shelf: Shelf | null = null;
  if (wall) {
    const on = wall.past! > wall.at ? shelfGaps(run, wall) : null;
    const taken_L = takenIn(wall, state.members);
    const size_L = on ? on[2] * run.range_L + taken_L : -wall.mean;
    const before_L = moved[wall.at - 1]!.volume_L;
    const gap_L = on ? on[0] * run.range_L : (run.x[wall.at]! - run.x[wall.at - 1]!) * run.range_L + taken_L;
    const open_L = on ? gap_L : Math.max(0, gap_L - size_L);
    const steps: [number, number] = [run.points[wall.at - 1]!.step.index, run.points[wall.past!]!.step.index];
    shelf = { from_L: before_L + 0.5 * open_L, spread_L: open_L / Math.sqrt(12), size_L, steps, unseen };
  }
  return {
    shelf,
    points: moved.filter((_, i) => !aside.has(i)),
    putIns: [
      ...putIns,
      ...state.members
        .filter((m) => m.what === "pour")
        .map((m) => ({ run: r, step: run.points[m.at]!.step.index, amount_L: m.mean, standard_L: m.standard })),
    ],
    noises: run.settings.filter((_, k) => logs[k]! > top + Math.log(faintSetting)),
    kinks_L: state.members
      .filter((m) => m.what === "kink")
      .map(
        (m) => run.low_L + run.direction * put.chain.x[m.between ? put.half[m.at]! : put.node[m.at]!]! * run.range_L,
      ),
  };
}
