/**
 * Search: which faults and bends, alone and together, explain a fill run? Every state (a set of faults and bends) has an
 * exact evidence; the search keeps the likeliest ones of each size and adds one member at a time, so that two faults
 * that hide each other, and a bend that only looked like one beside a fault, are all weighed against each other.
 */
import { chainLikelihoods, chainScores, type Noise, type Scores } from "../math/smooth-chain";
import { type Member, type PlacedChain, placed, type RunChain, shelfGaps, takenIn, takesIn } from "./run-chain";
import type { Possible } from "./suspect-explanations";

export interface State {
  members: Member[];
  /** log of prior times evidence. */
  log: number;
}

export interface Posterior {
  /** Evaluated exactly, likeliest first. */
  states: State[];
  /** Children that were too unlikely to be evaluated: their weight as the straight-line scores see it. */
  tail: State[];
}

export interface Limits {
  faults: number;
  kinks: number;
}

/** States kept of each size, children evaluated of each state, and how far (log) below the best a state is still extended. */
const width = 6;
const children = 9;
const reach = { first: 12, later: 4.5 };
/** A setting counts while it is not fainter (log) than this against the likeliest of its state. */
const faintSetting = 7;

/** @param room log of how much likelier so many litres more in the run make the stated capacity. */
export function searchStates(
  run: RunChain,
  possible: Possible[],
  room: (more_L: number) => number,
  limits: Limits,
  hangs: Possible[][] = [],
): Posterior {
  const start = placed(run, [], false);
  if (!start) return { states: [{ members: [], log: 0 }], tail: [] };
  let active = run;
  let scratch: Scores | undefined;
  let needed = new Set<Noise>();
  const evidence = (put: PlacedChain): number => {
    const logs = chainLikelihoods(put.chain, active.settings).map((l, k) => l + active.settings[k]!.logPrior);
    const top = Math.max(...logs);
    for (let k = 0; k < logs.length; k++) if (logs[k]! > top - faintSetting) needed.add(active.settings[k]!);
    return top + Math.log(logs.reduce((s, l) => s + Math.exp(l - top), 0)) - run.logPriorTotal;
  };
  const none: State = { members: [], log: evidence(start) };
  const seen = new Map<string, State>([["", none]]);
  const tail: State[] = [];
  let frontier = [none];
  let best = none.log;
  for (let size = 1; size <= limits.faults + limits.kinks + 2 && frontier.length > 0; size++) {
    const next: State[] = [];
    const cut = best - (size <= 2 ? reach.first : reach.later);
    for (const state of frontier.filter((s) => s.log >= cut).slice(0, size === 1 ? 1 : width)) {
      const ranked = extensions(active, state, possible, room, limits, Math.min(cut, best - 9), scratch);
      scratch = ranked.scratch;
      for (const [rank, child] of ranked.found.entries()) {
        const newest = child.members[child.members.length - 1]!;
        const whole = isWhole(newest) && (newest.what !== "shelf" || state === frontier[0]);
        if (!whole && (rank >= children || child.log < cut)) {
          if (child.log > best - 9) tail.push(child);
          continue;
        }
        const key = keyOf(child.members);
        if (seen.has(key)) continue;
        const put = placed(run, child.members, false);
        if (!put) continue;
        const more_L = child.members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
        const exact: State = {
          members: child.members,
          log: evidence(put) + child.members.reduce((s, m) => s + m.logPrior, 0) + room(more_L),
        };
        // An amount beyond all measure has no evidence: it is no explanation.
        if (!Number.isFinite(exact.log)) continue;
        seen.set(key, exact);
        next.push(exact);
        best = Math.max(best, exact.log);
      }
    }
    // A hang of several pours goes in whole beside the likeliest of what is already there.
    for (const state of size <= 2 ? frontier.slice(0, size === 1 ? 1 : width) : [])
      for (const hang of hangs) {
        const members = [...state.members, ...hang];
        const faults = members.filter((m) => m.what === "reading" || m.what === "pour").length;
        if (faults > Math.max(limits.faults, hang.length) || seen.has(keyOf(members))) continue;
        if (hang.some((m) => state.members.some((other) => clash(other, m)))) continue;
        const put = placed(run, members, false);
        if (!put) continue;
        const more_L = members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
        const log = evidence(put) + members.reduce((s, m) => s + m.logPrior, 0) + room(more_L);
        if (!Number.isFinite(log)) continue;
        seen.set(keyOf(members), { members, log });
        next.push({ members, log });
        best = Math.max(best, log);
      }
    next.sort((a, b) => b.log - a.log);
    frontier = next;
    // What explains more needs less noise and less roughness: settings over all that one member more needed are dropped.
    if (size <= 2) active = narrowed(run, needed);
    needed = new Set();
  }
  const states = [...seen.values()].filter((s) => s.log > best - 12).sort((a, b) => b.log - a.log);
  return { states, tail: tail.filter((t) => !seen.has(keyOf(t.members))) };
}

