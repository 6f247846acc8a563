/**
 * How likely each fault is, all others considered: the posterior of "nothing wrong", every single explanation and every
 * pair of them. Two faults in one run hide each other when they are weighed one by one; as a pair they do not.
 */
import { logSum, type Setting } from "../math/smoothing";
import { dot, forward, project } from "../math/triangular";
import type { AmountPrior, Explanation } from "./suspect-models";

export interface Weight {
  explanation: Explanation;
  /** log of the posterior weight of all hypotheses that hold this explanation, and the amount that explains best. */
  log: number;
  amount: number;
  standard: number;
  amountName: AmountPrior["name"];
}

export interface Posterior {
  weights: Weight[];
  /** log of the weight of everything, "nothing wrong" included, on the same scale. */
  logTotal: number;
}

/** Settings so far (in log weight, best explanation included) below the best one cannot matter. */
const settingReach = 5;

/**
 * @param settings factorised smooth model without any explanation. @param pairs also weigh two at a time.
 */
export function posteriorOf(settings: Setting[], explanations: Explanation[], pairs: boolean): Posterior {
  const variants = explanations.flatMap((explanation, e) =>
    explanation.amounts
      .filter((a) => a.share > 0)
      .map((a) => ({
        e,
        mean: a.mean_L,
        precision: 1 / a.standard_L ** 2,
        prior: Math.log(explanation.prior * a.share),
        name: a.name,
      })),
  );
  const count = variants.length;
  const sums = new Float64Array(count);
  const bestLog = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const bestAmount = new Float64Array(count);
  const bestVariance = new Float64Array(count);
  let total = 0;
  let reference = logSum(settings.map((s) => s.logPrior + s.logLikelihood));
  const add = (log: number): number => {
    if (log > reference + 300) {
      const f = Math.exp(reference - log);
      for (let i = 0; i < count; i++) sums[i]! *= f;
      total *= f;
      reference = log;
    }
    const w = Math.exp(log - reference);
    total += w;
    return w;
  };
  const note = (u: number, log: number, amount: number, variance: number) => {
    if (log <= bestLog[u]!) return;
    bestLog[u] = log;
    bestAmount[u] = amount;
    bestVariance[u] = variance;
  };
  const prepared = settings.map((s) => {
    const columns = explanations.map((x) => project(s.q, forward(s.l, x.column)));
    const score = Float64Array.from(columns, (d) => dot(d, s.residual));
    const information = Float64Array.from(columns, (d) => dot(d, d));
    const base = s.logPrior + s.logLikelihood;
    const single = variants.map((v) => {
      const g = information[v.e]!;
      const b = score[v.e]! - g * v.mean;
      return (
        v.mean * score[v.e]! -
        0.5 * v.mean * v.mean * g +
        (0.5 * b * b) / (v.precision + g) -
        0.5 * Math.log1p(g / v.precision)
      );
    });
    const order = single.map((g, i) => g + variants[i]!.prior).sort((a, b) => b - a);
    return { columns, score, information, base, single, top: base + Math.max(0, order[0] ?? 0) };
  });
  const most = Math.max(...prepared.map((p) => p.top));
  for (const p of prepared) {
    add(p.base);
    variants.forEach((v, u) => {
      const g = p.information[v.e]!;
      if (!(g > 1e-12)) return;
      const log = p.base + v.prior + p.single[u]!;
      sums[u]! += add(log);
      const variance = 1 / (v.precision + g);
      note(u, log, v.mean + variance * (p.score[v.e]! - g * v.mean), variance);
    });
    if (!pairs || p.top < most - settingReach) continue;
    for (let u = 0; u < count; u++) {
      const a = variants[u]!;
      const ea = explanations[a.e]!;
      const gaa = p.information[a.e]!;
      if (!(gaa > 1e-12)) continue;
      let other = -1;
      let gab = 0;
      for (let w = u + 1; w < count; w++) {
        const b = variants[w]!;
        if (b.e === a.e) continue;
        const eb = explanations[b.e]!;
        const gbb = p.information[b.e]!;
        if (!(gbb > 1e-12)) continue;
        // Two faults of one step are one fault.
        if (ea.at === eb.at && ea.what !== "kink" && eb.what !== "kink") continue;
        if (b.e !== other) {
          gab = dot(p.columns[a.e]!, p.columns[b.e]!);
          other = b.e;
        }
        const sa = p.score[a.e]!;
        const sb = p.score[b.e]!;
        const ra = sa - gaa * a.mean - gab * b.mean;
        const rb = sb - gab * a.mean - gbb * b.mean;
        const aa = a.precision + gaa;
        const bb = b.precision + gbb;
        const determinant = aa * bb - gab * gab;
        // Without its penalty for size a pair can only be likelier: most pairs stop here.
        const bound =
          p.base +
          a.prior +
          b.prior +
          a.mean * sa +
          b.mean * sb -
          0.5 * (a.mean * a.mean * gaa + b.mean * b.mean * gbb) -
          a.mean * b.mean * gab +
          (0.5 * (bb * ra * ra - 2 * gab * ra * rb + aa * rb * rb)) / determinant;
        if (bound < reference - 14) continue;
        const log = bound - 0.5 * Math.log(determinant / (a.precision * b.precision));
        if (log < reference - 14) continue;
        const weight = add(log);
        sums[u]! += weight;
        sums[w]! += weight;
        note(u, log, a.mean + (bb * ra - gab * rb) / determinant, bb / determinant);
        note(w, log, b.mean + (aa * rb - gab * ra) / determinant, aa / determinant);
      }
    }
  }
  const perExplanation = explanations.map((): number[] => []);
  for (let u = 0; u < count; u++) perExplanation[variants[u]!.e]!.push(u);
  const weights = explanations.map((explanation, e): Weight => {
    const mine = perExplanation[e]!;
    const best = mine.reduce((x, u) => (sums[u]! > sums[x]! ? u : x), mine[0]!);
    const sum = mine.reduce((s, u) => s + sums[u]!, 0);
    return {
      explanation,
      log: sum > 0 ? reference + Math.log(sum) : Number.NEGATIVE_INFINITY,
      amount: bestAmount[best]!,
      standard: Math.sqrt(bestVariance[best]!),
      amountName: variants[best]!.name,
    };
  });
  return { weights, logTotal: reference + Math.log(total) };
}
