/** Error budget of one reading, by hand and against the circuit's own equations. */
import { describe, expect, test } from "vitest";
import type { FillRuns } from "../../src/pipeline/fill-run";
import type { JobInput } from "../../src/pipeline/job";
import { circuitOf, input, runOf, stated } from "./circuit-jobs";

describe("supply in the budget of one reading", () => {
  const job = (circuit: JobInput["circuit"]): JobInput => ({
    tank: { capacity_L: 60 },
    sender: { emptyOhms: 33, fullOhms: 240 },
    circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5, ...circuit },
  });
  const supplyOf = (circuit: JobInput["circuit"], run: FillRuns | null = null) =>
    circuitOf(job(circuit), run).value.budget.find((b) => b.part === "supply");
  test("by hand: ± 2 % at mid travel in volts, ohms and litres, named as stated", () => {
    const row = supplyOf({ supplyLimit: 0.02 })!;
    // 5 V · 136.5/376.5 · 0.02/√3; over 5 V · 240/376.5²; times 60 L/207 Ω.
    expect(row.standard_V).toBeCloseTo(0.020932, 5);
    expect(row.standard_ohm).toBeCloseTo(2.4726, 3);
    expect(row.standard_L).toBeCloseTo(0.7167, 3);
    expect(row.why).toContain("as stated");
  });
  test("all that is not constant together: supply and converter step by hand, the pull-up left out", () => {
    const { budget, budgetStandard_L } = circuitOf(job({ supplyLimit: 0.02, adcBits: 8, pullUpLimit: 0.05 })).value;
    // Step 5 V/2⁸/√12 = 5.638 mV; over 5 V · 240/376.5² = 8.4654 mV/Ω: 0.6660 Ω = 0.1931 L. √(0.7167² + 0.1931²) = 0.7422.
    expect(budget.map((b) => b.part)).toEqual(["pull-up", "supply", "converter step"]);
    expect(budgetStandard_L).toBeCloseTo(0.7422, 3);
  });
  test("not stated it is a named default, and a converter that follows the supply has none", () => {
    expect(supplyOf({})!.why).toContain("common practice, no source");
    expect(supplyOf({ ratiometric: true })).toBeUndefined();
  });
  test("logged beside the readings only the step of that log is left", () => {
    const run = { ...runOf(stated), supplyResidue: 0.001 / Math.sqrt(12) / 5 };
    const row = supplyOf({}, run)!;
    expect(row.standard_V).toBeCloseTo(((0.001 / Math.sqrt(12)) * 136.5) / 376.5, 8);
    expect(row.why).toContain("logged");
  });
  test("a sender's own converter moves with its supply as well", () => {
    const volts = runOf((r) => 0.5 + (4 * (r - 10)) / 170);
    const row = circuitOf(
      { sender: { kind: "capacitive" }, circuit: { kind: "converter", supplyVolts: 5, supplyLimit: 0.01 } },
      volts,
    ).value.budget.find((b) => b.part === "supply")!;
    // 2.5 V at mid travel, 58 L over 4 V.
    expect(row.standard_V).toBeCloseTo((2.5 * 0.01) / Math.sqrt(3), 8);
    expect(row.standard_L).toBeCloseTo((2.5 * 0.01 * 58) / 4 / Math.sqrt(3), 6);
  });
});

test("in the budget of a reading through the same circuit the pull-up cancels, the converter's step does not", () => {
  const { budget } = circuitOf(input, runOf(stated)).value;
  const part = (name: string) => budget.find((b) => b.part === name)!;
  expect(part("pull-up").cancels).toBe(true);
  expect(part("converter step").cancels).toBe(false);
  expect(part("converter step").standard_V).toBeCloseTo(3.3 / 4096 / Math.sqrt(12), 12);
  expect(budget.some((b) => b.part === "supply")).toBe(false);
});

