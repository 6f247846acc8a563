import { describe, expect, it } from "vitest";
import { type Answer, ready, stuck } from "../../src/answer";
import { createEngine, maybe, part } from "../../src/pipeline/engine";

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

  it("a stage that reads a part of an answer runs again only where that part says something else", () => {
    const engine = createEngine({ job: { tank: { litres: [60, null] }, name: "a" } });
    const job = engine.source("job", (s) => s.job);
    const reader = engine.stage("reader", [part(job, ({ tank }) => ({ tank }))], ({ tank }) => ready(tank.litres[0]));
    const before = reader.read();
    engine.set({ job: { tank: { litres: [60, null] }, name: "b" } });
    expect(reader.read()).toBe(before);
    engine.set({ job: { tank: { litres: [61, null] }, name: "b" } });
    expect(reader.read()).toMatchObject({ value: 61 });
    engine.set({ job: { tank: { litres: [61] }, name: "b" } as never });
    reader.read();
    expect(reader.runs()).toBe(3);
    expect([...reader.upstream].sort()).toEqual(["job", "reader"]);
  });

  it("columns that hold the same numbers are the same part, blanks among them; one that differs anywhere, or is of another kind, is another", () => {
    const column = (...values: number[]) => ({ column: Float64Array.from(values) as Float64Array | Int32Array });
    const engine = createEngine(column(1, Number.NaN, 3));
    const reader = engine.stage(
      "reader",
      [
        part(
          engine.source("column", (s) => s.column),
          (c) => ({ c }),
        ),
      ],
      ({ c }) => ready(c.length),
    );
    reader.read();
    engine.set(column(1, Number.NaN, 3));
    reader.read();
    expect(reader.runs()).toBe(1);
    for (const other of [column(1, Number.NaN, 4), column(1, Number.NaN), { column: Int32Array.of(1, 2) }]) {
      engine.set(other);
      reader.read();
    }
    expect(reader.runs()).toBe(4);
  });

  it("a part of a stuck answer is stuck, and ready again with the answer", () => {
    const { engine, halved } = chain({ left: { n: 3 }, right: { n: 1 } });
    const doubled = engine.stage("doubled", [part(halved, (n) => ({ n }))], ({ n }) => ready(2 * n));
    expect(doubled.read()).toMatchObject({ state: "stuck", issue: { code: "halved/odd" } });
    engine.set({ left: { n: 8 }, right: { n: 1 } });
    expect(doubled.read()).toMatchObject({ value: 8 });
  });
});
