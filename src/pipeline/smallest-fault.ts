/**
 * Smallest fault that a step would show: the size from which on the stage tells it in 95 of 100 runs.
 *
 * A fault is told once its chance reaches `raiseFrom` (suspect-events.ts), so what must be overcome is everything else that explains the same
 * readings: a rougher tank, a noisier reading, one or two bends near the step, a fault of a neighbour, each with its prior. With information I
 * (one over the squared standard error of the size) left beside a rival, a fault of size δ costs the rival ½ (δ√I + z)², z standard normal;
 * at z = −1.645 it costs so much or more in 95 of 100 runs. The fault itself costs its prior and how finely it must be placed, ½ log(1 + s² I).
 * Gaussian algebra throughout, on a straight line about the curve as found; derived here, held to a closed loop (tests/promises).
 */

import type { Chain } from "../math/smooth-chain";
import { logSum, type SmoothProblem, settingsOf } from "../math/smoothing";
import { dot, forward, project } from "../math/triangular";
import { type Member, placed, type RunChain } from "./run-chain";
import { kinkSpread, paceAlong } from "./slopes";
import type { Possible } from "./suspect-explanations";

export interface SmallestFault {
  /**
   * A pour that held more, and one that held less than written, in ranges of the volume; wrong reading, on the coordinate. Null where none,
   * however large, is told in 95 of 100 runs.
   */
  more: number | null;
  less: number | null;
  reading: number | null;
}

/** 95 of 100 runs, one side. */
const unlucky = 1.645;
/** Settings fainter (log) than this against the likeliest count for nothing even beside a large fault. */
const faintSetting = 18;
/** Rivals of about the same information are taken together: width of a class of its logarithm. */
const classWidth = 0.15;

interface Column {
  member: Possible;
  values: number[];
  /** Its prior standard deviation, in the units of its column. */
  standard: number;
}

/** @param room as for the search. @param raiseFrom chance from which a fault is told. @returns one for each point of the run. */
export function smallestFaults(
  run: RunChain,
  members: Member[],
  possible: Possible[],
  room: (more_L: number) => number,
  raiseFrom: number,
): SmallestFault[] {
  const found = run.points.map((): SmallestFault => ({ more: null, less: null, reading: null }));
  const put = placed(run, members, false);
  if (!put) return found;
  const { chain, node, slopes } = put;
  const at = Array.from(node);
  const x = at.map((k) => chain.x[k]!);
  const problem = problemOf(members, put.chain, at, slopes);
  const all = settingsOf(problem, run.settings);
  const likeliest = Math.max(...all.map((s) => s.logPrior + s.logLikelihood));
  const settings = all.filter((s) => s.logPrior + s.logLikelihood > likeliest - faintSetting);
  const logs = settings.map((s) => s.logPrior + s.logLikelihood);
  const base = logSum(logs);

  const columns = possible.flatMap((member): Column[] => {
    if (member.amountName !== "any" || member.what === "hidden") return [];
    if (member.what === "shelf" && member.past !== member.at) return [];
    if (members.some((m) => m.what === member.what && m.at === member.at && m.between === member.between)) return [];
    const place = member.between ? (x[member.at]! + x[member.at + 1]!) / 2 : x[member.at]!;
    const values = x.map((t, i) =>
      member.what === "kink"
        ? Math.max(0, t - place)
        : member.what === "pour" || member.what === "shelf"
          ? i >= member.at
            ? slopes[i]!
            : 0
          : i === member.at
            ? 1
            : 0,
    );
    const litres = member.what === "pour" || member.what === "shelf";
    const standard = litres ? member.standard / run.range_L : member.standard;
    return [{ member, values, standard }];
  });
  const whitened = settings.map((s) => columns.map((c) => project(s.q, forward(s.l, c.values))));
  const needed = Math.log(raiseFrom / (1 - raiseFrom));

  columns.forEach((fault, f) => {
    const { what, at: k } = fault.member;
    if (what !== "pour" && what !== "reading") return;
    const of = found[k]!;
    if (what === "reading") of.reading = sizeOf(f, () => 0, true);
    else {
      // A second room takes volume off as a pour that held less does, never more; the stated capacity leaves room for the one or the other.
      of.more = sizeOf(f, (size) => room(size * run.range_L), false);
      of.less = sizeOf(f, (size) => room(-size * run.range_L), true);
    }
  });
  return found;

  function sizeOf(f: number, backing: (size: number) => number, shelves: boolean): number | null {
    const fault = columns[f]!;
    const near = columns.flatMap((c, i) =>
      i !== f && isNear(c.member, fault.member.at) && (shelves || c.member.what !== "shelf") ? [i] : [],
    );
    const told: Class[] = [];
    const rivals = new Map<number, number[]>();
    settings.forEach((_, s) => {
      const w = whitened[s]!;
      const mine = w[f]!;
      const information = dot(mine, mine);
      const log = logs[s]! - base;
      if (information > 1e-9)
        told.push({
          log: log + fault.member.logPrior - 0.5 * Math.log1p(information * fault.standard ** 2),
          information: 1 / (fault.standard ** 2 + 1 / information),
        });
      for (const r of rivalsOf(columns, near, w, mine, information)) {
        const name = Math.round(Math.log(Math.max(1e-9, r.information)) / classWidth);
        const known = rivals.get(name);
        if (known) known.push(log + r.log);
        else rivals.set(name, [log + r.log]);
      }
    });
    const classes = [...rivals].map(
      ([name, l]): Class => ({ log: logSum(l), information: Math.exp(name * classWidth) }),
    );
    return smallestSize(told, classes, (size) => needed - backing(size), fault.standard);
  }
}

