/**
 * Suspect steps: which steps do not belong, and what changes without them?
 *
 * Weighs sets of wrong readings (one step moves), wrong, missed or doubled pours (every later step moves along the volume),
 * hidden ends, bends and second rooms of the tank by prior and evidence (suspect-search.ts), tells what has one chance in five,
 * and treats what is likelier than not. The default treatment is provisional until the technician confirms it.
 */

import { type Answer, type Issue, ready } from "../answer";
import type { Said } from "../said";
import type { StepChoice } from "./choices";
import type { Coordinate } from "./coordinate";
import type { FillRun, FillRuns, Step } from "./fill-run";
import type { FillJob } from "./job";
import { secondRoomOf } from "./second-room";
import { amountWord, countsDown } from "./sheet-words";
import { mostWorkedOut } from "./smallest-fault";
import type { FitPoint, PutIn } from "./smooth-problem";
import { type OddEnd, raiseBesideFrom, raiseFrom, treatFrom } from "./suspect-events";
import { type RunState, weighStates } from "./suspect-states";

export type FaultKind = "missed-pour" | "wrong-pour" | "hung-float" | "wrong-reading" | "cannot-be-told";

export interface FaultEvent {
  kind: FaultKind;
  /** Step at which it shows: the wrong reading itself, or the first step after the faulty pour. */
  step: number;
  /** Written minus true, litres (a missing pour is negative); for a wrong reading its litres' worth. */
  amount_L: number;
  amountStandard_L: number;
  /** Size as the readings alone show it, written minus true, before it is held to be a whole pour or a slip of the pen. */
  seen_L: number;
  seenStandard_L: number;
  /** The usual amount, where the one on the sheet is unlike all others and fits if it is taken as they are; else null. */
  usual_L: number | null;
  /** Wrong reading: reading as written minus as expected, reading unit; else null. */
  amountReading: number | null;
  /** Posterior probability that nothing is wrong there. */
  p: number;
  /** What else would explain it, most likely first, with its likelihood relative to the event's (0–1). */
  alternatives: { kind: FaultKind | "kink" | "second-room"; step: number; amount_L: number; likelihoodRatio: number }[];
  /** What the rule did: from one chance in two on a reading is set aside and a pour put in; a fainter doubt is told, and the step left as written. */
  treatment: "set-aside" | "put-in" | "left";
  /** One plain sentence: finding first, then why. */
  says: Said;
}

export interface TreatedStep extends Step {
  /** Volume that the curve is fitted to: as written plus what was put in. */
  treatedVolume_L: number;
  accepted: boolean;
  flag: FaultKind | "dead-zone" | null;
  reason: Said | null;
  decidedBy: "rule" | "technician" | null;
  leverage: number | null;
  studentised: number | null;
  cook: number | null;
}

export interface SuspectRun {
  file: string;
  direction: FillRun["direction"];
  /** As in the fill run: over 0 where a drain counts down from the full mark. */
  fillPours: number;
  events: FaultEvent[];
  /** First or last step that is likelier odd than not and is left as written: the curve takes it by less than its chance. */
  oddEnds: OddEnd[];
  steps: TreatedStep[];
  /** Pours put in by rule or by hand, with what is not known of their size. */
  putIns: PutIn[];
  /** Coordinate on which the run was weighed, and what may be true of it: faults, hidden ends and bends, with their chances. */
  coordinate: Coordinate["name"] | null;
  states: RunState[];
  /** Smallest pour fault, and smallest reading fault in litres, that is told at step k in 95 of 100 runs (chance `raiseFrom`); null where none is. */
  smallestDetectable_L: (number | null)[];
  smallestReading_L: (number | null)[];
  /** The pour by whether it held more or less than written; the larger of both stands above. */
  smallestMore_L: (number | null)[];
  smallestLess_L: (number | null)[];
  /** The reading in its own unit. */
  smallestReading: (number | null)[];
}

export interface SuspectSteps {
  runs: SuspectRun[];
  /** Rule-made treatments that nobody has confirmed. */
  notConfirmed: number;
  limits: { name: string; value: number; source: string }[];
}

/**
 * Weighs every step of every fill run.
 *
 * @param choices the technician's own decisions, keyed `<run>:<step>`; they override the rule.
 * @returns stuck `suspect-steps/too-few` never: under 5 points nothing can be told and nothing is flagged.
 */
