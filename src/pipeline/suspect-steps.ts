/**
 * Suspect steps: which steps do not belong, and what changes without them?
 *
 * Weighs, for each step, a wrong reading (one step moves) against a wrong, missed or doubled pour (every later step
 * moves) against a kink in the tank's shape, on whitened residuals of a smooth curve. The default treatment is
 * provisional until the technician confirms it.
 */
import { type Answer, type Issue, ready } from "../answer";
import { fixed, plusMinus } from "../format";
import { normalProbability } from "../math/distributions";
import { logSum, weightsOf } from "../math/smoothing";
import type { StepChoice } from "./choices";
import type { Doubt } from "./curve-band";
import type { FillRun, FillRuns, Step } from "./fill-run";
import type { Job } from "./job";
import { hiddenChances, kinkColumn, kinkSpread, type ReadingModel, readingModel } from "./reading-model";
import type { FitPoint, PutIn } from "./smooth-problem";
import { detectable, diagnose, type Explanation } from "./suspect-models";
import { posteriorOf, type Weight } from "./suspect-weights";

export type FaultKind = "missed-pour" | "wrong-pour" | "hung-float" | "wrong-reading" | "cannot-be-told";

export interface FaultEvent {
  kind: FaultKind;
  /** Step at which it shows: the wrong reading itself, or the first step after the faulty pour. */
  step: number;
  /** Written minus true, litres (a missing pour is negative); for a wrong reading its litres' worth. */
  amount_L: number;
  amountStandard_L: number;
  /** Wrong reading: reading as written minus as expected, reading unit; else null. */
  amountReading: number | null;
  p: number;
  /** What else would explain it, most likely first, with its likelihood relative to the event's (0–1). */
  alternatives: { kind: FaultKind | "kink"; step: number; amount_L: number; likelihoodRatio: number }[];
  /** One plain sentence: finding first, then why. */
  says: string;
}

export interface TreatedStep extends Step {
  /** Volume that the curve is fitted to: as written plus what was put in. */
  treatedVolume_L: number;
  accepted: boolean;
  flag: FaultKind | "dead-zone" | null;
  reason: string | null;
  decidedBy: "rule" | "technician" | null;
  leverage: number | null;
  studentised: number | null;
  cook: number | null;
}

export interface SuspectRun {
  file: string;
  events: FaultEvent[];
  steps: TreatedStep[];
  /** Pours put in by rule or by hand, with what is not known of their size. */
  putIns: PutIn[];
  /** Bends of the tank that the run shows, litres since the start, and faults that are possible but not likely enough to be treated. */
  kinks_L: number[];
  doubts: Doubt[];
  /** Smallest pour fault, and smallest reading fault in litres, that step k could show in 95 % of runs; null where nothing can. */
  smallestDetectable_L: (number | null)[];
  smallestReading_L: (number | null)[];
}

export interface SuspectSteps {
  runs: SuspectRun[];
  /** Rule-made treatments that nobody has confirmed. */
  notConfirmed: number;
  limits: { name: string; value: number; source: string }[];
}

/** A fault is raised from this posterior probability on: tuned so that clean jobs stay clean (tests/promises, tuning seeds). */
const raiseFrom = 0.65;
/** Prior odds, against nothing wrong, of a wrong reading, a wrong pour, and a sharp kink in the tank. Named defaults, no source; tuned as above. */
const odds = { reading: 0.5, pour: 0.5, kink: 0.5 };
/** An amount unlike all others on the sheet makes a slip of the pen there so many times likelier. */
const oddAmount = 40;
/** A reading that repeats while volume rises, between steps that move, makes a hung float so many times likelier. */
const repeatedReading = 8;

/**
 * Weighs every step of every fill run.
 *
 * @param choices the technician's own decisions, keyed `<run>:<step>`; they override the rule.
 * @returns stuck `suspect-steps/too-few` never: under 5 points nothing can be told and nothing is flagged.
 * @see Rosner 1983 for several faults one by one; the columns of methods part 4 for reading against pour.
 */
