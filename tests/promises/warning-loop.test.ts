/** Closed loop of a warning point chosen by hand on tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts warning 1 60`. */
import { expect, test } from "vitest";
import { countWarnings, measureWarning } from "./measure-warning";

test("put where about 5, 20 and 50 % are stated, it warns with less than the reserve as often as that", {
  timeout: 120_000,
}, () => {
  const counts = countWarnings(Array.from({ length: 18 }, (_, i) => measureWarning(i + 1, 1)).flat());
  for (const { aimed, jobs, stated, is, standard } of counts) {
    expect(jobs).toBeGreaterThan(14);
    expect(Math.abs(stated - aimed)).toBeLessThan(0.1);
    expect(Math.abs(is - stated), `${aimed}`).toBeLessThan(1.96 * standard);
  }
});
