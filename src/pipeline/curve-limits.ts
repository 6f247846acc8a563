/**
 * From what a run may be (its states, each with a chance) to the limits of a band and to whole curves that can be drawn from. Which state is
 * so is not known, and no bell curve says it: the limits are quantiles of the mixture, half of what is left out on either side.
 */
import { mixtureQuantile, type NormalPart } from "../math/normal-mixture";

/** One state's word on the whole curve: volumes at the readings of the grid, litres, and their joint covariance, litres². */
export interface CurveState {
  chance: number;
  mean_L: number[];
  covariance_L2: number[][];
}

/** What no residual shows: the container's relative error and the litres at the start, standard uncertainties. */
export interface FillErrors {
  scale: number;
  start_L: number;
}

/** What a later day adds at each reading; a bias of 0 and no covariance on the fill day. */
export interface DayPart {
  bias: number[];
  covariance: number[][];
}

/** The volume that is as likely too high as too low, at each reading: whichever state is likelier than all others together decides alone. */
export const middles = (parts: NormalPart[][]): number[] => parts.map((at) => mixtureQuantile(at, 0.5));

/**
 * Pointwise limits with equal tails.
 * @param parts at each reading, container and start left out. @param coverage between 0 and 1.
 */
export function limitsOf(
  parts: NormalPart[][],
  { scale, start_L }: FillErrors,
  day: DayPart | null,
  coverage: number,
): { lower_L: number; upper_L: number }[] {
  return parts.map((at, i) => {
    const more = start_L ** 2 + (day ? day.covariance[i]![i]! : 0);
    const whole = at.map(
      (p): NormalPart => ({
        weight: p.weight,
        mean: p.mean + (day ? day.bias[i]! : 0),
        standard: Math.sqrt(p.standard ** 2 + (scale * p.mean) ** 2 + more),
      }),
    );
    return {
      lower_L: mixtureQuantile(whole, 0.5 - coverage / 2),
      upper_L: mixtureQuantile(whole, 0.5 + coverage / 2),
    };
  });
}

/** The same states on a service day, container and start put in: `cov(v_i, v_j)` grows by `v_i·v_j·u_s² + u_0²` (JCGM 100:2008, 5.2). */
export function onServiceDay(states: CurveState[], { scale, start_L }: FillErrors, day: DayPart): CurveState[] {
  return states.map(({ chance, mean_L, covariance_L2 }) => ({
    chance,
    mean_L: mean_L.map((v, i) => v + day.bias[i]!),
    covariance_L2: covariance_L2.map((row, i) =>
      row.map((c, j) => c + scale ** 2 * mean_L[i]! * mean_L[j]! + start_L ** 2 + day.covariance[i]![j]!),
    ),
  }));
}
