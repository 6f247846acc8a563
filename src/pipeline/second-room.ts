/** A second room of the tank, that fills over a wall while the surface stands: told where it is likelier than not. */
import type { SuspectRun } from "./suspect-steps";

export interface SecondRoom {
  /** That there is one, by the states of the run. */
  chance: number;
  /** Last step before it fills and first step after, where that is likeliest. How much it holds is not said: it may be larger than the pours show. */
  steps: [number, number];
}

/** @returns null where the run is likelier to be of a tank with one room. */
export function secondRoomOf({ states }: Pick<SuspectRun, "states">): SecondRoom | null {
  const withRoom = states.flatMap(({ chance, shelf }) => (shelf ? [{ chance, steps: shelf.steps }] : []));
  const chance = withRoom.reduce((sum, s) => sum + s.chance, 0);
  if (!(chance > 0.5)) return null;
  const at = (steps: [number, number]) =>
    withRoom.reduce((sum, s) => sum + (s.steps[0] === steps[0] && s.steps[1] === steps[1] ? s.chance : 0), 0);
  return { chance, steps: withRoom.reduce((a, b) => (at(b.steps) > at(a.steps) ? b : a)).steps };
}
