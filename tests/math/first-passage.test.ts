import { describe, expect, test } from "vitest";
import { firstPassage } from "../../src/math/first-passage";
import { createRandom } from "../../src/math/random";

/** A process of deviation 1 and time constant 1 that falls through 0. */
function replay(fall: number, runs: number, seed: number): { mean: number; sd: number } {
  const random = createRandom(seed);
  const dt = 0.005;
  const keep = Math.exp(-dt);
  const step = Math.sqrt(1 - keep * keep);
  const levels = Array.from({ length: runs }, () => {
    let shake = random.normal();
    let level = 4.5;
    while (level + shake > 0) {
      shake = keep * shake + step * random.normal();
      level -= fall * dt;
    }
    return level;
  });
  const mean = levels.reduce((a, b) => a + b, 0) / runs;
  return { mean, sd: Math.sqrt(levels.reduce((a, b) => a + (b - mean) ** 2, 0) / runs) };
}

describe("first passage of a falling level that shakes", () => {
  test("mean and spread are those of replays, also between the rows of the table", () => {
    for (const fall of [0.15, 0.5, 1.4]) {
      const { mean, sd } = replay(fall, 2000, 7);
      const told = firstPassage(1, fall);
      // Four standard errors of the replays.
      expect(Math.abs(told.early - mean), `${fall}`).toBeLessThan(0.09);
      expect(Math.abs(told.spread - sd), `${fall}`).toBeLessThan(0.07);
    }
  });

  test("it scales with the unit, and a quick fall leaves no time to be early", () => {
    expect(firstPassage(3, 0.6).early).toBeCloseTo(3 * firstPassage(1, 0.2).early, 12);
    expect(firstPassage(1, 50).early).toBeLessThan(0.06);
    expect(firstPassage(1, 0.1).early).toBeGreaterThan(firstPassage(1, 1).early);
  });
});
