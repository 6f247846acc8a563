/**
 * Suspect steps: which steps do not belong, and what changes without them?
 *
 * Weighs, for each step, a wrong reading (one step moves) against a wrong, missed or doubled pour (every later step
 * moves) against a kink in the tank's shape, on whitened residuals of a smooth curve. The default treatment is
 * provisional until the technician confirms it.
 */
import type { Answer } from "../answer";
import type { StepChoice } from "./choices";
import type { FillRuns, Step } from "./fill-run";
import type { Job } from "./job";

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

export function weighSteps(_fillRuns: FillRuns, _job: Job, _choices: Record<string, StepChoice>): Answer<SuspectSteps> {
  throw new Error("not written yet");
}
