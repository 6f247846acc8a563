/**
 * Search: which faults and bends, alone and together, explain a fill run? Every state (a set of faults and bends) has an
 * exact evidence; the search keeps the likeliest ones of each size and adds one member at a time, so that two faults
 * that hide each other, and a bend that only looked like one beside a fault, are all weighed against each other.
 */
import { type Course, chainCourse, likelihoodsBeside } from "../math/chain-course";
import { chainLikelihoods, chainScores, type Noise, type Scores } from "../math/smooth-chain";
import type { Room } from "./room";
import { type Member, type PlacedChain, placed, type RunChain, shelfGaps, takenIn, takesIn } from "./run-chain";
import { gainOf, mostGains, settingWeights } from "./score-gain";
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
/** A state that is not evaluated counts by the scores while it is not fainter (log) than this against the likeliest. */
const inTail = 9;
/** A setting counts while it is not fainter (log) than this against the likeliest of its state. */
const faintSetting = 7;

export function searchStates(
  run: RunChain,
  possible: Possible[],
  room: Room,
  limits: Limits,
  hangs: Possible[][] = [],
): Posterior {
  const start = placed(run, [], false);
  if (!start) return { states: [{ members: [], log: 0 }], tail: [] };
  let active = run;
  const scratch: Scratch = {};
  let needed = new Set<Noise>();
  const evidence = (put: PlacedChain, beside: Course | null = null): number => {
    const likelihoods = beside ? likelihoodsBeside(beside, put.chain) : chainLikelihoods(put.chain, active.settings);
    const logs = likelihoods.map((l, k) => l + active.settings[k]!.logPrior);
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
      // A child's chain is its parent's up to what it adds.
      let parent: Course | null = null;
      let rank = -1;
      const within = () => best - inTail;
      for (const child of extensions(active, state, possible, room, limits, Math.min(cut, within()), within, scratch)) {
        rank++;
        const newest = child.members[child.members.length - 1]!;
        const whole = isWhole(newest) && (newest.what !== "shelf" || state === frontier[0]);
        if (!whole && (rank >= children || child.log < cut)) {
          if (child.log > within()) tail.push(child);
          continue;
        }
        const key = keyOf(child.members);
        if (seen.has(key)) continue;
        parent ??= chainCourse(placed(run, state.members, false)!.chain, active.settings);
        const put = placed(run, child.members, false);
        if (!put) continue;
        const more_L = child.members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
        const exact: State = {
          members: child.members,
          log: evidence(put, parent) + child.members.reduce((s, m) => s + m.logPrior, 0) + room.odds(more_L),
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
        const log = evidence(put) + members.reduce((s, m) => s + m.logPrior, 0) + room.odds(more_L);
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

/** Scores that are no longer needed. */
interface Scratch {
  scores?: Scores;
}

/**
 * A state with one member more, likeliest first by the scores. The likeliest few are weighed out of all that come over the floor; the rest once those
 * are evaluated, since the floor has then risen and mostly nothing of them is left.
 * @param floor under it a child is of no use. @param within the same for all but the likeliest few; it never falls.
 */
function* extensions(
  run: RunChain,
  state: State,
  possible: Possible[],
  room: Room,
  limits: Limits,
  floor: number,
  within: () => number,
  scratch: Scratch,
): Generator<State> {
  const put = placed(run, state.members, true);
  if (!put) return;
  const faults = state.members.filter((m) => m.what === "reading" || m.what === "pour").length;
  const shelves = state.members.filter((m) => m.what === "shelf").length;
  const kinks = state.members.filter((m) => m.what === "kink").length;
  const scores = chainScores(put.chain, run.settings, scratch.scores);
  scratch.scores = scores;
  const weights = settingWeights(run, scores);
  const { log: weight, top } = weights;
  const gains = new Float64Array(weight.length);
  const base = top + Math.log(weight.reduce((s, w) => s + Math.exp(w - top), 0)) - run.logPriorTotal;
  const held_L = state.members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
  const mostGain = mostGains(run, put, scores, weights);
  // The same few amounts come back at every step.
  const known = new Map<number, number>();
  const roomFor = (more_L: number): number => {
    const log = known.get(more_L) ?? room.odds(more_L);
    known.set(more_L, log);
    return log;
  };
  const mostRoom = room.most - roomFor(held_L);
  const movedBy = (p: Possible, mean: number) => (p.what === "pour" ? roomFor(held_L + mean) - roomFor(held_L) : 0);
  const weigh = (p: Possible, whole: boolean, floor: number): State | null => {
    const free = p.amountName === "any" && (p.what === "pour" || (p.what === "shelf" && p.past === p.at));
    // Of a pour of any amount it is not known beforehand what the stated capacity says.
    const moved = free && p.what === "pour" ? mostRoom : movedBy(p, p.mean);
    const least = floor - state.log + base - p.logPrior - moved - 1e-9;
    const gain = whole ? { log: base, amount: 0 } : gainOf(run, put, scores, weights, p, least, gains);
    if (!gain) return null;
    // A shelf takes volume off the way of the surface and never more than was poured there.
    if (free && p.what === "shelf" && !(gain.amount < 0)) return null;
    const most =
      free && p.what === "shelf" ? 0.98 * run.range_L * (run.x[p.at]! - run.x[p.at - 1]!) : Number.POSITIVE_INFINITY;
    const mean = free ? Math.max(-most, gain.amount) : p.mean;
    const logPrior = p.logPrior + (free ? -0.5 * (mean / p.standard) ** 2 : 0);
    const log = state.log + gain.log - base + p.logPrior + movedBy(p, mean);
    return log >= floor || whole ? { members: [...state.members, { ...p, mean, logPrior }], log } : null;
  };
  const open: { p: Possible; ceiling: number; order: number }[] = [];
  const found: { child: State; order: number }[] = [];
  for (const [order, p] of possible.entries()) {
    if (
      p.what === "kink" ? kinks >= limits.kinks : (p.what === "reading" || p.what === "pour") && faults >= limits.faults
    )
      continue;
    // What changes too much for the scores is put in at once.
    const whole = isWhole(p);
    const room2 =
      p.what === "pour" && shelves > 0 ? state.members.find((m) => m.what === "shelf" && takesIn(m, p)) : undefined;
    const ceiling =
      whole || room2
        ? Number.POSITIVE_INFINITY
        : state.log + mostGain(p) - base + p.logPrior + (p.what === "pour" ? mostRoom : 0) + 1e-6;
    if (ceiling < floor) continue;
    if (state.members.some((m) => m !== room2 && clash(m, p))) continue;
    if (p.what === "shelf" && shelves > 0) continue;
    if (room2) {
      const shelf = withPour(run, room2, state.members, p);
      if (!shelf) continue;
      const more = roomFor(held_L + p.mean) - roomFor(held_L);
      const log = state.log + shelf.logPrior - room2.logPrior + p.logPrior + more;
      const others = state.members.filter((m) => m !== room2);
      if (log >= floor) found.push({ child: { members: [...others, shelf, p], log }, order });
    } else if (whole) found.push({ child: weigh(p, true, floor)!, order });
    else open.push({ p, ceiling, order });
  }
  open.sort((a, b) => b.ceiling - a.ceiling);
  const sorted = () => found.sort((a, b) => b.child.log - a.child.log || a.order - b.order);
  let next = 0;
  /** Weighs what may come over `level`, highest ceilings first. */
  const weighOver = (level: () => number, floor: number) => {
    for (; next < open.length && !(open[next]!.ceiling < level()); next++) {
      const { p, order } = open[next]!;
      const child = weigh(p, false, floor);
      if (!child) continue;
      found.push({ child, order });
      likeliest.push(child.log);
    }
  };
  // The lowest of the likeliest few so far: what cannot come over it is not among them.
  const likeliest = highest(
    children,
    found.map((f) => f.child.log),
  );
  weighOver(likeliest.lowest, floor);
  const first = sorted().splice(0, children);
  for (const { child } of first) yield child;
  weighOver(within, within());
  for (const { child } of sorted()) yield child;
}

/** The lowest of the `count` highest numbers so far. */
function highest(count: number, first: number[]) {
  const kept = [...first].sort((a, b) => b - a).slice(0, count);
  return {
    push(value: number): void {
      let at = kept.length;
      while (at > 0 && kept[at - 1]! < value) at--;
      if (at < count) kept.splice(at, 0, value);
      kept.length = Math.min(kept.length, count);
    },
    lowest: (): number => (kept.length < count ? Number.NEGATIVE_INFINITY : kept[count - 1]!),
  };
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

/** A pour into a second room that is not as written: litres that it held more, and its odds against the sheet as it stands. */
export interface Unseen {
  more_L: number;
  odds: number;
}

/**
 * Pours that a state's second room may have taken in other than written. No reading speaks for or against one of them, so that each stands far under
 * the state itself and is not searched; together they are the more the longer the room took to fill.
 * @returns nothing for a state without a room, or with such a pour already in it.
 */
export function unseenIn(run: RunChain, { members }: State, possible: Possible[], room: Room): Unseen[] {
  const shelf = members.find((m) => m.what === "shelf");
  if (!shelf || members.some((m) => m.what === "pour" && takesIn(shelf, m))) return [];
  const held_L = members.reduce((s, m) => s + (m.what === "pour" ? m.mean : 0), 0);
  return possible.flatMap((p) => {
    if (p.what !== "pour" || !takesIn(shelf, p)) return [];
    const larger = withPour(run, shelf, members, p);
    if (!larger) return [];
    const log = larger.logPrior - shelf.logPrior + p.logPrior + room.odds(held_L + p.mean) - room.odds(held_L);
    return [{ more_L: p.mean, odds: Math.exp(log) }];
  });
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
