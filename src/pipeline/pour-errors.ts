/**
 * Pour errors: how the written volumes of fill and drain steps err together (law of propagation, JCGM 100:2008, 5.2).
 *
 * A volume is a sum of pours, so its errors are shared: by all later steps of a run, and by a drain run that counts down from the full mark
 * of a fill run.
 */
import type { FillRun, Step } from "./fill-run";

/** What is known of the errors behind the volumes, standard uncertainties. */
export interface PourErrors {
  /** Of one pour, and of one draw, litres. */
  pour_L: number;
  draw_L: number;
  /** Relative, of the container that was poured with. */
  scale: number;
  /** Of what was in the tank at step 0, litres; enters volumes since the start only where a usable or absolute volume is meant. */
  start_L: number;
}

/** Where a drain run counts from. */
export type DrainFrom =
  /** The full mark of a fill run with so many pours, drained into the container that it was filled with. */
  | { anchor: "full"; pours: number; container: "same" }
  /** The same, drained into another container with its own relative scale error. */
  | { anchor: "full"; pours: number; container: "other"; otherScale: number }
  /** Its own end, where the pump drew air: usable volumes, known best near empty. `scale` is that of the container drained into. */
  | { anchor: "pump-draws-air" };

/** A step of a drain run: how many draws were made, how many litres they are together, and the volume left by that count. */
export interface DrainStep {
  draws: number;
  drawn_L: number;
  volume_L: number;
}

/**
 * Covariance of the volumes of a drain run, litres².
 * - from the full mark, same container: `vᵢvⱼu_s² + n·u_p² + min(i, j)·u_d² + u₀²`
 * - from the full mark, another container: `(F²u_s² + DᵢDⱼu_s'²) + n·u_p² + min(i, j)·u_d² + u₀²`
 * - from its end: `vᵢvⱼu_s² + (m − max(i, j))·u_d²`, with m draws in all
 */
export function drainCovariance(steps: DrainStep[], errors: PourErrors, from: DrainFrom): number[][] {
  const { pour_L, draw_L, scale, start_L } = errors;
  if (from.anchor === "pump-draws-air") {
    const all = Math.max(...steps.map((s) => s.draws));
    return steps.map((a) =>
      steps.map((b) => a.volume_L * b.volume_L * scale ** 2 + (all - Math.max(a.draws, b.draws)) * draw_L ** 2),
    );
  }
  const full_L = (s: DrainStep) => s.volume_L + s.drawn_L;
  return steps.map((a) =>
    steps.map((b) => {
      const marks =
        from.container === "same"
          ? a.volume_L * b.volume_L * scale ** 2
          : full_L(a) * full_L(b) * scale ** 2 + a.drawn_L * b.drawn_L * from.otherScale ** 2;
      return marks + from.pours * pour_L ** 2 + Math.min(a.draws, b.draws) * draw_L ** 2 + start_L ** 2;
    }),
  );
}

/**
 * Covariance of the volume of fill step i (so many pours, so many litres) with that of a drain step counted down from the same run's full
 * mark: the pours below it are in both, and so are start and container.
 */
export function fillWithDrain(
  fill: { pours: number; volume_L: number },
  drain: DrainStep,
  errors: PourErrors,
  from: Extract<DrainFrom, { anchor: "full" }>,
): number {
  const { pour_L, scale, start_L } = errors;
  const marked = from.container === "same" ? drain.volume_L : drain.volume_L + drain.drawn_L;
  return fill.volume_L * marked * scale ** 2 + Math.min(fill.pours, from.pours) * pour_L ** 2 + start_L ** 2;
}

/**
 * Covariance of "fill step less drain step at equal written volume" over the drain steps: what the pours alone can make a loop look like. The
 * same container's scale and the start cancel; the pours above a level and the draws down to it do not.
 * @param weights of the fill steps for each drain step (from interpolation between them).
 */
export function loopCovariance(
  fill: FillRun,
  fillSteps: Step[],
  drain: FillRun,
  drainSteps: Step[],
  weights: number[][],
): number[][] {
  const u2 = fill.pourStandard_L ** 2;
  const d2 = drain.pourStandard_L ** 2;
  const pours = drain.fillPours;
  const ofFill = (a: Step, b: Step) =>
    fill.runningTotal ? (a.index === b.index && a.index > 0 ? u2 : 0) : u2 * Math.min(a.index, b.index);
  // Read off a running total, the full mark's own error is in every drain step.
  const shared = (a: Step) => (fill.runningTotal ? (a.index === pours ? u2 : 0) : u2 * Math.min(a.index, pours));
  const full = fill.runningTotal ? u2 : u2 * pours;
  const ofDraws = (a: Step, b: Step) =>
    drain.runningTotal ? (a.index === b.index && a.index > 0 ? d2 : 0) : d2 * Math.min(a.index, b.index);
  const touched = weights.map((row) => row.flatMap((w, k) => (w === 0 ? [] : [{ w, step: fillSteps[k]! }])));
  return drainSteps.map((a, i) =>
    drainSteps.map((b, j) => {
      let c = full + ofDraws(a, b);
      for (const { w, step } of touched[i]!) c -= w * shared(step);
      for (const { w, step } of touched[j]!) c -= w * shared(step);
      for (const one of touched[i]!) for (const two of touched[j]!) c += one.w * two.w * ofFill(one.step, two.step);
      return c;
    }),
  );
}

/**
 * Covariance of the written volumes of one run, litres², without scale and start (added to the band afterwards):
 * `min(i,j)·u_p²` for pours, `(n + min(i,j))·u_p²` for a drain counted down from n pours, diagonal for a running total.
 * @see law of propagation, JCGM 100:2008, 5.2.
 */
export function pourCovariance(run: FillRun): number[][] {
  const variances = run.steps.map((step) => pourVariance(run, step));
  return variances.map((a, i) => variances.map((b, j) => (i === j ? a.own : Math.min(a.shared, b.shared))));
}

/** The same in two numbers a step: variance shared with every later step, and the step's own. */
export function pourVariance(run: FillRun, step: Step): { shared: number; own: number } {
  const u2 = run.pourStandard_L ** 2;
  if (run.runningTotal) return { shared: 0, own: step.index === 0 ? 0 : u2 };
  // A drain run counts down from the full mark: all pours of the fill and the draws so far stand in it. Alone it counts from its end.
  const summed = u2 * (run.fillPours + step.index);
  return { shared: summed, own: summed };
}