export function weighSteps(fillRuns: FillRuns, job: Job, choices: Record<string, StepChoice>): Answer<SuspectSteps> {
  const cautions: Issue[] = [];
  let notConfirmed = 0;
  const runs = fillRuns.runs.map((run, r): SuspectRun => {
    const weighed = weighRun(fillRuns, r, job, choices);
    const open = weighed.steps.filter((s) => s.decidedBy === "rule").length;
    notConfirmed += open;
    for (const event of weighed.events) {
      const chosen = choices[`${r}:${event.step}`];
      if (!chosen)
        cautions.push({
          code: `suspect-steps/${event.kind}`,
          says: event.says,
          remedy: "Confirm it or take it back, after a look at the sheet or the receipt.",
          where: { file: run.file, step: event.step },
          weight: "doubtful",
          condition: conditionOf(event),
        });
    }
    return weighed;
  });
  return ready(
    {
      runs,
      notConfirmed,
      limits: [
        {
          name: "posterior probability from which a fault is raised",
          value: raiseFrom,
          source: "tuned on simulated tanks",
        },
        { name: "standard errors at which a fault is found in 95 %", value: 5, source: "simulation, known noise" },
      ],
    },
    cautions,
  );
}

const conditionOf = (event: FaultEvent) =>
  event.kind === "missed-pour"
    ? `pour ${event.step} was made twice`
    : event.kind === "wrong-reading" || event.kind === "hung-float"
      ? `step ${event.step} was misread`
      : `pour ${event.step} was not as written`;

function weighRun(fillRuns: FillRuns, r: number, job: Job, choices: Record<string, StepChoice>): SuspectRun {
  const run = fillRuns.runs[r]!;
  const treated = new Map<
    number,
    { flag: FaultKind | null; reason: string | null; accepted: boolean; decidedBy: "rule" | "technician" | null }
  >();
  const putIns: PutIn[] = [];
  for (const step of run.steps) {
    const choice = choices[`${r}:${step.index}`];
    if (choice?.treat === "set-aside")
      treated.set(step.index, { flag: null, reason: choice.reason, accepted: false, decidedBy: "technician" });
    if (choice?.treat === "put-in" && choice.amount_L !== undefined)
      putIns.push({ run: r, step: step.index, amount_L: choice.amount_L, standard_L: run.pourStandard_L });
  }
  const volumeOf = (step: Step) =>
    step.volume_L + putIns.reduce((s, p) => s + (step.index >= p.step ? p.amount_L : 0), 0);
  const hiddenSteps = new Set<number>();
  const pointsNow = (): FitPoint[] =>
    run.steps
      .filter((s) => s.atStop === null && !hiddenSteps.has(s.index) && treated.get(s.index)?.accepted !== false)
      .map((step) => ({ run: r, step, volume_L: volumeOf(step) }));

  // A step that the sender's stop more likely hides than not says nothing about pours: it is left out of the weighing.
  const first = pointsNow();
  if (first.length >= 6)
    for (const end of hiddenChances(readingModel(fillRuns, first, putIns, job), first, fillRuns))
      if (end.w > 0.5) hiddenSteps.add(first[end.index]!.step.index);

  let events: FaultEvent[] = [];
  const kinks: number[] = [];
  const decided = (index: number) => choices[`${r}:${index}`] !== undefined || events.some((e) => e.step === index);
  const treat = (event: FaultEvent) => {
    events.push(event);
    if (event.kind === "missed-pour" || event.kind === "wrong-pour") {
      putIns.push({ run: r, step: event.step, amount_L: -event.amount_L, standard_L: event.amountStandard_L });
      treated.set(event.step, { flag: event.kind, reason: event.says, accepted: true, decidedBy: "rule" });
    } else treated.set(event.step, { flag: event.kind, reason: event.says, accepted: false, decidedBy: "rule" });
  };
  const takeBack = (event: FaultEvent) => {
    events = events.filter((e) => e !== event);
    treated.delete(event.step);
    const at = putIns.findIndex((p) => p.step === event.step && choices[`${r}:${p.step}`] === undefined);
    if (at >= 0) putIns.splice(at, 1);
  };
  const look = () => {
    const points = pointsNow();
    if (points.length < 6) return null;
    return strongest(fillRuns, run, points, readingModel(fillRuns, points, putIns, job, kinks), job, decided);
  };
  const most = Math.floor(run.steps.length / 5);
  // One by one: a bend of the tank joins the model, a fault is treated; then each fault is taken back once and must come again.
  for (let round = 0; round < most + mostKinks && events.length < most; round++) {
    const found = look();
    if (!found) break;
    if ("kink_L" in found) {
      if (kinks.length === mostKinks) break;
      kinks.push(found.kink_L);
    } else treat(found.event);
  }
  if (events.length > 1)
    for (const event of [...events]) {
      takeBack(event);
      const again = look();
      if (again && "event" in again) treat(again.event);
    }
  events.sort((a, b) => a.step - b.step);

  const points = pointsNow();
  const model = points.length >= 4 ? readingModel(fillRuns, points, putIns, job, kinks) : null;
  const weights = model ? weightsOf(model.settings) : [];
  const likeliest = model ? model.settings[weights.indexOf(Math.max(...weights))]! : null;
  const variance =
    model && likeliest
      ? model.problem.covariance.map(
          (row, i) => row[i]! + likeliest.factor ** 2 * model.problem.readingVariance[i]! + likeliest.scatter ** 2,
        )
      : [];
  const diagnostics = likeliest ? diagnose(likeliest, variance) : [];
  const steps = run.steps.map((step): TreatedStep => {
    const t = treated.get(step.index);
    const k = points.findIndex((p) => p.step === step);
    const d = k >= 0 ? diagnostics[k] : undefined;
    const choice = choices[`${r}:${step.index}`];
    const atStop = step.atStop !== null;
    return {
      ...step,
      treatedVolume_L: volumeOf(step),
      accepted: !atStop && (t?.accepted ?? true),
      flag: t?.flag ?? (atStop ? "dead-zone" : null),
      reason: t?.reason ?? choice?.reason ?? (atStop ? `the reading stands on its ${step.atStop} stop here` : null),
      decidedBy: choice ? "technician" : (t?.decidedBy ?? null),
      leverage: d?.leverage ?? null,
      studentised: d?.studentised ?? null,
      cook: d?.cook ?? null,
    };
  });
  const smallest = (columnOf: (k: number) => number[], usable: (k: number) => boolean) =>
    run.steps.map((step) => {
      const k = points.findIndex((p) => p.step === step);
      if (k < 0 || !model || !usable(k)) return null;
      const se = detectable(model.settings, weights, columnOf(k));
      return se === null ? null : (5 * se * model.range_L) / model.slopes[k]!;
    });
  const n = points.length;
  return {
    file: run.file,
    events: events.map((e) => ({ ...e })),
    steps,
    putIns,
    kinks_L: kinks,
    doubts: n >= 6 && model ? doubtsOf(fillRuns, r, points, model, job, decided) : [],
    smallestDetectable_L: smallest(
      (k) => points.map((_, i) => (i >= k ? 1 : 0)),
      (k) => k >= 2 && k <= n - 2,
    ),
    smallestReading_L: smallest(
      (k) => points.map((_, i) => (i === k ? 1 : 0)),
      (k) => k >= 1 && k <= n - 2,
    ),
  };
}

