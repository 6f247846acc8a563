import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { checkCircuit } from "../../src/pipeline/circuit";
import { compareEnds } from "../../src/pipeline/circuit-signature";
import { pullUpFigure } from "../../src/pipeline/figures/circuit-trade";
import type { FillRuns } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { circuitFinding } from "../../src/pipeline/words/circuit";

const jobOf = (input: JobInput) => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job is not ready");
  return answer.value;
};
const input: JobInput = {
  tank: { capacity_L: 58 },
  sender: { emptyOhms: 10, fullOhms: 180 },
  circuit: { kind: "pull-up", pullUpOhms: 150, supplyVolts: 3.3, adcBits: 12, ratiometric: true },
};
/** A straight sender poured full in nine steps, through the divider given. */
function runOf(volts: (ohms: number) => number, empty = 10, full = 180, share = 1): FillRuns {
  const steps = Array.from({ length: 9 }, (_, i) => ({
    index: i,
    volume_L: (58 * share * i) / 8,
    added_L: i === 0 ? 0 : (58 * share) / 8,
    reading: volts(empty + ((full - empty) * share * i) / 8),
    standardError: 0.002,
    effectiveSamples: null,
    samples: null,
    dropped_s: null,
    from_s: null,
    to_s: null,
    line: i + 2,
    atStop: null,
  }));
  return {
    readingUnit: "V",
    sense: 1,
    runs: [
      {
        file: "fill.csv",
        kind: "typed",
        direction: "fill",
        steps,
        pourStandard_L: 0.03,
        runningTotal: false,
        trace: null,
      } as unknown as FillRuns["runs"][number],
    ],
    readingStep: 0.001,
    repeatability: null,
    betweenRuns: null,
    hysteresis_L: null,
    scaleStandard: 0.003,
    startStandard_L: 0,
    fixedSteps: null,
    deadZones: [],
    total_L: 58 * share,
    capacity_L: 58,
    deviceHeldBack: null,
  };
}
const circuitOf = (job: JobInput, run: FillRuns | null = null) => {
  const answer = checkCircuit(jobOf(job), run);
  if (answer.state !== "ready") throw new Error("the circuit is not ready");
  return answer;
};
const stated = (r: number) => dividerVolts(r, 150, 3.3);

describe("what the circuit shows", () => {
  test("span, bend in litres, heat and current follow from the stated circuit", () => {
    const { value } = circuitOf(input);
    expect(value.spanVolts).toBeCloseTo(stated(180) - stated(10), 12);
    expect(value.twoPointBend_L).toBeCloseTo(58 * value.twoPointBend_fraction!, 12);
    expect(value.shortCircuit_A).toBeCloseTo(0.022, 12);
    expect(value.senderHeat_W).toBeCloseTo(3.3 ** 2 / (4 * 150), 12);
  });
  test("the best pull-ups lie round the sender's most ohms, where the worst level is seen best", () => {
    const best = circuitOf(input).value.bestPullUps.map((o) => o.pullUpOhms);
    expect(best).toContain(180);
    expect(best).toHaveLength(5);
    expect(best.every((p) => p > 120 && p < 270)).toBe(true);
  });
  test("with nothing stated and no fill run the circuit is stuck and says what to measure", () => {
    const answer = checkCircuit(jobOf({}), null);
    expect(answer.state === "stuck" && answer.issue.code).toBe("circuit/not-stated");
  });
});

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

