/** From weighed states to what is told: which steps are raised, as what, how large, and what else it may be. */

import { chainScores } from "../math/smooth-chain";
import { say } from "../said";
import type { FillRun, FillRuns } from "./fill-run";
import { litresWithin } from "./litres";
import { type Member, placed, type RunChain, takesIn } from "./run-chain";
import { sideOf } from "./sheet-words";
import { readBefore, repeatsAt } from "./suspect-explanations";
import type { Posterior, State } from "./suspect-search";
import { leftOpen, sentenceOf, unseenPour } from "./suspect-sentences";
import type { FaultEvent, FaultKind } from "./suspect-steps";

/**
 * A fault is told from one chance in five on, and treated (set aside, put in) once it is likelier than not. Beside a fault that is likelier
 * than not a fainter doubt is told too: that sheet is held against the receipts anyway, and a second look at it costs little. At an end,
 * where nothing can be told apart and nothing can be done but look, it is told from three in four on. On tuning seeds 1–999 this finds 96 %
 * of the faults of five standard errors and flags 10 % of the clean jobs; from one in four on, alone, it was 95.5 % and 8 %, from one in two
 * on 93 % and 3 % (tests/promises).
 */
export const raiseFrom = 0.2;
export const raiseBesideFrom = 0.15;
export const treatFrom = 0.5;
export const raiseEndFrom = 0.75;

/** States and tail with their share of the whole weight. */
export function shares(posterior: Posterior): { state: State; share: number }[] {
  const all = [...posterior.states, ...posterior.tail];
  const top = Math.max(...all.map((s) => s.log));
  const weights = all.map((s) => Math.exp(s.log - top));
  const total = weights.reduce((s, w) => s + w, 0);
  return all.map((state, i) => ({ state, share: weights[i]! / total }));
}

/** Chance that a state holds such a member. */
export const chanceOf = (posterior: Posterior, such: (m: Member) => boolean): number =>
  shares(posterior).reduce((sum, { state, share }) => sum + (state.members.some(such) ? share : 0), 0);

/** The tank itself: a bend, or a second room that fills over a wall. */
const isShape = (m: Member) => m.what === "kink" || m.what === "shelf";
const isFault = (m: Member) => m.what === "reading" || m.what === "pour";
/** The first pour moves all points but the first: the same as a wrong first reading. */
const placeOf = (m: Member) => (m.what === "pour" && m.at === 1 ? 0 : m.at);

export interface Raised {
  event: FaultEvent;
  /** Litres to put in for a pour, with what is not known of them; null where the step is set aside. */
  putIn: { amount_L: number; standard_L: number } | null;
}

/** A first or last step that is odder than not, and not by enough to be raised: how far it lies off the rest, litres. */
export interface OddEnd {
  step: number;
  chance: number;
  seen_L: number;
  seenStandard_L: number;
}

/** Whether a state holds a fault at the place that an odd end speaks of. */
export const faultAt = (state: State, place: number): boolean =>
  state.members.some((m) => isFault(m) && placeOf(m) === place);

export interface Told {
  /** Faults that are likely enough to be raised, in the order of the steps. */
  raised: Raised[];
  /** Ends that are not raised and still likelier odd than not, with the place of each among the points. */
  oddEnds: { end: OddEnd; place: number }[];
}

export function toldFaults(
  run: RunChain,
  fillRun: FillRun,
  fillRuns: FillRuns,
  posterior: Posterior,
  slopes: number[],
  pour_L: number,
): Told {
  const weighed = shares(posterior);
  const n = run.x.length;
  const doubts: { k: number; chance: number; ranked: Ranked[] }[] = [];
  const kinds = new Map<number, Map<string, Ranked & { top: number }>>();
  const chanceAt = new Map<number, number>();
  for (const { state, share } of weighed) {
    const told = new Set<number>();
    for (const member of state.members) {
      const k = placeOf(member);
      if (!isFault(member) || told.has(k)) continue;
      told.add(k);
      chanceAt.set(k, (chanceAt.get(k) ?? 0) + share);
      const chances = kinds.get(k) ?? new Map<string, Ranked & { top: number }>();
      kinds.set(k, chances);
      const name = `${member.what} ${member.amountName}`;
      const known = chances.get(name);
      if (!known) chances.set(name, { member, state, share, top: share });
      else {
        known.share += share;
        if (share > known.top) Object.assign(known, { member, state, top: share });
      }
    }
  }
  const isEnd = (k: number) => k === 0 || k === n - 1;
  const from = [...chanceAt].some(([k, chance]) => !isEnd(k) && chance >= treatFrom) ? raiseBesideFrom : raiseFrom;
  for (const k of [...kinds.keys()].sort((a, b) => a - b)) {
    const chance = chanceAt.get(k)!;
    if (chance < (isEnd(k) ? raiseEndFrom : from)) continue;
    doubts.push({ k, chance, ranked: [...kinds.get(k)!.values()].sort((a, b) => b.share - a.share) });
  }
  doubts.sort((a, b) => b.chance - a.chance);
  const told = doubts.filter(
    ({ k, chance }, i) => chance >= treatFrom || !doubts.slice(0, i).some((o) => insteadOf(weighed, k, o.k, chance)),
  );
  const oddEnds = [0, n - 1].flatMap((k) => {
    const chance = chanceAt.get(k) ?? 0;
    if (chance < treatFrom || chance >= raiseEndFrom) return [];
    const { state, member } = [...kinds.get(k)!.values()].reduce((a, b) => (b.share > a.share ? b : a));
    const seen = seenIn(run, state, member, pour_L);
    const step = run.points[k]!.step.index;
    return [{ place: k, end: { step, chance, seen_L: seen.amount_L, seenStandard_L: seen.standard_L } }];
  });
  return {
    raised: told
      .map(({ k, chance, ranked }) =>
        describe(run, fillRun, fillRuns, k, ranked, shapeBeside(weighed, ranked[0]!), slopes, pour_L, chance),
      )
      .sort((a, b) => a.event.step - b.event.step),
    oddEnds,
  };
}