type Found = { event: FaultEvent } | { kink_L: number };

/** Most bends that the tank may have before the rest is left to the roughness. */
const mostKinks = 4;
/** A bend joins the model from this posterior probability on. */
const bendFrom = 0.5;
/** Up to so many points two faults are weighed as pairs; with more points they hide each other less. */
const mostForPairs = 40;

/** The strongest fault or bend among all steps, if it is likely enough. */
function strongest(
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
  for (let k = 0; k < n; k++) {
    const at = weights.filter((w) => !isKink(w) && w.explanation.at === k).map((w) => w.log);
    const mine = at.length ? logSum(at) : Number.NEGATIVE_INFINITY;
    if (mine > bestLog) [bestLog, best] = [mine, k];
  }
  const ranked = (wanted: (w: Weight) => boolean) => weights.filter(wanted).sort((a, b) => b.log - a.log);
  const kinks = ranked(isKink);
  if (best >= 0 && Math.exp(bestLog - logTotal) >= raiseFrom) {
    const mine = ranked((w) => !isKink(w) && w.explanation.at === best);
    const pours = pourSizes(run);
    const pour_L = job.pour.size_L ?? pours[pours.length >> 1] ?? model.range_L / n;
    return { event: describeFault(points, best, mine, kinks.slice(0, 1), pour_L, fillRuns, run, model) };
  }
  if (kinks.length && Math.exp(logSum(kinks.map((w) => w.log)) - logTotal) >= bendFrom) {
    const column = kinks[0]!.explanation.column;
    const k = column.findIndex((c) => c > 0);
    return { kink_L: model.low_L + model.range_L * (x[k]! - column[k]!) };
  }
  return null;
}

/** Chances from which a fault that is not treated still counts in the band, and how many of them at most. */
const doubtFrom = 0.08;
const mostDoubts = 4;