describe("the trade of pull-ups", () => {
  const job = (emptyOhms: number, fullOhms: number, pullUpOhms: number): JobInput => ({
    tank: { capacity_L: 58 },
    sender: { emptyOhms, fullOhms },
    circuit: { kind: "pull-up", pullUpOhms, supplyVolts: 5, ratiometric: true },
  });
  test.each([
    // Bend in per cent of the span and where it lies: check values derived beside `math/divider`.
    [33, 240, 240, 14.0, 122.0],
    [0, 300, 240, 20.0, 120.0],
    [10, 180, 100, 22.9, 75.5],
  ])("%d to %d Ω on %d Ω bends by %d %% of the span at %d Ω", (least, most, pullUp, percent, at) => {
    const { value } = circuitOf(job(least, most, pullUp));
    expect(100 * value.twoPointBend_fraction!).toBeCloseTo(percent, 1);
    expect(value.bendAt_ohm!).toBeCloseTo(at, 1);
    expect(value.fittedPullUp!.bend_fraction).toBe(value.twoPointBend_fraction);
  });
  test("the widest span of the trade lies at the preferred value next to √(Rmin·Rmax)", () => {
    const widest = circuitOf(job(33, 240, 240)).value.trade.reduce((a, b) => (b.spanVolts > a.spanVolts ? b : a));
    expect(Math.sqrt(33 * 240)).toBeCloseTo(89, 1);
    expect(widest.pullUpOhms).toBe(91);
  });
  test("a pull-up near the sender's most ohms is kept, a far one is not, and the sentence says by how much", () => {
    expect(circuitOf(job(33, 240, 240)).value.recommended).toMatchObject({ keep: true, pullUpOhms: 240 });
    const { recommended } = circuitOf(job(33, 240, 1000)).value;
    expect(recommended).toMatchObject({ keep: false, pullUpOhms: 240 });
    // (240+1000)²/1000 against (240+240)²/240.
    expect(recommended!.why).toContain("1.6 times smaller");
  });
  test("the figure marks the fitted pull-up and has every preferred value in its table", () => {
    const { value } = circuitOf(job(33, 240, 1000));
    const figure = pullUpFigure(value)!;
    expect(figure.panels[0]!.marks.map((m) => m.kind === "vertical" && m.x)).toEqual([1000, 240]);
    expect(figure.table.rows).toHaveLength(value.trade.length);
    expect(figure.panels.map((p) => p.y.label)).toEqual(["span", "bend", "heat in the sender"]);
  });
});

describe("what the leaf says", () => {
  const saysOf = (job: JobInput, run: FillRuns | null = null) =>
    textOf(circuitFinding(circuitOf(job, run).value).sentence);
  test("a fault in the ends leads the sentence and is never called a yes", () => {
    expect(
      saysOf(
        input,
        runOf((r) => stated(190 - r)),
      ),
    ).toMatch(/^Not as stated\. .*the sender is reversed/);
    expect(saysOf(input, runOf(stated))).toMatch(/^Yes: the travel shows as/);
  });
  test("a sender of other ohms than stated is never called a yes: what the run shows leads, said once", () => {
    const { value, cautions } = circuitOf(
      input,
      runOf((r) => 4.98 + 0.0001 * r),
    );
    const said = circuitFinding(value);
    expect(textOf(said.sentence)).toMatch(/^Not as stated\. The run ends at .+does not move over the stated ohms/);
    expect(textOf(said.sentence)).not.toContain("straight line");
    expect(said.says).toContain(cautions.find((c) => c.says === value.measured!.says)!.code);
    expect(textOf(said.further!)).toContain("Check the wiring");
  });
  test("a gauge that no resistor can fit is a doubt with what mends it; one that can stands under the finding", () => {
    const onGauge = (gaugeEmptyOhms: number, gaugeFullOhms: number) => {
      const { value, cautions } = circuitOf({ ...input, sender: { ...input.sender, gaugeEmptyOhms, gaugeFullOhms } });
      return { said: circuitFinding(value), doubt: cautions.find((c) => c.code === "circuit/gauge-cannot-fit") };
    };
    const turned = onGauge(180, 10);
    expect(turned.doubt?.weight).toBe("doubtful");
    expect(textOf(turned.said.sentence)).toContain("no resistor mends that");
    expect(textOf(turned.said.further!)).toContain("Fit a gauge");
    expect(turned.said.says).toContain("circuit/gauge-cannot-fit");
    const shrunk = onGauge(20, 90);
    expect(shrunk.doubt).toBeUndefined();
    expect(textOf(shrunk.said.sentence)).not.toContain("across the sender");
    expect(textOf(shrunk.said.further!)).toMatch(/^With .+across the sender/);
  });
  test("a preferred value is written as on the resistor", () => {
    const far: JobInput = {
      sender: { kind: "float-arm", emptyOhms: 0, fullOhms: 90 },
      circuit: { kind: "pull-up", pullUpOhms: 1000, supplyVolts: 5 },
    };
    const figure = pullUpFigure(circuitOf(far).value)!;
    expect(figure.finding).toContain("91\u00a0Ω");
  });
  test("a sender with a converter says what does not apply and that the fuel in use counts", () => {
    const job: JobInput = { sender: { kind: "capacitive" }, circuit: { kind: "converter", supplyVolts: 5 } };
    const says = saysOf(
      job,
      runOf((r) => 0.5 + (4 * (r - 10)) / 170),
    );
    expect(says).toMatch(/^The sender brings its own converter: pull-up, bend and heat do not apply\./);
    expect(says).toContain("with the fuel that it will serve");
  });
  test("the engine pair is a figure with its interval and its path", () => {
    const job: JobInput = {
      ...input,
      circuit: { ...input.circuit, enginePair: { offReading: 1.65, runningReading: 1.8, readingLimit: 0.005 } },
    };
    const { value, cautions } = circuitOf(job);
    const sentence = circuitFinding(value).sentence;
    const shift = sentence.find((p) => typeof p !== "string" && p.path === "circuit.runningShift.shiftVolts");
    expect(shift).toMatchObject({ value: value.runningShift!.shiftVolts, unit: "V" });
    expect(textOf(sentence)).toContain("a lifted ground");
    expect(cautions.map((c) => c.code)).toContain("circuit/running-shift");
  });
});

