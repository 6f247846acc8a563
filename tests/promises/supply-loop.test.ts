/** Closed loop of a straying supply on tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts supply 1 60`. */
import { expect, test } from "vitest";
import { coverageLine } from "./lines";
import { measureSupply } from "./measure-supply";

test("a supply logged on the road widens the service-day band to what it strays by; without the log the band is too narrow", () => {
  const scores = Array.from({ length: 20 }, (_, i) => measureSupply(i + 1) ?? []).flat();
  expect(scores.length).toBeGreaterThan(8);
  const of = (which: "logged" | "unlogged") =>
    coverageLine(
      "",
      scores.map((s) => s[which]),
    ).figures;
  expect(of("logged").upper).toBeGreaterThan(0.95);
  expect(of("logged").coverage).toBeGreaterThan(0.9);
  expect(of("unlogged").upper).toBeLessThan(0.9);
});
