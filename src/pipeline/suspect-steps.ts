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
import { evidenceOf, logSum, type Setting, type SmoothProblem, settingsOf, weightsOf } from "../math/smoothing";
import type { StepChoice } from "./choices";
import { hiddenEnds } from "./curve-band";
import type { FillRun, FillRuns, Step } from "./fill-run";
import type { Job } from "./job";
import { coordinatesFor, type FitPoint, localSlopes, type PutIn, problemFor } from "./smooth-problem";
import { detectable, diagnose, type Explanation, type Weighed, weigh } from "./suspect-models";

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
const raiseFrom = 0.8;
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
    for (const end of hiddenEnds(bestModel(fillRuns, first, putIns, job).problem, first, fillRuns))
      if (end.w > 0.5) hiddenSteps.add(first[end.index]!.step.index);

  const events: FaultEvent[] = [];
  const most = Math.floor(run.steps.length / 5);
  for (let round = 0; round <= most; round++) {
    const points = pointsNow();
    if (points.length < 6) break;
    const model = bestModel(fillRuns, points, putIns, job);
    const found = strongest(
      fillRuns,
      run,
      points,
      model,
      job,
      (index) => choices[`${r}:${index}`] !== undefined || events.some((e) => e.step === index),
    );
    if (!found || round === most) break;
    events.push(found.event);
    const { event } = found;
    if (event.kind === "missed-pour" || event.kind === "wrong-pour") {
      putIns.push({ run: r, step: event.step, amount_L: -event.amount_L, standard_L: event.amountStandard_L });
      treated.set(event.step, { flag: event.kind, reason: event.says, accepted: true, decidedBy: "rule" });
    } else treated.set(event.step, { flag: event.kind, reason: event.says, accepted: false, decidedBy: "rule" });
  }

  const points = pointsNow();
  const model = points.length >= 4 ? bestModel(fillRuns, points, putIns, job) : null;
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
      return se === null ? null : 5 * se;
    });
  const n = points.length;
  return {
    file: run.file,
    events: events.map((e) => ({ ...e })),
    steps,
    putIns,
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

interface Model {
  problem: SmoothProblem;
  settings: Setting[];
}

/** The coordinate on which these points look smoothest. */
function bestModel(fillRuns: FillRuns, points: FitPoint[], putIns: PutIn[], job: Job): Model {
  const slopes = localSlopes(points);
  const models = coordinatesFor(job, fillRuns).map((c): Model => {
    const problem = problemFor(fillRuns, points, putIns, c, slopes, job.sender.kind);
    return { problem, settings: settingsOf(problem) };
  });
  return models.reduce((best, m) => (evidenceOf(m.settings) > evidenceOf(best.settings) ? m : best));
}

/** The strongest fault among all steps, if it is likely enough; explanations as kinks compete. */
function strongest(
  fillRuns: FillRuns,
  run: FillRun,
  points: FitPoint[],
  model: Model,
  job: Job,
  decided: (index: number) => boolean,
): { event: FaultEvent } | null {
  const n = points.length;
  const x = model.problem.x;
  const range = model.problem.range;
  const pours = run.steps
    .slice(1)
    .map((s) => s.added_L)
    .filter((a) => a > 0)
    .sort((a, b) => a - b);
  const pour_L = job.pour.size_L ?? pours[pours.length >> 1] ?? range / n;
  const u = Math.max(run.pourStandard_L, 0.01 * pour_L);
  const repeated = (k: number) =>
    fillRuns.fixedSteps === null &&
    k > 0 &&
    k < n - 1 &&
    Math.abs(points[k]!.step.reading - points[k - 1]!.step.reading) <= 2 * fillRuns.readingStep &&
    points[k]!.volume_L > points[k - 1]!.volume_L;
  const explanations: Explanation[] = [];
  for (let k = 0; k < n; k++) {
    const index = points[k]!.step.index;
    if (decided(index)) continue;
    explanations.push({
      what: "reading",
      at: k,
      column: x.map((_, i) => (i === k ? 1 : 0)),
      amounts: [{ mean_L: 0, standard_L: 0.25 * range, share: 1, name: "any" }],
      prior: ((repeated(k) ? repeatedReading : 1) * odds.reading) / n,
    });
    if (k === 0) continue;
    const written = points[k]!.step.added_L;
    const regular = pours.filter((a) => Math.abs(a - pour_L) <= 5 * u).length >= 0.6 * pours.length;
    const odd = regular && written > 0 && Math.abs(written - pour_L) > 5 * u;
    explanations.push({
      what: "pour",
      at: k,
      column: x.map((_, i) => (i >= k ? 1 : 0)),
      amounts: [
        { mean_L: -pour_L, standard_L: 2 * u, share: 0.4 * roomFor(pour_L, fillRuns), name: "one-pour" },
        ...(odd
          ? [{ mean_L: written - pour_L, standard_L: 2 * u, share: 0.6, name: "slip" as const }]
          : [{ mean_L: written > 0 ? written : pour_L, standard_L: 2 * u, share: 0.25, name: "double" as const }]),
        { mean_L: 0, standard_L: 1.2 * pour_L, share: 0.35, name: "any" },
      ],
      prior: ((odd ? oddAmount : 1) * odds.pour) / n,
    });
  }
  for (let k = 1; k + 1 < n; k++)
    for (const at of [x[k]!, (x[k]! + x[k + 1]!) / 2])
      explanations.push({
        what: "kink",
        at: k,
        column: x.map((t) => Math.max(0, t - at)),
        amounts: [{ mean_L: 0, standard_L: 2 * range, share: 1, name: "any" }],
        prior: odds.kink / (2 * n),
      });
  const weighed = weigh(model.settings, explanations);
  const nothing = 0;
  const logs = weighed.map((w) => Math.log(w.explanation.prior) + w.logBayesFactor);
  const total = logSum([nothing, ...logs]);
  // Each step's faults together, kinks left out.
  let best = -1;
  let bestLog = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < n; k++) {
    const mine = logSum(
      weighed.map((w, i) =>
        w.explanation.at === k && w.explanation.what !== "kink" ? logs[i]! : Number.NEGATIVE_INFINITY,
      ),
    );
    if (mine > bestLog) [bestLog, best] = [mine, k];
  }
  if (best < 0 || !(Math.exp(bestLog - total) >= raiseFrom)) return null;
  const mine = weighed
    .map((w, i) => ({ w, log: logs[i]! }))
    .filter(({ w }) => w.explanation.at === best && w.explanation.what !== "kink")
    .sort((a, b) => b.log - a.log);
  const kinks = weighed
    .map((w, i) => ({ w, log: logs[i]! }))
    .filter(({ w }) => w.explanation.what === "kink")
    .sort((a, b) => b.log - a.log)
    .slice(0, 1);
  return { event: describeFault(points, best, mine, kinks, pour_L, fillRuns) };
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
  mine: { w: Weighed; log: number }[],
  kinks: { w: Weighed; log: number }[],
  pour_L: number,
  fillRuns: FillRuns,
): FaultEvent {
  const top = mine[0]!;
  const n = points.length;
  const point = points[k]!;
  const index = point.step.index;
  const { w } = top;
  const slope = localSlopes(points)[k]! * fillRuns.sense;
  const repeats =
    k > 0 &&
    Math.abs(point.step.reading - points[k - 1]!.step.reading) <= 2 * fillRuns.readingStep &&
    point.volume_L > points[k - 1]!.volume_L;
  // The last pour and the last reading move the same point, the first pour and the first reading all others.
  const atEnd = k === n - 1 || k === 0 || (k === 1 && points[0]!.step.index === 0 && top.w.explanation.what === "pour");
  const kindOf = (e: Weighed): FaultKind =>
    e.explanation.what === "pour"
      ? e.amountName === "one-pour"
        ? "missed-pour"
        : "wrong-pour"
      : repeats
        ? "hung-float"
        : "wrong-reading";
  const kind: FaultKind = atEnd ? "cannot-be-told" : kindOf(w);
  // A wrong reading is worth what it would mean on the curve less what was there: the other way round than a wrong volume.
  const ofReading = w.explanation.what === "reading";
  const amount_L = kind === "missed-pour" ? -pour_L : ofReading ? -w.amount_L : w.amount_L;
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
  const others = [...mine.slice(1), ...kinks].map(({ w: o, log }) => ({
    kind: o.explanation.what === "kink" ? ("kink" as const) : kindOf(o),
    step: points[o.explanation.at]!.step.index,
    amount_L: o.amount_L,
    likelihoodRatio: Math.exp(Math.min(0, log - top.log)),
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
    amountStandard_L: w.standard_L,
    amountReading:
      kind === "wrong-reading" || kind === "hung-float" ? (slope !== 0 ? -w.amount_L / slope : null) : null,
    p,
    alternatives,
    says,
  };
}
