/**
 * A knowing observer: the same curve and band, told what is really so in the run. It knows which readings are wrong, what each pour
 * held that was written wrong, which end steps the sender's stop hides and where the tank bends or fills a second room. What nobody can
 * know stays: the error of a sound reading and of a sound pour, the container's own error, and the shape of the tank between the steps.
 */
import { addedOf, type Truth } from "../../datasets/world/job";
import type { Tank } from "../../datasets/world/tank";
import { valueIn } from "../../src/answer";
import { fitCurve } from "../../src/pipeline/curve";
import type { Curve } from "../../src/pipeline/curve-types";
import type { FillRuns } from "../../src/pipeline/fill-run";
import type { Job } from "../../src/pipeline/job";
import type { FitPoint } from "../../src/pipeline/smooth-problem";
import type { RunState, Shelf } from "../../src/pipeline/suspect-states";
import type { SuspectSteps } from "../../src/pipeline/suspect-steps";

/** The curve told the truth; null where the steps that were found in a recording are not those that were poured. */
export function knowingCurve(
  truth: Truth,
  tank: Tank,
  fillRuns: FillRuns,
  suspects: SuspectSteps,
  job: Job,
): Curve | null {
  const run = fillRuns.runs[0]!;
  if (run.steps.length !== truth.record.steps.length) return null;
  const off = (kinds: string[], k: number) =>
    truth.record.faults.find((f) => f.step === k && kinds.includes(f.kind))?.amount_L ?? 0;
  let writtenTooMuch_L = 0;
  const points = run.steps.flatMap((step, k): (FitPoint & { sound: boolean })[] => {
    writtenTooMuch_L += off(["missed-pour", "wrong-pour"], k);
    const height = tank.heightAt(truth.record.steps[k]!.trueVolume_L + truth.fill.start_L);
    const hidden = height <= truth.sender.lowStop || height >= truth.sender.highStop;
    const wrong = off(["wrong-reading", "hung-float"], k) !== 0;
    return [{ run: 0, step, volume_L: step.volume_L - writtenTooMuch_L, sound: !hidden && !wrong }];
  });
  const shelf = secondRoom(truth, tank);
  const onSurface = (volume_L: number) =>
    shelf ? volume_L - Math.max(0, Math.min(shelf.size_L, volume_L - shelf.from_L)) : volume_L;
  const sound = points.filter((p) => p.sound).map((p) => ({ ...p, volume_L: onSurface(p.volume_L) }));
  if (sound.length < 4) return null;
  const from_L = sound[0]!.volume_L;
  const to_L = sound[sound.length - 1]!.volume_L;
  const state: RunState = {
    chance: 1,
    points: sound,
    putIns: [],
    kinks_L: bends(truth, tank)
      .map(onSurface)
      .filter((v) => v > from_L && v < to_L),
    shelf,
    noises: null,
  };
  const told: SuspectSteps = {
    ...suspects,
    runs: [
      {
        ...suspects.runs[0]!,
        states: [state],
        putIns: [],
        steps: suspects.runs[0]!.steps.map((s, k) => ({
          ...s,
          accepted: points[k]!.sound,
          treatedVolume_L: points[k]!.volume_L,
          flag: null,
          decidedBy: null,
        })),
      },
    ],
  };
  return valueIn(fitCurve(told, fillRuns, job, { shape: null, knots: null })) ?? null;
}

/** Litres added at which the tank's section changes at once. */
function bends(truth: Truth, tank: Tank): number[] {
  return truth.tank.shape === "cylinder" || truth.tank.shape === "lobes"
    ? []
    : [addedOf(truth, tank.contentsAt(truth.tank.b))];
}

/** The second lobe: what goes in while the surface stands at its wall. */
function secondRoom(truth: Truth, tank: Tank): Shelf | null {
  if (truth.tank.shape !== "lobes") return null;
  const wall = truth.tank.b;
  const high = 0.015;
  const filling_L = tank.contentsAt(wall + high) - tank.contentsAt(wall);
  // Over the wall the whole section rises with the surface; only the rest fills the second lobe.
  const risen_L = tank.contentsAt(wall + 3 * high) - tank.contentsAt(wall + 2 * high);
  const from_L = addedOf(truth, tank.contentsAt(wall));
  const under = truth.record.steps.filter((s) => s.trueVolume_L < from_L).length;
  const within = truth.record.steps.filter((s) => s.trueVolume_L < from_L + filling_L).length;
  // The lobe fills while the surface rises by that little: half of it when half has risen.
  return {
    steps: [under - 1, within],
    from_L: from_L + risen_L / 2,
    spread_L: risen_L / Math.sqrt(12),
    size_L: filling_L - risen_L,
    unseen: [],
  };
}
