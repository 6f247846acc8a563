/** What may be wrong at each step of a fill run, and how the tank may bend: columns, amounts and prior odds. */
import type { FillRun, FillRuns } from "./fill-run";
import type { Job } from "./job";
import { kinkColumn, kinkSpread, type ReadingModel } from "./reading-model";
import type { FitPoint } from "./smooth-problem";
import type { Explanation } from "./suspect-models";
import type { Weight } from "./suspect-weights";

/** Prior odds, against nothing wrong, of a wrong reading, a wrong pour, and a sharp kink in the tank. Named defaults, no source; tuned as above. */
const odds = { reading: 0.5, pour: 0.5, kink: 0.5 };
/** An amount unlike all others on the sheet makes a slip of the pen there so many times likelier. */
const oddAmount = 40;
/** A reading that repeats while volume rises, between steps that move, makes a hung float so many times likelier. */
const repeatedReading = 8;

/** Odds that the sender's stop hides the first step: float and tube end above the floor. Named default, no source. */
const stopHides = 0.35;

/** From the coordinate to litres, written minus true: a reading too high by a is worth a/slope, a pour left out lifts what follows. */
export function litresOf(weight: Weight, model: ReadingModel): { amount_L: number; standard_L: number } {
  const perLitre = model.slopes[weight.explanation.at]! / model.range_L;
  return {
    amount_L: (weight.explanation.what === "pour" ? -1 : 1) * (weight.amount / perLitre),
    standard_L: weight.standard / perLitre,
  };
}

/** The usual pour: as stated, else the middle one of the sheet. */
export function usualPour_L(run: FillRun, job: Job, model: ReadingModel): number {
  const pours = pourSizes(run);
  return job.pour.size_L ?? pours[pours.length >> 1] ?? model.range_L / model.problem.x.length;
}

const pourSizes = (run: FillRun): number[] =>
  run.steps
    .slice(1)
    .map((s) => s.added_L)
    .filter((a) => a > 0)
    .sort((a, b) => a - b);

/** The reading stands where it stood a step before, as far as rounding and noise let see, while volume went in. */
export function repeatsAt(points: FitPoint[], k: number, fillRuns: FillRuns, model: ReadingModel): boolean {
  if (k === 0) return false;
  const { y, x } = model.problem;
  const rise = model.slopes[k]! * (x[k]! - x[k - 1]!);
  const rounding = 2 * fillRuns.readingStep * Math.abs(model.coordinate.slope(points[k]!.step.reading));
  return x[k]! > x[k - 1]! && Math.abs(y[k]! - y[k - 1]!) <= Math.max(rounding, 0.1 * rise);
}

/** All that may be wrong at each step, and the bends that a tank may have. Amounts on the model's coordinate. */
export function explanationsFor(
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
  const pour_L = usualPour_L(run, job, model);
  const u = Math.max(run.pourStandard_L, 0.01 * pour_L);
  const regular = pours.filter((a) => Math.abs(a - pour_L) <= 5 * u).length >= 0.6 * pours.length;
  const explanations: Explanation[] = [];
  for (let k = 0; k < n; k++) {
    if (decided(points[k]!.step.index)) continue;
    const hung = !fillRuns.fixedSteps && k < n - 1 && repeatsAt(points, k, fillRuns, model);
    // The start may be hidden by the sender's stop: its reading then stands above the curve by up to one pour's rise.
    const rise = k === 0 ? model.slopes[0]! * Math.abs((x[1] ?? 1) - x[0]!) : 0;
    explanations.push({
      what: "reading",
      at: k,
      column: x.map((_, i) => (i === k ? 1 : 0)),
      amounts:
        k === 0
          ? [
              { mean_L: 0.5 * rise, standard_L: 0.3 * rise, share: 0.9, name: "any" },
              { mean_L: 0, standard_L: 0.15, share: 0.1, name: "any" },
            ]
          : [{ mean_L: 0, standard_L: 0.15, share: 1, name: "any" }],
      prior: k === 0 ? stopHides : ((hung ? repeatedReading : 1) * odds.reading) / n,
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
