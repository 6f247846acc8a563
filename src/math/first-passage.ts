/** First passage: where does a level that falls steadily, and shakes, first come below a mark? */
import { interpolateHeld } from "./interpolate";

/**
 * Seeded replays of a steady Ornstein-Uhlenbeck process that falls through a mark (8,000 each, 2,500 under 0.1; 200 steps or more in its time constant):
 * fall in one time constant, and how far over the mark the level itself still is at the first passage, mean and standard deviation; all in standard
 * deviations of the shaking. A test replays some of them.
 */
const replayed = {
  fall: [0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10],
  early: [2.53, 2.14, 1.83, 1.46, 1.0, 0.655, 0.37, 0.15, 0.05],
  spread: [0.48, 0.535, 0.59, 0.67, 0.79, 0.86, 0.94, 0.99, 1.0],
};
const logFall = replayed.fall.map(Math.log);

/**
 * @param sd of the shaking. @param fall of the level in one time constant of the shaking, same unit; both over 0.
 * @returns mean and standard deviation of the level over the mark when the shaking first carries it there; held outside 0.02 to 10 falls a deviation.
 */
export function firstPassage(sd: number, fall: number): { early: number; spread: number } {
  const at = Math.log(fall / sd);
  return {
    early: sd * interpolateHeld(logFall, replayed.early, at),
    spread: sd * interpolateHeld(logFall, replayed.spread, at),
  };
}
