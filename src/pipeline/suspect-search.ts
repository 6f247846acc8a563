/** The strongest fault of a run, told as an event; and faults that are possible without being likely enough to be raised. */
import { fixed, plusMinus } from "../format";
import { normalProbability } from "../math/distributions";
import { logSum } from "../math/smoothing";
import type { Doubt } from "./curve-band";
import type { FillRun, FillRuns } from "./fill-run";
import type { Job } from "./job";
import type { ReadingModel } from "./reading-model";
import type { FitPoint } from "./smooth-problem";
import { explanationsFor, litresOf, repeatsAt, usualPour_L } from "./suspect-explanations";
import type { FaultEvent, FaultKind } from "./suspect-steps";
import { posteriorOf, type Weight } from "./suspect-weights";

/** A fault is raised from this posterior probability on: tuned so that clean jobs stay clean (tests/promises, tuning seeds). */
export const raiseFrom = 0.65;
export type Found = { event: FaultEvent } | { kink_L: number } | { hidden: number };

/** Most bends that the tank may have before the rest is left to the roughness. */
export const mostKinks = 4;
/** A bend joins the model from this posterior probability on. */
const bendFrom = 0.5;
/** Up to so many points two faults are weighed as pairs; with more points they hide each other less. */
const mostForPairs = 40;

/** The strongest fault or bend among all steps, if it is likely enough. */
export function strongest(
  fillRuns: FillRuns,
  run: FillRun,
  points: FitPoint[],
  model: ReadingModel,
  job: Job,
  decided: (index: number) => boolean,
): Found | null {
  const n = points.length;
  const { x } = model.problem;
  const explanations = explanationsFor(fillRuns, run, points, model, job, decided);
  const { weights, logTotal } = posteriorOf(model.settings, explanations, n <= mostForPairs);
  const isKink = (w: Weight) => w.explanation.what === "kink";
  let best = -1;
  let bestLog = Number.NEGATIVE_INFINITY;
  for (let k = 1; k < n; k++) {
    const at = weights.filter((w) => !isKink(w) && placeOf(w) === k).map((w) => w.log);
    const mine = at.length ? logSum(at) : Number.NEGATIVE_INFINITY;
    if (mine > bestLog) [bestLog, best] = [mine, k];
  }
  const ranked = (wanted: (w: Weight) => boolean) => weights.filter(wanted).sort((a, b) => b.log - a.log);
  const kinks = ranked(isKink);
  if (best >= 0 && Math.exp(bestLog - logTotal) >= raiseFrom) {
    const mine = ranked((w) => !isKink(w) && placeOf(w) === best);
    const pour_L = usualPour_L(run, job, model);
    return { event: describeFault(points, best, mine, kinks.slice(0, 1), pour_L, fillRuns, run, model) };
  }
  const start = ranked((w) => !isKink(w) && placeOf(w) === 0);
  if (start.length && Math.exp(logSum(start.map((w) => w.log)) - logTotal) >= bendFrom)
    return { hidden: points[0]!.step.index };
  if (kinks.length && Math.exp(logSum(kinks.map((w) => w.log)) - logTotal) >= bendFrom) {
    const column = kinks[0]!.explanation.column;
    const k = column.findIndex((c) => c > 0);
    return { kink_L: model.low_L + model.range_L * (x[k]! - column[k]!) };
  }
  return null;
}

/** The first pour moves all points but the first: the same as a wrong first reading or a stop that hides it: never told as a fault. */
const placeOf = ({ explanation: { what, at } }: Weight): number => (what === "pour" && at === 1 ? 0 : at);

/** Chances from which a fault that is not treated still counts in the band, and how many of them at most. */
const doubtFrom = 0.08;
const mostDoubts = 4;

