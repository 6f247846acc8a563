/** Closed loop of the engine pair on tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts pair 1 900`. */
import { expect, test } from "vitest";
import { countPairs, measurePair } from "./measure-pair";
import { clopperPearson } from "./score";

test("grounds lifted and supplies moved by known amounts: shift, litres and lift lie in their intervals as often as stated, and what is blamed did it", () => {
  const { shift, litres, lift, right, wrong } = countPairs(1, 150);
  for (const [what, [hits, n]] of Object.entries({ shift, litres, lift })) {
    expect(n, what).toBeGreaterThan(100);
    expect(clopperPearson(hits, n)[1], what).toBeGreaterThan(0.95);
  }
  // One in twenty is what two standard uncertainties leave to chance.
  expect(clopperPearson(...wrong)[0]).toBeLessThan(0.05);
  expect(right[0] / right[1]).toBeGreaterThan(0.85);
});

test("where nobody measured a supply that the converter does not follow, nothing is blamed", () => {
  for (let seed = 1; seed <= 60; seed++) {
    const { metered, followed, told } = measurePair(seed, "both");
    if (!metered && !followed) expect(["noise", "cannot-be-told", "unexplained"]).toContain(told.cause);
  }
});