describe("fault limits", () => {
  test("they stand between the working ends and the rails", () => {
    const { value } = circuitOf(input, runOf(stated));
    expect(value.faultLow!).toBeGreaterThan(0);
    expect(value.faultLow!).toBeLessThan(stated(10));
    expect(value.faultHigh!).toBeGreaterThan(stated(180));
    expect(value.faultHigh!).toBeLessThan(3.3);
    expect(value.faultLowVolts).toBe(value.faultLow);
  });
  test("in ohms and in counts too, a run that stops short of full leaves the stated full end believed", () => {
    // 96 % of the tank were poured: the stated 180 Ω were never read, and are no fault.
    const ohms = circuitOf(
      { ...input, circuit: { kind: "none" } },
      { ...runOf((r) => r, 10, 180, 0.96), readingUnit: "ohm" },
    ).value;
    expect(ohms.faultHigh!).toBeGreaterThan(180 + 0.1 * 170);
    const perCount = 3.3 / 2 ** 12;
    const counts = circuitOf(input, {
      ...runOf((r) => stated(r) / perCount, 10, 180, 0.96),
      readingUnit: "count",
      readingStep: 1,
    }).value;
    const volts = circuitOf(input, runOf(stated, 10, 180, 0.96)).value;
    expect(counts.faultHigh! * perCount).toBeCloseTo(volts.faultHigh!, 2);
  });
  test("a sender with its own converter: an open wire reads its supply, so the upper limit lies below that", () => {
    const tube = (supplyVolts: number | null): JobInput => ({
      ...input,
      sender: { kind: "capacitive" },
      circuit: { kind: "converter", supplyVolts, ratiometric: true, adcBits: 12 },
    });
    const half = (r: number) => 0.5 + (4 * (r - 10)) / 170;
    const { value } = circuitOf(tube(5), runOf(half));
    expect(value.faultHigh!).toBeGreaterThan(4.6);
    expect(value.faultHigh!).toBeLessThan(4.9);
    // A sender fed from the battery leaves all the room that is wanted; a supply below the readings is none of theirs.
    const wide = circuitOf(tube(12), runOf(half)).value.faultHigh!;
    expect(wide).toBeCloseTo(4.5 + 0.15 * 4, 1);
    expect(circuitOf(tube(3.3), runOf(half)).value.faultHigh!).toBeCloseTo(wide, 6);
  });
  test("a sender whose own end is 0 Ω gets no lower limit, and is told why", () => {
    const zero: JobInput = { ...input, sender: { emptyOhms: 0, fullOhms: 180 } };
    const { value, cautions } = circuitOf(zero, runOf(stated, 0));
    expect(value.faultLow).toBeNull();
    expect(value.faultHigh).not.toBeNull();
    expect(cautions.map((c) => c.code)).toContain("circuit/short-looks-like-an-end");
  });
});