function narrowed(run: RunChain, needed: Set<Noise>): RunChain {
  if (needed.size === 0) return run;
  const most = (of: (s: Noise) => number) => Math.max(...[...needed].map(of));
  const [factor, scatter, roughness] = [most((s) => s.factor), most((s) => s.scatter), most((s) => s.roughness)];
  return {
    ...run,
    settings: run.settings.filter((s) => s.factor <= factor && s.scatter <= scatter && s.roughness <= roughness),
  };
}

const nameOf = (m: Member) => `${m.what}${m.at}${m.between ? "+" : ""}${m.past ?? ""}${m.amountName}`;
const keyOf = (members: Member[]) => members.map(nameOf).sort().join(" ");

/** A state with one member more, likeliest first by the scores; none that lies under the floor. */
function extensions(
  run: RunChain,
  state: State,
  possible: Possible[],
  room: (more_L: number) => number,
  limits: Limits,
  floor: number,
  scratch: Scores | undefined,
): { found: State[]; scratch: Scores | undefined } {
  const put = placed(run, state.members, true);
  if (!put) return { found: [], scratch };
  const faults = state.members.filter((m) => m.what === "reading" || m.what === "pour").length;
  const shelves = state.members.filter((m) => m.what === "shelf").length;
  const kinks = state.members.filter((m) => m.what === "kink").length;
  const scores = chainScores(put.chain, run.settings, scratch);
  const weight = Float64Array.from(run.settings, (s, k) => scores.logLikelihood[k]! + s.logPrior);
  const gains = new Float64Array(weight.length);
  const top = Math.max(...weight);
  const base = top + Math.log(weight.reduce((s, w) => s + Math.exp(w - top), 0)) - run.logPriorTotal;
  const held_L = state.members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
  // The same few amounts come back at every step.
  const known = new Map<number, number>();
  const roomFor = (more_L: number): number => {
    const log = known.get(more_L) ?? room(more_L);
    known.set(more_L, log);
    return log;
  };
  const found: State[] = [];
  for (const p of possible) {
    if (
      p.what === "kink" ? kinks >= limits.kinks : (p.what === "reading" || p.what === "pour") && faults >= limits.faults
    )
      continue;
    const room2 = p.what === "pour" ? state.members.find((m) => m.what === "shelf" && takesIn(m, p)) : undefined;
    if (state.members.some((m) => m !== room2 && clash(m, p))) continue;
    if (p.what === "shelf" && shelves > 0) continue;
    if (room2) {
      const shelf = withPour(run, room2, state.members, p);
      if (!shelf) continue;
      const more = roomFor(held_L + p.mean) - roomFor(held_L);
      const log = state.log + shelf.logPrior - room2.logPrior + p.logPrior + more;
      const others = state.members.filter((m) => m !== room2);
      if (log >= floor) found.push({ members: [...others, shelf, p], log });
      continue;
    }
    // What changes too much for the scores is put in at once.
    const whole = isWhole(p);
    const free = p.amountName === "any" && (p.what === "pour" || (p.what === "shelf" && p.past === p.at));
    const movedBy = (mean: number) => (p.what === "pour" ? roomFor(held_L + mean) - roomFor(held_L) : 0);
    // Of a pour of any amount it is not known beforehand what the stated capacity says.
    const least =
      free && p.what === "pour"
        ? Number.NEGATIVE_INFINITY
        : floor - state.log + base - p.logPrior - movedBy(p.mean) - 1e-9;
    const gain = whole ? { log: base, amount: 0 } : gainOf(run, put, scores, weight, top, p, least, gains);
    if (!gain) continue;
    // A shelf takes volume off the way of the surface and never more than was poured there.
    if (free && p.what === "shelf" && !(gain.amount < 0)) continue;
    const most =
      free && p.what === "shelf" ? 0.98 * run.range_L * (run.x[p.at]! - run.x[p.at - 1]!) : Number.POSITIVE_INFINITY;
    const mean = free ? Math.max(-most, gain.amount) : p.mean;
    const logPrior = p.logPrior + (free ? -0.5 * (mean / p.standard) ** 2 : 0);
    const log = state.log + gain.log - base + p.logPrior + movedBy(mean);
    if (log >= floor || whole) found.push({ members: [...state.members, { ...p, mean, logPrior }], log });
  }
  return { found: found.sort((a, b) => b.log - a.log), scratch: scores };
}