/** A doubt that stands mostly in states without a likelier one is another reading of the same trouble: it is told as its alternative. */
function insteadOf(weighed: { state: State; share: number }[], k: number, likelier: number, chance: number): boolean {
  const both = weighed.reduce(
    (s, { state, share }) => s + (faultAt(state, k) && faultAt(state, likelier) ? share : 0),
    0,
  );
  return both < 0.2 * chance;
}

interface Ranked {
  member: Member;
  state: State;
  share: number;
}

/** The bend or second room that would take the fault's place, if one would. */
function shapeBeside(weighed: { state: State; share: number }[], fault: Ranked): Ranked | null {
  let best: Ranked | null = null;
  for (const { state, share } of weighed) {
    if (state.members.some((m) => isFault(m) && placeOf(m) === placeOf(fault.member))) continue;
    const member = state.members.find(
      (m) => isShape(m) && !fault.state.members.some((f) => f.what === m.what && f.at === m.at),
    );
    if (member && share > (best?.share ?? 0)) best = { member, state, share };
  }
  return best;
}

/** Whether a second room took the pour, so that no reading can speak of it. */
const inRoom = (state: State, m: Member): boolean =>
  m.what === "pour" && state.members.some((s) => s.what === "shelf" && takesIn(s, m));

/** Litres that a member is worth, written minus true, as the readings alone show them. */
export function seenIn(
  run: RunChain,
  state: State,
  member: Member,
  pour_L: number,
): { amount_L: number; standard_L: number } {
  // Where a second room took the pour no reading shows it.
  if (inRoom(state, member)) return { amount_L: -run.direction * member.mean, standard_L: member.standard };
  const free: Member = member.what === "pour" ? { ...member, standard: 1.2 * pour_L } : member;
  const put = placed(
    run,
    state.members.map((m) => (m === member ? free : m)),
    false,
  );
  if (!put) return { amount_L: run.direction * -member.mean, standard_L: member.standard };
  const scores = chainScores(put.chain, run.settings);
  const weights = run.settings.map((s, k) => scores.logLikelihood[k]! + s.logPrior);
  const top = Math.max(...weights);
  const n = put.chain.x.length;
  const pour = member.what === "pour";
  const spread2 = (free.standard / (pour ? run.range_L : 1)) ** 2;
  let total = 0;
  let mean = 0;
  let second = 0;
  weights.forEach((w, k) => {
    const weight = Math.exp(w - top);
    if (weight < 1e-6) return;
    const at = k * n + put.node[member.at]!;
    const off = spread2 * (pour ? scores.pourScore : scores.readingScore)[at]!;
    const variance = spread2 - spread2 ** 2 * (pour ? scores.pourInformation : scores.readingInformation)[at]!;
    total += weight;
    mean += weight * off;
    second += weight * (Math.max(0, variance) + off * off);
  });
  const off = mean / total;
  const sd = Math.sqrt(Math.max(0, second / total - off * off));
  if (pour) return { amount_L: -run.direction * (member.mean + off * run.range_L), standard_L: sd * run.range_L };
  // Where the reading hardly moves any slip is worth the whole tank and more: no reading is off by more than the run.
  const perLitre = put.slopes[member.at]! / run.range_L;
  const worth = (member.mean + off) / perLitre;
  return {
    amount_L: Math.max(-run.range_L, Math.min(run.range_L, worth)),
    standard_L: Math.min(run.range_L, sd / perLitre),
  };
}

