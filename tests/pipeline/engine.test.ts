import { describe, expect, it } from "vitest";
import { type Answer, ready, stuck } from "../../src/answer";
import { createEngine, maybe } from "../../src/pipeline/engine";

interface Two {
  left: { n: number };
  right: { n: number };
}

function chain(first: Two) {
  const engine = createEngine(first);
  const left = engine.source("left", (s) => s.left);
  const right = engine.source("right", (s) => s.right);
  const halved = engine.stage(
    "halved",
    [left],
    (l): Answer<number> => (l.n % 2 === 0 ? ready(l.n / 2) : stuck({ code: "halved/odd", says: "Odd." })),
  );
  const sum = engine.stage("sum", [halved, right], (h, r) => ready(h + r.n));
  const anyway = engine.stage("anyway", [maybe(halved), right], (h, r) => ready((h ?? -1) + r.n));
  return { engine, halved, sum, anyway };
}

describe("the engine", () => {
  it("recomputes only what depends on a change", () => {
    const first = { left: { n: 4 }, right: { n: 1 } };
    const { engine, halved, sum } = chain(first);
    expect(sum.read()).toMatchObject({ value: 3 });
    engine.set({ left: first.left, right: { n: 5 } });
    expect(sum.read()).toMatchObject({ value: 7 });
    expect([halved.runs(), sum.runs()]).toEqual([1, 2]);
  });

  it("an edit that leaves every object alone recomputes nothing", () => {
    const first = { left: { n: 4 }, right: { n: 1 } };
    const { engine, sum } = chain(first);
    const before = sum.read();
    engine.set({ ...first });
    expect(sum.read()).toBe(before);
    expect(sum.runs()).toBe(1);
  });

  it("hands a stuck answer on, but not to a stage that can do without", () => {
    const { sum, anyway } = chain({ left: { n: 3 }, right: { n: 1 } });
    expect(sum.read()).toMatchObject({ state: "stuck", issue: { code: "halved/odd" } });
    expect(anyway.read()).toMatchObject({ state: "ready", value: 0 });
  });

  it("knows everything that a stage depends on, so that it can be shown as stale", () => {
    const { sum } = chain({ left: { n: 4 }, right: { n: 1 } });
    expect([...sum.upstream].sort()).toEqual(["halved", "left", "right", "sum"]);
  });

  it("a fault of a stage becomes an issue that names it and keeps the rest alive", () => {
    const engine = createEngine({ left: { n: 1 }, right: { n: 1 } });
    const broken = engine.stage("broken", [engine.source("left", (s) => s.left)], (): Answer<number> => {
      throw new Error("matrix is singular");
    });
    expect(broken.read()).toMatchObject({
      state: "stuck",
      issue: { code: "broken/internal", says: expect.stringContaining("matrix is singular") },
    });
  });
});
