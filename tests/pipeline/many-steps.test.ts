/** A sheet of 2,000 typed steps: what one of 15 is asked for holds here as well. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import { createPipeline } from "../../src/pipeline/index";

const pours = 2000;
const size_L = 70 / pours;
/** A rising curve with a bend at 35 L. */
const sender = (litres: number) => 0.5 + 0.045 * litres - 0.00012 * litres * litres + 0.012 * Math.max(0, litres - 35);

/** Read to a millivolt with 4 mV of noise: many times what one pour of 35 mL moves. Faults by step. */
function weigh(seed: number, faults: { reading?: Record<number, number>; written_L?: Record<number, number> }) {
  const random = createRandom(seed);
  let litres = 0;
  const rows = Array.from({ length: pours }, (_, k) => {
    if (k > 0) litres += size_L * (1 + 0.02 * random.normal());
    const reading = sender(litres) + 0.004 * random.normal() + (faults.reading?.[k] ?? 0);
    return `${k === 0 ? 0 : (faults.written_L?.[k] ?? size_L)},${reading.toFixed(3)}`;
  });
  const bytes = new TextEncoder().encode(`added_L,sender_V\n${rows.join("\n")}\n`);
  const { stages } = createPipeline({
    job: {
      tank: { capacity_L: 72 },
      sender: { kind: "float-arm" },
      circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5 },
      fill: { enteredAs: "added", startedFrom: "pick-up-dry" },
      pour: { size_L, errorPerPour_L: 0.02 * size_L, scaleErrorLimit: 0.005 },
    },
    files: { fills: [{ name: "fill.csv", kind: "fill", bytes, sha256: "0" }], drives: [] },
    readings: {},
    choices: noChoices,
  });
  const run = valueIn(stages.suspectSteps.read())!.runs[0]!;
  const curve = valueIn(stages.curve.read())!;
  const off = [5, 20, 34, 50, 65].map((l) => Math.abs(volumeAt(curve, sender(l)) - l));
  return { run, curve, worst_L: Math.max(...off) };
}

describe("2,000 typed steps", () => {
  test("a wrong reading and an amount written 40 times too large are told, each as what it is, and nothing else", () => {
    const { run, worst_L } = weigh(2, { reading: { 700: -0.4 }, written_L: { 1200: 40 * size_L } });
    expect(run.events.map((e) => [e.kind, e.step, e.treatment])).toEqual([
      ["wrong-reading", 700, "set-aside"],
      ["wrong-pour", 1200, "put-in"],
    ]);
    expect(run.events[0]!.amountReading).toBeCloseTo(-0.4, 1);
    expect(run.events[1]!.amount_L).toBeCloseTo(39 * size_L, 2);
    expect(worst_L).toBeLessThan(0.3);
  });

  test("a clean sheet is left alone, and the curve finds the tank", () => {
    const { run, curve, worst_L } = weigh(1, {});
    expect(run.events).toEqual([]);
    expect(worst_L).toBeLessThan(0.3);
    expect(curve.points).toHaveLength(pours);
    // Whitened residuals are of unit variance where the errors are as stated.
    const squares = curve.points.reduce((s, p) => s + p.whitened ** 2, 0) / pours;
    expect(squares).toBeGreaterThan(0.6);
    expect(squares).toBeLessThan(1.4);
  });

  test("a reading wrong by the smallest printed size is told, one of a third of it is not", () => {
    const size = weigh(4, {}).run.smallestReading[1000]!;
    expect(size).toBeGreaterThan(2 * 0.004);
    expect(size).toBeLessThan(20 * 0.004);
    const told = (off: number) => weigh(5, { reading: { 1000: off } }).run.events.some((e) => e.step === 1000);
    expect(told(size)).toBe(true);
    expect(told(size / 3)).toBe(false);
  });
});