function describe(
  run: RunChain,
  fillRun: FillRun,
  fillRuns: FillRuns,
  k: number,
  ranked: Ranked[],
  shape: Ranked | null,
  slopes: number[],
  pour_L: number,
  chance: number,
): Raised {
  const n = run.x.length;
  const { member, state, share } = ranked[0]!;
  const point = run.points[member.at]!;
  const index = point.step.index;
  const before = readBefore(fillRun, member.at);
  const repeats = repeatsAt(run, slopes, member.at, fillRuns, before);
  const between_L = Math.abs(point.step.volume_L - (run.points[before]?.step.volume_L ?? point.step.volume_L));
  const seen = seenIn(run, state, member, pour_L);
  const kindOf = (m: Member): FaultKind =>
    m.what === "pour"
      ? m.amountName === "one-pour"
        ? "missed-pour"
        : "wrong-pour"
      : repeats
        ? "hung-float"
        : "wrong-reading";
  // The last pour and the last reading move the same point, the first pour and the first reading all others.
  const last = k === n - 1;
  const first = k === 0;
  const open = (last || first) && !noPourHeldThat(run, fillRun, member, seen);
  const kind: FaultKind = open ? "cannot-be-told" : kindOf(member);
  const named = member.what === "pour" && member.amountName !== "any";
  const amount_L = named ? -run.direction * member.mean : seen.amount_L;
  const amountStandard_L = named ? Math.min(1.5 * fillRun.pourStandard_L, seen.standard_L) : seen.standard_L;
  const amount = litresWithin(Math.abs(seen.amount_L), 1.96 * seen.standard_L);
  const left = chance < treatFrom;
  const side = member.what === "pour" ? sideOf(amount_L, fillRun) : amount_L < 0 ? "low" : "high";
  const sure = left ? "perhaps" : "probably";
  // An amount that is unlike all others on the sheet, and that fits if it is taken as they are: a decimal mark, a digit too many.
  const usual_L = kind === "wrong-pour" && member.amountName === "slip" ? pour_L : null;
  const finding = inRoom(state, member)
    ? unseenPour(kind, index, point.step.added_L, member.amountName === "slip", sure)
    : sentenceOf(fillRun, kind, index, amount, side, between_L, last, sure, usual_L);
  const at = run.points[first ? 0 : k]!.step.index;
  const litres = Math.abs(seen.amount_L);
  const alternatives: FaultEvent["alternatives"] = open
    ? [
        { kind: "wrong-reading", step: at, amount_L: seen.amount_L, likelihoodRatio: 1 },
        {
          kind: "wrong-pour",
          step: first ? run.points[1]!.step.index : at,
          amount_L: seen.amount_L,
          likelihoodRatio: 1,
        },
      ]
    : [...ranked.slice(1), ...(shape ? [shape] : [])].map((o) => ({
        kind:
          o.member.what === "kink"
            ? ("kink" as const)
            : o.member.what === "shelf"
              ? ("second-room" as const)
              : kindOf(o.member),
        step: run.points[o.member.at]!.step.index,
        amount_L:
          o.member.what === "pour" ? -run.direction * o.member.mean : isShape(o.member) ? litres : seen.amount_L,
        likelihoodRatio: Math.min(1, o.share / share),
      }));
  return {
    event: {
      kind,
      step: first || last ? at : index,
      amount_L,
      amountStandard_L,
      seen_L: seen.amount_L,
      seenStandard_L: seen.standard_L,
      usual_L,
      amountReading:
        kind === "wrong-reading" || kind === "hung-float"
          ? (seen.amount_L * slopes[k]!) / run.range_L / run.coordinate.slope(point.step.reading)
          : null,
      p: Math.max(0, 1 - chance),
      alternatives,
      treatment: left ? "left" : kind === "missed-pour" || kind === "wrong-pour" ? "put-in" : "set-aside",
      says: left ? say`${finding}${leftOpen(chance)}` : finding,
    },
    putIn:
      !left && (kind === "missed-pour" || kind === "wrong-pour")
        ? { amount_L: -amount_L, standard_L: amountStandard_L }
        : null,
  };
}

/**
 * The outermost reading off the stops, with steps on the stop beyond it, that no pour explains: it would have held less than nothing. At the very
 * first and last step of a sheet nothing beyond it speaks, and both causes are named.
 */
function noPourHeldThat(
  run: RunChain,
  fillRun: FillRun,
  member: Member,
  seen: { amount_L: number; standard_L: number },
): boolean {
  if (member.what !== "reading" || run.direction < 0) return false;
  const first = member.at === 0;
  const { index } = run.points[member.at]!.step;
  if (index === fillRun.steps[first ? 0 : fillRun.steps.length - 1]!.index) return false;
  // The last reading lies too low, or the first too high, by so much more than the pour beside it held.
  const missing_L = first ? seen.amount_L : -seen.amount_L;
  const held_L = run.points[first ? 1 : member.at]!.step.added_L;
  return missing_L - 1.96 * seen.standard_L > held_L;
}
