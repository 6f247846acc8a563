/** Closed loop of a warning point chosen by hand on tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts warning 1 60`. */
import { expect, test } from "vitest";
import { lightLines } from "./measure-light";
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

test("what is left when the light first comes on lies within the limits that the range stage gives", {
  timeout: 120_000,
}, () => {
  const [line] = lightLines(1, 12);
  expect(line!.jobs).toBeGreaterThan(9);
  expect(line!.figures!.inside!).toBeGreaterThanOrEqual(0.9);
  expect(line!.figures!.under!).toBeLessThanOrEqual(0.09);
  expect(Math.abs(line!.figures!.off!)).toBeLessThan(0.015);
});
