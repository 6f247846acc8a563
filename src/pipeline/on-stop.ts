/** End steps that probably stand on the sender's stop: nobody set them aside, but the curve takes them by their chance of not doing so. */
import type { SuspectRun, SuspectSteps, TreatedStep } from "./suspect-steps";

export interface OnStop {
  step: TreatedStep;
  end: "empty" | "full";
  /** That the step says nothing of the curve, by the states of its run. */
  chance: number;
}

/** At most the first and the last step of a run; those that were weighed, and those that are flagged or decided, are none. */
export function stepsOnStop(run: SuspectRun): OnStop[] {
  const weighed = run.steps.some((s) => s.studentised !== null);
  if (!weighed) return [];
  const volumes = run.steps.map((s) => s.treatedVolume_L);
  const middle_L = (Math.min(...volumes) + Math.max(...volumes)) / 2;
  return [run.steps[0]!, run.steps[run.steps.length - 1]!].flatMap((step): OnStop[] => {
    const isOpen = step.accepted && step.atStop === null && step.flag === null && step.decidedBy === null;
    if (!isOpen || step.studentised !== null) return [];
    const without = run.states.filter((s) => !s.points.some((p) => p.step.index === step.index));
    const chance = without.reduce((sum, s) => sum + s.chance, 0);
    return chance > 0.5 ? [{ step, end: step.treatedVolume_L > middle_L ? "full" : "empty", chance }] : [];
  });
}

export const allOnStop = (suspects: SuspectSteps): OnStop[] => suspects.runs.flatMap(stepsOnStop);