/** Faults that are possible and not treated: each with its chance, likeliest first. */
export function doubtsOf(
  fillRuns: FillRuns,
  r: number,
  points: FitPoint[],
  model: ReadingModel,
  job: Job,
  decided: (index: number) => boolean,
): Doubt[] {
  const run = fillRuns.runs[r]!;
  const explanations = explanationsFor(fillRuns, run, points, model, job, decided).filter(
    (e) => e.at > (e.what === "pour" ? 1 : 0) && e.at < points.length - 1,
  );
  const { weights, logTotal } = posteriorOf(model.settings, explanations, points.length <= mostForPairs);
  return weights
    .filter((w) => w.explanation.what !== "kink")
    .map((w) => ({
      run: r,
      step: points[w.explanation.at]!.step.index,
      what: w.explanation.what as Doubt["what"],
      ...litresOf(w, model),
      chance: Math.min(raiseFrom, Math.exp(w.log - logTotal)),
    }))
    .filter((d) => d.chance >= doubtFrom)
    .sort((a, b) => b.chance - a.chance)
    .slice(0, mostDoubts);
}

function describeFault(
  points: FitPoint[],
  k: number,
  mine: Weight[],
  kinks: Weight[],
  pour_L: number,
  fillRuns: FillRuns,
  run: FillRun,
  model: ReadingModel,
): FaultEvent {
  const top = mine[0]!;
  const n = points.length;
  const point = points[k]!;
  const index = point.step.index;
  const litres = (e: Weight) => litresOf(e, model);
  const w = { ...top, ...litres(top) };
  const repeats = repeatsAt(points, k, fillRuns, model);
  // The last pour and the last reading move the same point, the first pour and the first reading all others.
  const atEnd = k === n - 1;
  const kindOf = (e: Weight): FaultKind =>
    e.explanation.what === "pour"
      ? e.amountName === "one-pour"
        ? "missed-pour"
        : "wrong-pour"
      : repeats
        ? "hung-float"
        : "wrong-reading";
  const kind: FaultKind = atEnd ? "cannot-be-told" : kindOf(w);
  // One pour left out, or a slip on an otherwise regular sheet, has an exact amount: only the pour itself is uncertain.
  const exact = w.explanation.what === "pour" && w.amountName !== "any";
  const amount_L =
    kind === "missed-pour" ? -pour_L : exact && w.amountName === "slip" ? point.step.added_L - pour_L : w.amount_L;
  const amount = plusMinus(Math.abs(w.amount_L), 1.96 * w.standard_L, "L");
  const z = w.standard_L > 0 ? Math.abs(w.amount_L) / w.standard_L : 0;
  const p = Math.min(1, 2 * n * 2 * normalProbability(-z));
  const side = amount_L < 0 ? "low" : "high";
  const says =
    kind === "missed-pour"
      ? `Pour ${index} is probably missing from the sheet: every step from there on sits ${amount} low.`
      : kind === "wrong-pour"
        ? `Pour ${index} is probably not as written: every step from there on sits ${amount} ${side}.`
        : kind === "hung-float"
          ? `The float probably hung at step ${index}: the reading repeated while ${fixed(point.step.added_L, 1)} L went in.`
          : kind === "wrong-reading"
            ? `The reading of step ${index} is probably wrong: it alone lies ${amount} off the curve, the steps around it do not.`
            : `Step ${index} lies ${amount} off, and at the end of a run a wrong pour and a wrong reading look the same: it cannot be told which.`;
  const others = [...mine.slice(1), ...kinks].map((o) => ({
    kind: o.explanation.what === "kink" ? ("kink" as const) : kindOf(o),
    step: points[o.explanation.at]!.step.index,
    amount_L: litres(o).amount_L,
    likelihoodRatio: Math.exp(Math.min(0, o.log - top.log)),
  }));
  const alternatives = atEnd
    ? [
        { kind: "wrong-reading" as const, step: index, amount_L: w.amount_L, likelihoodRatio: 1 },
        { kind: "wrong-pour" as const, step: index, amount_L: w.amount_L, likelihoodRatio: 1 },
      ]
    : others;
  return {
    kind,
    step: index,
    amount_L,
    amountStandard_L: exact && w.amountName !== "double" ? 1.5 * run.pourStandard_L : w.standard_L,
    seen_L: w.amount_L,
    seenStandard_L: w.standard_L,
    amountReading:
      kind === "wrong-reading" || kind === "hung-float"
        ? top.amount / model.coordinate.slope(point.step.reading)
        : null,
    p,
    alternatives,
    says,
  };
}
