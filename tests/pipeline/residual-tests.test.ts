import { describe, expect, test } from "vitest";
import { residualTests, runsTest, shapiroFrancia } from "../../src/pipeline/residual-tests";

const of = (residuals: number[]) => {
  const tests = residualTests(
    residuals,
    residuals.map((_, i) => i),
    residuals,
    15,
  );
  return Object.fromEntries(tests.map((t) => [t.name, t]));
};
const n = 20;
const slow = Array.from({ length: n }, (_, i) => Math.sin((2 * Math.PI * i) / n));
const turns = Array.from({ length: n }, (_, i) => (i % 2 === 0 ? 1 : -1) * (1 + 0.1 * Math.sin(i)));

describe("what the tests of the residuals mean", () => {
  test("a slow wave is neighbours that err alike, and clumps: a bend is missing", () => {
    const { runs, "Durbin-Watson": dw } = of(slow);
    expect(dw!.statistic).toBeLessThan(2);
    expect(dw!.means).toMatch(/err alike: a bend is missing/);
    expect(runs!.means).toMatch(/clumps: a bend is missing/);
  });

  test("steps by turns over and under the curve are not called a missing bend", () => {
    const { runs, "Durbin-Watson": dw } = of(turns);
    expect(dw!.statistic).toBeGreaterThan(2);
    expect(dw!.p).toBeLessThan(0.05);
    expect(dw!.means).toMatch(/err to opposite sides/);
    expect(runs!.means).toMatch(/more often than chance would/);
    for (const t of [runs!, dw!]) expect(t.means).not.toContain("a bend is missing");
    expect(runsTest(turns).many).toBe(true);
  });

  test("the chance of a normal sample is that of its own length and seed, whatever was asked before", () => {
    const alone = shapiroFrancia(slow, 1);
    const others = [shapiroFrancia(slow.slice(5), 1), shapiroFrancia(slow, 2)];
    expect(shapiroFrancia(slow, 1)).toEqual(alone);
    expect([shapiroFrancia(slow.slice(5), 1), shapiroFrancia(slow, 2)]).toEqual(others);
    expect(others[0]!.p).not.toBe(alone.p);
    expect(others[1]!.p).not.toBe(alone.p);
  });
});
