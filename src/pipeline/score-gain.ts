/** What an explanation gains by the scores: shifts on the straight line about a state, averaged over the settings. */
import type { Scores } from "../math/smooth-chain";
import type { PlacedChain, RunChain } from "./run-chain";
import type { Possible } from "./suspect-explanations";

/** By what an explanation moves the readings: the pours before them, each alone, or the slope behind them. */
type Moves = "pour" | "reading" | "bend";
const movesOf = ({ what }: Possible): Moves =>
  what === "pour" || what === "shelf" ? "pour" : what === "kink" ? "bend" : "reading";
const nodeOf = (put: PlacedChain, p: Possible): number => (p.between ? put.half[p.at]! : put.node[p.at]!);

/** Information under this says nothing. */
const leastInformation = 1e-12;
/** log of what a sum of doubles does not notice, well under 2⁻⁵³. */
const nothingBeside = 45;

/** Settings within so much (log) of the likeliest are taken together, and the fainter ones. */
const likely = 7;

/** Settings of a state by their likelihood and prior. */
export interface Weights {
  log: Float64Array;
  top: number;
  isLikely: Uint8Array;
  /** Summed weight of the likely ones against the likeliest, and the number of the others. */
  together: number;
  faint: number;
}

export function settingWeights(run: RunChain, scores: Scores): Weights {
  const log = Float64Array.from(run.settings, (s, k) => scores.logLikelihood[k]! + s.logPrior);
  const top = Math.max(...log);
  const isLikely = Uint8Array.from(log, (w) => (w > top - likely ? 1 : 0));
  const together = log.reduce((s, w, k) => s + (isLikely[k] === 1 ? Math.exp(w - top) : 0), 0);
  return { log, top, isLikely, together, faint: isLikely.reduce((s, v) => s - v, log.length) };
}

/**
 * Most that gains of the settings can sum up to: likely settings together gain no more than the one that gains most, and of the fainter ones each counts as
 * the one that comes highest.
 * @param gained most that one of the likely gains. @param reached highest that one of the others comes, against the likeliest without a gain.
 */
const mostInAll = ({ top, together, faint }: Weights, gained: number, reached: number): number =>
  top + Math.log(together * Math.exp(gained) + faint * Math.exp(reached));

/**
 * Most log evidence that an explanation can come to, whatever its amount and prior: at no setting does a shift gain more than
 * score² / (2 information). One pass over the nodes for all explanations, of which nearly all are seen to be of no use by it.
 */
export function mostGains(run: RunChain, put: PlacedChain, scores: Scores, weights: Weights): (p: Possible) => number {
  const n = put.chain.x.length;
  const { log, top, isLikely } = weights;
  const most = (score: Float64Array, information: Float64Array, nodes: ArrayLike<number>) => {
    const gained = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    const reached = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    for (let k = 0; k < log.length; k++) {
      const w = isLikely[k] === 1 ? 0 : log[k]! - top;
      const highest = isLikely[k] === 1 ? gained : reached;
      for (let i = 0; i < nodes.length; i++) {
        const node = nodes[i]!;
        if (node < 0) continue;
        const c = score[k * n + node]!;
        const g = information[k * n + node]!;
        if (!(g > leastInformation)) continue;
        const gain = w + (0.5 * c * c) / g;
        if (!(gain <= highest[node]!)) highest[node] = gain;
      }
    }
    return gained.map((gain, i) => mostInAll(weights, gain, reached[i]!) - run.logPriorTotal);
  };
  const of: Record<Moves, Float64Array> = {
    pour: most(scores.pourScore, scores.pourInformation, put.node),
    reading: most(scores.readingScore, scores.readingInformation, put.node),
    bend: most(scores.bendScore, scores.bendInformation, [...put.node, ...put.half]),
  };
  return (p) => of[movesOf(p)][nodeOf(put, p)] ?? Number.NEGATIVE_INFINITY;
}

/**
 * log evidence with the explanation put in, by the scores, and its amount where that is likeliest.
 * @param least below it the evidence is of no use. @param gains room for one number a setting. @returns null there, and where the scores say nothing.
 */
export function gainOf(
  run: RunChain,
  put: PlacedChain,
  scores: Scores,
  weights: Weights,
  p: Possible,
  least: number,
  gains: Float64Array,
): { log: number; amount: number } | null {
  const n = put.chain.x.length;
  const node = nodeOf(put, p);
  if (node < 0) return null;
  const { log: weight, top, isLikely } = weights;
  const moves = movesOf(p);
  const score = scores[`${moves}Score`];
  const information = scores[`${moves}Information`];
  const unit = moves === "pour" ? run.range_L : 1;
  const mean = p.mean / unit;
  const precision = (unit / p.standard) ** 2;
  // Most that the settings can give to this amount.
  let gained = Number.NEGATIVE_INFINITY;
  let reached = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < weight.length; k++) {
    const c = score[k * n + node]!;
    const g = information[k * n + node]!;
    const b = c - g * mean;
    const gain = weight[k]! + mean * c - 0.5 * mean * mean * g + (0.5 * b * b) / (precision + g);
    gains[k] = gain;
    if (isLikely[k] === 1) gained = Math.max(gained, gain - weight[k]!);
    else reached = Math.max(reached, gain - top);
  }
  if (mostInAll(weights, gained, reached) - run.logPriorTotal < least) return null;
  let sum = 0;
  let bestLog = Number.NEGATIVE_INFINITY;
  let amount = 0;
  let level = top;
  for (let k = 0; k < weight.length; k++) {
    const g = information[k * n + node]!;
    if (!(g > leastInformation)) continue;
    // Beside the likeliest so far it adds nothing, not even in the last place.
    if (gains[k]! < bestLog - nothingBeside) continue;
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