interface Class {
  log: number;
  information: number;
}

/** Nothing at all, one or two explanations near the step: prior with the cost of placing them, and the information left about the fault. */
function rivalsOf(
  columns: Column[],
  near: number[],
  w: Float64Array[],
  mine: Float64Array,
  information: number,
): Class[] {
  const found: Class[] = [{ log: 0, information }];
  const cross = near.map((i) => dot(w[i]!, mine) * columns[i]!.standard);
  const own = near.map((i, a) =>
    near.map((j, b) => (b < a ? 0 : dot(w[i]!, w[j]!) * columns[i]!.standard * columns[j]!.standard)),
  );
  near.forEach((i, a) => {
    const prior = columns[i]!.member.logPrior;
    const aa = 1 + own[a]![a]!;
    found.push({ log: prior - 0.5 * Math.log(aa), information: information - cross[a]! ** 2 / aa });
    for (let b = a + 1; b < near.length; b++) {
      const bb = 1 + own[b]![b]!;
      const ab = own[a]![b]!;
      const determinant = aa * bb - ab * ab;
      const explained = (bb * cross[a]! ** 2 - 2 * ab * cross[a]! * cross[b]! + aa * cross[b]! ** 2) / determinant;
      found.push({
        log: prior + columns[near[b]!]!.member.logPrior - 0.5 * Math.log(determinant),
        information: information - explained,
      });
    }
  });
  return found;
}

/** Two steps to either side. */
const isNear = (m: Possible, k: number) => Math.abs(m.at + (m.between ? 0.5 : 0) - k) <= (m.what === "kink" ? 2 : 1);

/** Smallest size whose log odds reach what is needed, in the unlucky run. */
function smallestSize(
  told: Class[],
  rivals: Class[],
  needed: (size: number) => number,
  standard: number,
): number | null {
  const short = (size: number): number => {
    const mine = logSum(told.map((t) => t.log - 0.5 * size ** 2 * t.information));
    const other = logSum(rivals.map((r) => r.log - 0.5 * Math.max(0, size * Math.sqrt(r.information) - unlucky) ** 2));
    return needed(size) - (mine - other);
  };
  if (told.length === 0) return null;
  // Odds rise with the size until the prior of so large a fault weighs more.
  let high = 1e-4 * standard;
  while (short(high) > 0) {
    high *= 1.1;
    if (high > 6 * standard) return null;
  }
  let low = high / 1.1;
  for (let i = 0; i < 12; i++) {
    const middle = (low + high) / 2;
    if (short(middle) > 0) low = middle;
    else high = middle;
  }
  return high;
}

/** The run with its members put in, in the dense form. */
function problemOf(members: Member[], chain: Chain, at: number[], slopes: number[]): SmoothProblem {
  const x = at.map((k) => chain.x[k]!);
  let summed = 0;
  const pours = at.map((k) => (summed += chain.pour[k]!));
  return {
    x,
    y: at.map((k) => chain.y[k]!),
    covariance: at.map((k, i) =>
      at.map((_, j) => slopes[i]! * slopes[j]! * pours[Math.min(i, j)]! + (i === j ? chain.own[k]! : 0)),
    ),
    readingVariance: at.map((k) => chain.readingVariance[k]!),
    range: 1,
    scatter: [],
    pace: paceAlong(x, slopes),
    kinks: members
      .filter((m) => m.what === "kink")
      .map((m) => ({ at: m.between ? (x[m.at]! + x[m.at + 1]!) / 2 : x[m.at]!, spread: kinkSpread })),
  };
}