/** Faults that are possible and not treated: each with its chance, likeliest first. */
function doubtsOf(
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

/** From the coordinate to litres, written minus true: a reading too high by a is worth a/slope, a pour left out lifts what follows. */
function litresOf(weight: Weight, model: ReadingModel): { amount_L: number; standard_L: number } {
  const perLitre = model.slopes[weight.explanation.at]! / model.range_L;
  return {
    amount_L: (weight.explanation.what === "pour" ? -1 : 1) * (weight.amount / perLitre),
    standard_L: weight.standard / perLitre,
  };
}

const pourSizes = (run: FillRun): number[] =>
  run.steps
    .slice(1)
    .map((s) => s.added_L)
    .filter((a) => a > 0)
    .sort((a, b) => a - b);

/** The reading stands where it stood a step before, as far as rounding and noise let see, while volume went in. */
function repeatsAt(points: FitPoint[], k: number, fillRuns: FillRuns, model: ReadingModel): boolean {
  if (k === 0) return false;
  const { y, x } = model.problem;
  const rise = model.slopes[k]! * (x[k]! - x[k - 1]!);
  const rounding = 2 * fillRuns.readingStep * Math.abs(model.coordinate.slope(points[k]!.step.reading));
  return x[k]! > x[k - 1]! && Math.abs(y[k]! - y[k - 1]!) <= Math.max(rounding, 0.1 * rise);
}

/** All that may be wrong at each step, and the bends that a tank may have. Amounts on the model's coordinate. */
function explanationsFor(
  fillRuns: FillRuns,
  run: FillRun,
  points: FitPoint[],
  model: ReadingModel,
  job: Job,
  decided: (index: number) => boolean,
): Explanation[] {
  const n = points.length;
  const { x } = model.problem;
  const pours = pourSizes(run);
  const pour_L = job.pour.size_L ?? pours[pours.length >> 1] ?? model.range_L / n;
  const u = Math.max(run.pourStandard_L, 0.01 * pour_L);
  const regular = pours.filter((a) => Math.abs(a - pour_L) <= 5 * u).length >= 0.6 * pours.length;
  const explanations: Explanation[] = [];
  for (let k = 0; k < n; k++) {
    if (decided(points[k]!.step.index)) continue;
    const hung = !fillRuns.fixedSteps && k < n - 1 && repeatsAt(points, k, fillRuns, model);
    explanations.push({
      what: "reading",
      at: k,
      column: x.map((_, i) => (i === k ? 1 : 0)),
      amounts: [{ mean_L: 0, standard_L: 0.15, share: 1, name: "any" }],
      prior: ((hung ? repeatedReading : 1) * odds.reading) / n,
    });
    if (k === 0) continue;
    const perLitre = model.slopes[k]! / model.range_L;
    const written = points[k]!.step.added_L;
    const odd = regular && written > 0 && Math.abs(written - pour_L) > 5 * u;
    // The slope is known only roughly, so even an exact amount moves the reading by a fifth more or less.
    const about = (amount_L: number, share: number, name: "one-pour" | "slip" | "double") => ({
      mean_L: amount_L * perLitre,
      standard_L: Math.hypot(2 * u, 0.2 * amount_L) * perLitre,
      share,
      name,
    });
    explanations.push({
      what: "pour",
      at: k,
      column: x.map((_, i) => (i >= k ? 1 : 0)),
      amounts: [
        about(pour_L, 0.4 * roomFor(pour_L, fillRuns), "one-pour"),
        odd ? about(pour_L - written, 0.6, "slip") : about(-(written || pour_L), 0.25, "double"),
        { mean_L: 0, standard_L: 1.2 * pour_L * perLitre, share: 0.35, name: "any" },
      ],
      prior: ((odd ? oddAmount : 1) * odds.pour) / n,
    });
  }
  for (let k = 1; k + 1 < n; k++)
    for (const at of [x[k]!, (x[k]! + x[k + 1]!) / 2])
      explanations.push({
        what: "kink",
        at: k,
        column: kinkColumn(x, at),
        amounts: [{ mean_L: 0, standard_L: kinkSpread, share: 1, name: "any" }],
        prior: odds.kink / (2 * n),
      });
  return explanations;
}

/** A pour that would overfill the stated tank is an unlikely one to have been made. */
function roomFor(pour_L: number, fillRuns: FillRuns): number {
  if (fillRuns.capacity_L === null) return 1;
  const over = (fillRuns.total_L + pour_L - 1.02 * fillRuns.capacity_L) / (0.02 * fillRuns.capacity_L);
  return over > 0 ? Math.max(1e-4, Math.exp(-0.5 * over * over)) : 1;
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
  const atEnd = k === n - 1 || k === 0 || (k === 1 && points[0]!.step.index === 0 && top.explanation.what === "pour");
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
    amountReading:
      kind === "wrong-reading" || kind === "hung-float"
        ? top.amount / model.coordinate.slope(point.step.reading)
        : null,
    p,
    alternatives,
    says,
  };
}
