/** What may be wrong at each step of a fill run, and how the tank may bend: amounts and prior odds. */
import type { FillRun, FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { kinkSlope, type Member, type RunChain } from "./run-chain";
import { chordSpan, kinkSpreadAt } from "./slopes";

/** An explanation that a state may take in; for a pour of any amount the mean is 0. */
export type Possible = Member;

/** Prior odds, against nothing wrong, of a wrong reading, a wrong pour, a sharp kink in the tank, and a second room in it. Named defaults, no source; tuned on simulated tanks. */
const odds = { reading: 0.5, pour: 0.5, kink: 0.5, shelf: 0.12 };
/** A tank's foot is narrow more often than any other part of it: within this share of the range a bend is so many times as likely. Named defaults, no source. */
const foot = { share: 0.1, odds: 4 };
/** An amount unlike all others on the sheet makes a slip of the pen there so many times likelier. */
const oddAmount = 40;
/** Nobody writes a recording’s readings down: other than by a float that hangs they are so many times as likely wrong. Named default, no source. */
const recordedReading = 0.5;
/** A reading that repeats while volume rises, between steps that move, makes a hung float so many times likelier. */
const repeatedReading = 8;
/** Chance that a float which hung over one pour still hangs over the next. Named default, no source. */
const hangsOn = 0.5;
/** A wrong reading is off by so much, in shares of the span. */
const readingSpread = 0.15;

/** Size of a second room that fills over a wall, in shares of the range. Named default, no source. */
const shelfSpread = 0.08;

/** Odds that the sender's stop hides an end step: float and tube end above the floor and under the roof. Named default, no source. */
const stopHides = 0.35;
const stopMarked = 0.9;

/** Of close neighbours (chordSpan over 1) only so many long shelves, and so many of the oddest amounts, are weighed: by chance there are hundreds. */
const mostAmongMany = { shelves: 12, slips: 6 };

/** The usual pour: as stated, else the middle one of the sheet. */
export function usualPour_L(run: FillRun, job: FillJob, range_L: number): number {
  const pours = pourSizes(run);
  return job.pour.size_L ?? pours[pours.length >> 1] ?? range_L / run.steps.length;
}

const pourSizes = (run: FillRun): number[] =>
  run.steps
    .slice(1)
    .map((s) => s.added_L)
    .filter((a) => a > 0)
    .sort((a, b) => a - b);

/** Most faults that a state of a run of so many steps may hold. */
export const mostFaults = (steps: number): number => Math.max(2, Math.floor(steps / 5));

/**
 * Litres by which the pours of this sheet differ from the usual one as a habit: by so much, or more, one pour more differs than a state may hold
 * faults. Where it is not nothing the hand does not pour one size, and an amount must differ by clearly more to be a slip of the pen.
 */
function habitOf(pours: number[], pour_L: number, faults: number): number {
  const off = pours.map((a) => Math.abs(a - pour_L)).sort((a, b) => b - a);
  return off[faults] ?? 0;
}

/** The point that was read before point `k`: a drain that stands alone is turned round, so that its rows stand from last to first. */
export const readBefore = ({ direction, fillPours }: Pick<FillRun, "direction" | "fillPours">, k: number): number =>
  direction === "drain" && fillPours === 0 ? k + 1 : k - 1;

/** The reading stands where it stood at the row before, as far as rounding and noise let see, while volume went in or out. */
export function repeatsAt(
  chain: RunChain,
  slopes: number[],
  k: number,
  fillRuns: Pick<FillRuns, "readingStep">,
  before: number,
): boolean {
  const { x, y, points, coordinate } = chain;
  if (before < 0 || before >= x.length) return false;
  const moved = Math.abs(slopes[k]! * (x[k]! - x[before]!));
  const rounding = 2 * fillRuns.readingStep * Math.abs(coordinate.slope(points[k]!.step.reading));
  return x[k] !== x[before] && Math.abs(y[k]! - y[before]!) <= Math.max(rounding, 0.1 * moved);
}

/** The reading falls to the next step although volume went in, by more than a tenth of what it should have risen. */
function fallsAfter({ x, y }: RunChain, slopes: number[], k: number): boolean {
  const poured = x[k + 1]! - x[k]!;
  return poured > 0 && y[k + 1]! - y[k]! < -0.1 * slopes[k]! * poured;
}

/** A run that is still poured: steps that it will have, and whether the sender may stand on its stop already. */
export interface WholeRun {
  steps: number;
  stopAtEnd: boolean;
}

/**
 * All that may be wrong at each step, and the bends that a tank may have. In a run of 120 points and more a reading that repeats is no sign
 * of a hung float, and of shelves with points on them and of slips of the pen only the few largest are named.
 */
export function explanationsFor(
  fillRuns: FillRuns,
  run: FillRun,
  chain: RunChain,
  slopes: number[],
  job: FillJob,
  decided: (index: number) => boolean,
  whole: WholeRun = { steps: chain.points.length, stopAtEnd: true },
): Possible[] {
  const { points, x } = chain;
  const n = points.length;
  const pours = pourSizes(run);
  const pour_L = usualPour_L(run, job, chain.range_L);
  const habit_L = habitOf(pours, pour_L, mostFaults(run.steps.length));
  const own_L = Math.max(run.pourStandard_L, 0.01 * pour_L);
  const u = Math.max(own_L, 0.3 * habit_L);
  const span = chordSpan(n);
  const isOdd = (written: number) => written > 0 && Math.abs(written - pour_L) > Math.max(5 * own_L, 2 * habit_L);
  const oddest =
    span === 1
      ? null
      : new Set(
          points
            .map((_, k) => k)
            .filter((k) => k > 0 && isOdd(points[k]!.step.added_L))
            .sort(
              (a, b) =>
                Math.abs(points[b]!.step.added_L - pour_L) - Math.abs(points[a]!.step.added_L - pour_L) || a - b,
            )
            .slice(0, mostAmongMany.slips),
        );
  const recorded = run.trace !== null;
  const possible: Possible[] = [];
  for (let k = 0; k < n; k++) {
    if (decided(points[k]!.step.index)) continue;
    // The stop may hide an end step: its reading then stands inside the curve by up to one pour's rise.
    if (k === 0 || (k === n - 1 && whole.stopAtEnd)) {
      const other = k === 0 ? 1 : n - 2;
      const rise = slopes[k]! * (x[other]! - x[k]!);
      const prior = points[k]!.step.atStop ? stopMarked : stopHides;
      possible.push({
        what: "hidden",
        at: k,
        amountName: "any",
        mean: 0.5 * rise,
        standard: Math.max(1e-3, 0.3 * Math.abs(rise)),
        logPrior: Math.log(prior / (1 - prior)),
      });
    }
    const stands = repeatsAt(chain, slopes, k, fillRuns, readBefore(run, k));
    const inner = readBefore(run, k) > k ? k > 0 : k < n - 1;
    const hung = stands && span === 1 && !fillRuns.fixedSteps && (inner || !whole.stopAtEnd);
    possible.push({
      what: "reading",
      at: k,
      amountName: "any",
      mean: 0,
      standard: readingSpread,
      logPrior: Math.log(
        ((hung ? repeatedReading : recorded && !stands ? recordedReading : 1) * odds.reading) / whole.steps,
      ),
    });
    if (k === 0) continue;
    const written = points[k]!.step.added_L;
    // A drain goes on until nothing more comes: its last draw, the first one over its end, is what was left and no slip of the pen.
    const rest = run.direction === "drain" && run.fillPours === 0 && points[k]!.step.index === 1;
    // A fill goes on until no whole pour fits: a short last one is what fitted, and no slip either.
    const fitted =
      run.direction === "fill" &&
      points[k]!.step.index === run.steps[run.steps.length - 1]!.index &&
      whole.stopAtEnd &&
      written < pour_L;
    const odd = !rest && !fitted && isOdd(written) && (oddest?.has(k) ?? true);
    // In a recording such a step is there because the level moved and was waited on.
    const unwritten = recorded && written === 0;
    const pour = (amountName: Member["amountName"], mean: number, standard: number, share: number) =>
      possible.push({
        what: "pour",
        at: k,
        amountName,
        mean: chain.direction * mean,
        standard,
        logPrior: Math.log((share * (odd || unwritten ? oddAmount : 1) * odds.pour) / whole.steps),
      });
    pour("one-pour", pour_L, 2 * u, 0.4);
    if (odd) pour("slip", pour_L - written, 2 * u, 0.6);
    else pour("double", -(written || pour_L), 2 * u, 0.25);
    pour("any", 0, 1.2 * pour_L, 0.35);
  }
  const inTheFoot = (k: number) =>
    run.direction === "fill" && chain.direction > 0 && (k === 1 || x[k]! - x[0]! < foot.share);
  for (let k = 1; k + 1 < n; k++)
    // However a tank bends, more fuel never lowers the float.
    for (const between of [false, true])
      if ((!between || k + 2 < n) && !fallsAfter(chain, slopes, k))
        possible.push({
          what: "kink",
          at: k,
          between,
          amountName: "any",
          mean: 0,
          standard: kinkSpreadAt(kinkSlope(slopes, k, between)),
          logPrior: Math.log(((inTheFoot(k) ? foot.odds : 1) * odds.kink) / (2 * whole.steps)),
        });
  if (fillRuns.runs.length === 1 && run.direction === "fill" && chain.direction > 0) {
    const shelf = (at: number, past: number): Possible => ({
      what: "shelf",
      at,
      past,
      amountName: "any",
      mean: 0,
      standard: shelfSpread * chain.range_L,
      logPrior: Math.log((2 * odds.shelf) / whole.steps),
    });
    const long: Possible[] = [];
    for (let k = 2; k + 1 < n; k++) {
      let past = k;
      while (past + 2 < n && repeatsAt(chain, slopes, past + 1, fillRuns, past)) past++;
      possible.push(shelf(k, k));
      // One point on it, and no reading that repeats: a room as large as a pour takes a part of two of them.
      if (span === 1 && k + 2 < n) possible.push(shelf(k, k + 1));
      if (past > k && !repeatsAt(chain, slopes, k, fillRuns, k - 1))
        (span === 1 ? possible : long).push(shelf(k, past + 1));
    }
    const length = (p: Possible) => p.past! - p.at;
    long.sort((a, b) => length(b) - length(a) || a.at - b.at);
    possible.push(...long.filter((p) => length(p) >= span).slice(0, mostAmongMany.shelves));
  }
  return possible;
}

/**
 * A float that hangs over several pours: one fault, though it sets several readings aside. Each reading after the first is far likelier wrong than
 * by itself, and no single one of them explains anything.
 * @returns the readings of each such hang, first to last; the step after it moves again.
 */
export function longHangs(possible: Possible[], repeats: (k: number) => boolean): Possible[][] {
  const readings = new Map(possible.filter((p) => p.what === "reading").map((p) => [p.at, p]));
  const last = Math.max(0, ...readings.keys());
  const found: Possible[][] = [];
  for (let k = 1; k < last; k++) {
    if (!repeats(k) || repeats(k - 1)) continue;
    const hang: Possible[] = [];
    for (let i = k; i < last && repeats(i) && readings.has(i); i++)
      hang.push(hang.length === 0 ? readings.get(i)! : { ...readings.get(i)!, logPrior: Math.log(hangsOn) });
    if (hang.length > 1) found.push(hang);
  }
  return found;
}