/**
 * A second room that also took a pour which is not as written: the readings stay as they are and the room is so much larger, so
 * that only the sheet's amounts and the stated capacity speak for it. Null for a pour of any amount, which would be the room's own
 * size over again, and where nothing would be left of the room.
 */
function withPour(run: RunChain, shelf: Member, members: Member[], pour: Possible): Member | null {
  if (pour.amountName === "any") return null;
  const thin = shelf.past === shelf.at;
  const size_L = thin ? -shelf.mean : shelfGaps(run, shelf)[2] * run.range_L + takenIn(shelf, members);
  const with_L = size_L + pour.mean;
  if (!(with_L > 0)) return null;
  const logPrior = shelf.logPrior - 0.5 * ((with_L ** 2 - size_L ** 2) / shelf.standard ** 2);
  return { ...shelf, mean: thin ? -with_L : shelf.mean, logPrior };
}

/** A shelf with points on it; a slip of the pen, of which a sheet has few: the scores carry neither over so many litres. */
const isWhole = (p: Possible): boolean => (p.what === "shelf" && p.past! > p.at) || p.amountName === "slip";

/** Two faults of one step are one fault; two bends at one place are one bend. */
function clash(a: Member, b: Possible): boolean {
  if (a.what === "kink" || b.what === "kink") return a.what === b.what && a.at === b.at && a.between === b.between;
  // What stands on a shelf is explained by it.
  const on = (shelf: Member, m: Member) => shelf.what === "shelf" && takesIn(shelf, m);
  return a.at === b.at || on(a, b) || on(b, a);
}

/**
 * log evidence with the explanation put in, by the scores, and its amount where that is likeliest.
 * @param least below it the evidence is of no use. @param gains room for one number a setting. @returns null there, and where the scores say nothing.
 */
function gainOf(
  run: RunChain,
  put: PlacedChain,
  scores: Scores,
  weight: Float64Array,
  top: number,
  p: Possible,
  least: number,
  gains: Float64Array,
): { log: number; amount: number } | null {
  const n = put.chain.x.length;
  const node = p.between ? put.half[p.at]! : put.node[p.at]!;
  if (node < 0) return null;
  const [score, information] =
    p.what === "pour" || p.what === "shelf"
      ? [scores.pourScore, scores.pourInformation]
      : p.what === "kink"
        ? [scores.bendScore, scores.bendInformation]
        : [scores.readingScore, scores.readingInformation];
  const unit = p.what === "pour" || p.what === "shelf" ? run.range_L : 1;
  const mean = p.mean / unit;
  const precision = (unit / p.standard) ** 2;
  // Most that any setting can give, times their number: two of three explanations are seen to be of no use by it.
  let most = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < weight.length; k++) {
    const c = score[k * n + node]!;
    const g = information[k * n + node]!;
    const b = c - g * mean;
    const gain = weight[k]! + mean * c - 0.5 * mean * mean * g + (0.5 * b * b) / (precision + g);
    gains[k] = gain;
    most = Math.max(most, gain);
  }
  if (most + Math.log(weight.length) - run.logPriorTotal < least) return null;
  let sum = 0;
  let bestLog = Number.NEGATIVE_INFINITY;
  let amount = 0;
  let level = top;
  for (let k = 0; k < weight.length; k++) {
    const g = information[k * n + node]!;
    if (!(g > 1e-12)) continue;
    const log = gains[k]! - 0.5 * Math.log1p(g / precision);
    if (log > level) {
      sum *= Math.exp(level - log);
      level = log;
    }
    sum += Math.exp(log - level);
    if (log > bestLog) {
      bestLog = log;
      amount = mean + (score[k * n + node]! - g * mean) / (precision + g);
    }
  }
  if (!(sum > 0)) return null;
  return { log: level + Math.log(sum) - run.logPriorTotal, amount: amount * unit };
}