describe("measured ends against prediction", () => {
  const signature = (volts: (r: number) => number) => circuitOf(input, runOf(volts)).value.measured!.signature;
  test("the stated circuit is recognised", () => expect(signature(stated)).toBe("as-stated"));
  test("a reversed sender is named", () => expect(signature((r) => stated(190 - r))).toBe("sender-reversed"));
  test("swapped wires are named", () => expect(signature((r) => (3.3 * 150) / (r + 150))).toBe("wires-swapped"));
  test("another pull-up is named", () => expect(signature((r) => dividerVolts(r, 330, 3.3))).toBe("pull-up-differs"));
  test("another supply is named", () => expect(signature((r) => dividerVolts(r, 150, 5))).toBe("supply-differs"));
  test("a lifted ground is named", () => expect(signature((r) => dividerVolts(r, 150, 3.3, 0.5))).toBe("bad-ground"));
  test("a run from a tank that was not dry ends inside the stated travel, and no fault is blamed for it", () => {
    const answer = circuitOf(input, runOf(stated, 25, 176));
    expect(answer.value.measured!.signature).toBe("inside-travel");
    expect(answer.cautions.filter((c) => c.weight === "doubtful")).toEqual([]);
    expect(textOf(circuitFinding(answer.value).sentence)).toMatch(/^Yes/);
  });
  test("counts of a converter that follows its supply are held against the prediction in volts", () => {
    const inCounts = (run: FillRuns): FillRuns => ({ ...run, readingUnit: "count", readingStep: 1 });
    const counts = (r: number) => (stated(r) / 3.3) * 4096;
    const signatureOf = (run: FillRuns) => circuitOf({ ...input, readingUnit: "count" }, inCounts(run)).value.measured!;
    expect(signatureOf(runOf(counts)).signature).toBe("as-stated");
    expect(signatureOf(runOf((r) => counts(190 - r))).signature).toBe("sender-reversed");
  });
  test("a missing pull-up leaves the input near 0 V", () => {
    const ends = { empty: 0.004, full: 0.011 };
    expect(compareEnds(ends, { empty: 10, full: 180 }, 150, 3.3, 0, true).signature).toBe("pull-up-missing");
  });
  test("a sender that drives 0.2 to 3.2 V by itself is a converter on a pull-up", () => {
    expect(signature((r) => 0.2 + (3 * (r - 10)) / 170)).toBe("converter-on-pull-up");
  });
  test("a signature's sentence names the value that explains both ends", () => {
    const says = (volts: (r: number) => number) => circuitOf(input, runOf(volts)).value.measured!.says;
    expect(says((r) => dividerVolts(r, 330, 3.3))).toContain("a pull-up of 330 Ω would explain it");
    expect(says((r) => dividerVolts(r, 150, 5))).toContain("a supply of 5.00 V would explain it");
    expect(says((r) => dividerVolts(r, 150, 3.3, 0.5))).toContain("0.50 V too high");
    expect(says((r) => dividerVolts(r, 150, 3.3, -0.2))).toMatch(/stands 0.20 V under the converter’s/);
  });
  test("ohms in the wire are named, and beside each cause the other one that both ends allow", () => {
    const of = (volts: (r: number) => number) => circuitOf(input, runOf(volts)).value.measured!;
    const wire = of((r) => stated(r + 30));
    expect(wire.signature).toBe("ohms-in-the-wire");
    expect(wire.says).toContain("30 Ω more in the sender’s wire or contacts would explain it");
    // A small resistance and a lifted ground move both ends nearly alike: neither is blamed alone.
    const both = of((r) => stated(r + 12));
    expect(both.says).toMatch(
      /12 Ω more in the sender’s wire or contacts would explain it; so would a sender ground that stands 0\.\d\d V too high: two ends do not tell/,
    );
    expect(of((r) => dividerVolts(r, 150, 5)).says).not.toContain("so would");
  });
  test("a run that ends inside the stated travel holds by what is stated alone, and what it may be is said with what mends it", () => {
    const { value, cautions } = circuitOf(
      input,
      runOf((r) => stated(25 + 0.8 * r)),
    );
    expect(value.measured!.signature).toBe("inside-travel");
    const text = textOf(circuitFinding(value).sentence);
    expect(text).toMatch(/^Yes, by what is stated: the travel shows as /);
    expect(text).not.toContain("The run ends at");
    expect(cautions.map((c) => c.code)).toContain("circuit/inside-travel");
  });
  test("a run that stops half-way is part of the travel, no fault", () => {
    expect(circuitOf(input, runOf(stated, 10, 180, 0.5)).value.measured!.signature).toBe("part-travel");
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

test("without a fill run no readings of one are said to tell the circuit", () => {
  const says = (job: JobInput, run: FillRuns | null) => {
    const answer = checkCircuit(jobOf(job), run);
    if (answer.state !== "ready") throw new Error("should be ready");
    return textOf(circuitFinding(answer.value).sentence);
  };
  const stated: JobInput = { ...input, circuit: { kind: "none" } };
  expect(says(stated, null)).toContain("there is no fill run to read it from");
  expect(says(stated, null)).not.toContain("The readings of the fill run");
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

describe("a run in ohms against the sender's stated ends", () => {
  const inOhms = (ohms: (r: number) => number, share = 1) => {
    const run: FillRuns = { ...runOf(ohms, 10, 180, share), readingUnit: "ohm", readingStep: 0.1 };
    return circuitOf({ ...input, readingUnit: "ohm" }, run);
  };
  const of = (ohms: (r: number) => number, share = 1) => inOhms(ohms, share).value.measuredOhms!;

  test("as stated, half full, reversed, more ohms at both ends, and another sender are told apart", () => {
    expect(of((r) => r).signature).toBe("as-stated");
    expect(of((r) => r, 0.5).signature).toBe("part-travel");
    expect(of((r) => 190 - r).signature).toBe("sender-reversed");
    expect(of((r) => r + 12)).toMatchObject({
      signature: "ohms-in-the-wire",
      says: "The run ends at 22.0 Ω empty and 192.0 Ω full where 10 and 180 Ω are stated, 12 Ω more at both: the meter’s leads, the sender’s wire or its contacts.",
    });
    expect(of((r) => 30 + 1.2 * r).signature).toBe("sender-differs");
    expect(of((r) => 30 + 0.8 * r).signature).toBe("inside-travel");
    expect(circuitOf(input, runOf(stated)).value.measuredOhms).toBeNull();
  });

  test("what speaks against the stated ends leads the sentence", () => {
    expect(textOf(circuitFinding(inOhms((r) => 190 - r).value).sentence)).toMatch(
      /^Not as stated\. The run ends at 180\.0 Ω empty/,
    );
    expect(textOf(circuitFinding(inOhms((r) => r + 12).value).sentence)).toMatch(
      /^Not as stated\. .*12 Ω more at both/,
    );
    expect(textOf(circuitFinding(inOhms((r) => 30 + 1.2 * r).value).sentence)).toMatch(
      /^Not as stated\. The run ends at 42/,
    );
    expect(textOf(circuitFinding(inOhms((r) => r).value).sentence)).toMatch(/^Yes/);
  });
});

test("readings in percent are no counts of the converter: nothing is said of volts that they would be", () => {
  const percent: FillRuns = { ...runOf((r) => (100 * stated(r)) / 3.3), readingUnit: "count", readingStep: 0.01 };
  const job: JobInput = {
    ...input,
    readingUnit: "count",
    circuit: { ...input.circuit, adcBits: 12, ratiometric: true },
  };
  expect(circuitOf(job, { ...percent, inPercent: true }).value.measured).toBeNull();
  expect(circuitOf(job, percent).value.measured!.signature).not.toBe("as-stated");
});

test("a stated ground is in the travel, its span and the ohms that are taken back through the divider", () => {
  const lifted = (r: number) => dividerVolts(r, 150, 3.3, 0.4);
  const circuit = { ...input.circuit, groundOffsetVolts: 0.4 };
  const { value } = circuitOf({ ...input, circuit }, runOf(lifted));
  expect(value.measured!.signature).toBe("as-stated");
  expect([value.emptyVolts, value.fullVolts]).toEqual([lifted(10), lifted(180)].map((v) => expect.closeTo(v, 12)));
  expect(value.spanVolts).toBeCloseTo(lifted(180) - lifted(10), 12);
  expect(value.travel!.volts[25]).toBeCloseTo(lifted(95), 12);
  // dV/dR = (Vs − Vg)·Rp/(R + Rp)² at mid travel, 95 Ω: 1 % of 150 Ω over √3 is 1.5/√3·95/150 Ω of sender.
  const pullUp = value.budget.find((b) => b.part === "pull-up")!;
  expect(pullUp.standard_ohm).toBeCloseTo(((1.5 / Math.sqrt(3)) * 95) / 150, 9);
  expect(pullUp.standard_V).toBeCloseTo((((3.3 - 0.4) * 95) / 245 ** 2) * (1.5 / Math.sqrt(3)), 12);
  const unstated = circuitOf({ ...input, sender: {}, circuit }, runOf(lifted)).value;
  expect(unstated.spanVolts).toBeCloseTo(value.spanVolts!, 9);
  expect(unstated.bendAt_ohm).toBeCloseTo(value.bendAt_ohm!, 6);
});