export function weighSteps(
  fillRuns: FillRuns,
  job: FillJob,
  choices: Record<string, StepChoice>,
): Answer<SuspectSteps> {
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
          remedy:
            event.treatment === "left"
              ? "Look at the sheet or the receipt; then leave it, or set it right."
              : "Confirm it or take it back, after a look at the sheet or the receipt.",
          where: { file: run.file, step: event.step },
          weight: "doubtful",
          condition: conditionOf(event, amountWord(run)),
        });
    }
    const room = secondRoomOf(weighed);
    if (room)
      cautions.push({
        code: "suspect-steps/second-room",
        says: `A second room of the tank seems to fill between steps ${room.steps[0]} and ${room.steps[1]}. What goes in there moves no reading, so a pour forgotten or doubled on the sheet would not show, and all above it would be off by as much.`,
        remedy: "Hold the pours around there against the receipt or the container.",
        where: { file: run.file, step: room.steps[1] },
        weight: "holds-if",
        condition: `the pours from step ${room.steps[0]} to ${room.steps[1]} are as written`,
      });
    return weighed;
  });
  return ready(
    {
      runs,
      notConfirmed,
      limits: [
        {
          name: "chance from which a fault is told",
          value: raiseFrom,
          source:
            "named default, no source: on simulated tanks it finds 96 % of faults of five standard errors and flags 10 % of clean runs at most",
        },
        {
          name: "the same, beside a fault that is likelier than not",
          value: raiseBesideFrom,
          source: "named default, no source: such a sheet is looked at anyway",
        },
        {
          name: "chance from which it is set aside or put in",
          value: treatFrom,
          source: "likelier than not",
        },
        {
          name: "share of runs in which a fault of the smallest printed size is told",
          value: 0.95,
          source: `Gaussian algebra from the priors and the chance of ${raiseFrom} (smallest-fault.ts), held to a closed loop on simulated tanks${fillRuns.runs.some((run) => run.steps.length > mostWorkedOut) ? `; in a run of more than ${mostWorkedOut} steps worked out at ${mostWorkedOut} or fewer of them, the others take that of the nearest` : ""}`,
        },
      ],
    },
    cautions,
  );
}

const conditionOf = (event: FaultEvent, word: "pour" | "draw") =>
  event.treatment === "left"
    ? `step ${event.step} is as written`
    : event.kind === "missed-pour"
      ? `${word} ${event.step} was made and not written`
      : event.kind === "wrong-reading" || event.kind === "hung-float"
        ? `step ${event.step} was misread`
        : `${word} ${event.step} was not as written`;

function weighRun(fillRuns: FillRuns, r: number, job: FillJob, choices: Record<string, StepChoice>): SuspectRun {
  const run = fillRuns.runs[r]!;
  const treated = new Map<
    number,
    { flag: FaultKind | null; reason: Said | null; accepted: boolean; decidedBy: "rule" | "technician" | null }
  >();
  const putIns: PutIn[] = [];
  // A litre more drawn is a litre less in the tank.
  const moves = countsDown(run) ? -1 : 1;
  for (const step of run.steps) {
    const choice = choices[`${r}:${step.index}`];
    if (choice?.treat === "set-aside")
      treated.set(step.index, { flag: null, reason: choice.reason, accepted: false, decidedBy: "technician" });
    if (choice?.treat === "put-in" && choice.amount_L !== undefined)
      putIns.push({ run: r, step: step.index, amount_L: moves * choice.amount_L, standard_L: run.pourStandard_L });
  }
  const volumeOf = (step: Step) =>
    step.volume_L + putIns.reduce((s, p) => s + (step.index >= p.step ? p.amount_L : 0), 0);
  const decided = (index: number) => choices[`${r}:${index}`] !== undefined;
  const pointsNow = (): FitPoint[] =>
    run.steps
      .filter((s) => s.atStop === null && treated.get(s.index)?.accepted !== false)
      .map((step) => ({ run: r, step, volume_L: volumeOf(step) }));

  const weighed = weighStates(fillRuns, r, pointsNow(), [...putIns], job, decided);
  for (const { event, putIn } of weighed.raised) {
    if (putIn) putIns.push({ run: r, step: event.step, ...putIn, amount_L: moves * putIn.amount_L });
    const accepted = event.treatment !== "set-aside";
    const decidedBy = event.treatment === "left" ? null : "rule";
    treated.set(event.step, { flag: event.kind, reason: event.says, accepted, decidedBy });
  }
  const events = weighed.raised.map((f) => f.event);

  const aside = new Set([
    ...weighed.hidden,
    ...events.filter((e) => !treated.get(e.step)!.accepted).map((e) => e.step),
  ]);
  const diagnosticOf = new Map(
    weighed.diagnostics.filter(({ step }) => !aside.has(step)).map(({ step, diagnostic }) => [step, diagnostic]),
  );
  const inner = [...diagnosticOf.keys()];
  const steps = run.steps.map((step): TreatedStep => {
    const t = treated.get(step.index);
    const d = diagnosticOf.get(step.index);
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
  const smallest = (size: "pour_L" | "pourMore_L" | "pourLess_L" | "reading_L" | "reading", first: number) =>
    run.steps.map((step) => {
      const k = inner.indexOf(step.index);
      return k >= first && k <= inner.length - 2 ? diagnosticOf.get(step.index)![size] : null;
    });
  return {
    file: run.file,
    direction: run.direction,
    fillPours: run.fillPours,
    events,
    oddEnds: weighed.oddEnds.filter(({ step }) => !decided(step)),
    steps,
    putIns,
    coordinate: weighed.coordinate,
    states: weighed.states,
    // The first two points and the last can show no pour, the first and the last no reading.
    smallestDetectable_L: smallest("pour_L", 2),
    smallestMore_L: smallest("pourMore_L", 2),
    smallestLess_L: smallest("pourLess_L", 2),
    smallestReading_L: smallest("reading_L", 1),
    smallestReading: smallest("reading", 1),
  };
}