test("a part of the budget is the same error in volts, ohms and litres", () => {
  const { budget } = circuitOf(input, runOf(stated)).value;
  const slope = (3.3 * 150) / (95 + 150) ** 2;
  for (const part of budget) {
    expect(part.standard_ohm).toBeCloseTo(part.standard_V! / slope, 12);
    expect(part.standard_L).toBeCloseTo((part.standard_ohm! * 58) / 170, 12);
  }
});

test("gain, offset and leakage of the input are parts of the budget where they are stated, and cancel through the same circuit", () => {
  const stated_ = {
    ...input,
    circuit: { ...input.circuit, gainLimit: 0.005, offsetLimitVolts: 0.002, leakageMicroamps: 1 },
  };
  const { budget } = circuitOf(stated_, runOf(stated)).value;
  const part = (name: string) => budget.find((b) => b.part === name)!;
  // Mid travel: 95 Ω behind 150 Ω at 3.3 V, by hand.
  expect(part("gain").standard_V).toBeCloseTo((0.005 * 1.279592) / Math.sqrt(3), 8);
  expect(part("offset").standard_V).toBeCloseTo(0.002 / Math.sqrt(3), 12);
  expect(part("input leakage").standard_V).toBeCloseTo(58.163265e-6 / Math.sqrt(3), 12);
  for (const name of ["gain", "offset", "input leakage"]) expect(part(name).cancels, name).toBe(true);
  const plain = circuitOf(input, runOf(stated)).value;
  expect(plain.budget.map((b) => b.part)).not.toContain("gain");
  expect(circuitOf(stated_, runOf(stated)).value.budgetStandard_L).toBeCloseTo(plain.budgetStandard_L!, 12);
});

test("a multimeter's share, its last digits and leads that were not taken off enter in full", () => {
  const inOhms: FillRuns = { ...runOf((ohms) => ohms), readingUnit: "ohm", readingStep: 0.1 };
  const meter = { meterLimit: 0.008, meterCounts: 3, meterLeadsOhms: 0.2, gainLimit: 0.005 };
  const { budget } = circuitOf({ ...input, circuit: { ...input.circuit, ...meter } }, inOhms).value;
  const part = (name: string) => budget.find((b) => b.part === name)!;
  expect(part("multimeter").standard_ohm).toBeCloseTo((0.008 * 95 + 3 * 0.1) / Math.sqrt(3), 12);
  expect(part("multimeter").why).toBe("at most ± 0.8 % of the reading and 3 of the last digit, over √3");
  expect(part("meter’s leads").standard_ohm).toBe(0.2);
  for (const b of budget) expect(b.cancels, b.part).toBe(false);
  const usual = circuitOf(input, inOhms).value.budget.find((b) => b.part === "multimeter")!;
  expect(usual.standard_ohm).toBeCloseTo(0.95 / Math.sqrt(3), 12);
  expect(usual.why).toContain("named default, no source");
});

test("a reading that is only as coarse as the converter counts its step once", () => {
  const run = runOf(stated);
  const step = 3.3 / 4096 / Math.sqrt(12);
  for (const s of run.runs[0]!.steps) s.standardError = step;
  const rounded = circuitOf(
    { ...input, circuit: { ...input.circuit, adcBits: 12, ratiometric: true } },
    { ...run, readingStep: 3.3 / 4096 },
  );
  expect(rounded.value.budget.map((b) => b.part)).toEqual(["pull-up", "converter step"]);
  // A scatter of 2 mV beside that step: both together are what the steps show.
  for (const s of run.runs[0]!.steps) s.standardError = 0.002;
  const { budget } = circuitOf(
    { ...input, circuit: { ...input.circuit, adcBits: 12, ratiometric: true } },
    { ...run, readingStep: 3.3 / 4096 },
  ).value;
  const parts = budget.filter((b) => !b.cancels).map((b) => b.standard_V!);
  expect(parts).toHaveLength(2);
  expect(Math.hypot(...parts)).toBeCloseTo(0.002, 12);
});
