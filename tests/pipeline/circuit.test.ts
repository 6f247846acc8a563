/** The circuit: what it shows, the trade of pull-ups, fault limits, and what the leaf says. */
import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { checkCircuit } from "../../src/pipeline/circuit";
import { pullUpFigure } from "../../src/pipeline/figures/circuit-trade";
import type { FillRuns } from "../../src/pipeline/fill-run";
import type { JobInput } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { circuitFinding } from "../../src/pipeline/words/circuit";
import { circuitOf, input, jobOf, runOf, stated } from "./circuit-jobs";

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

test("a stated ground is in the travel, its span and the ohms that are taken back through the divider", () => {
  const lifted = (r: number) => dividerVolts(r, 150, 3.3, 0.4);
  const circuit = { ...input.circuit, groundOffsetVolts: 0.4 };
  const { value } = circuitOf({ ...input, circuit }, runOf(lifted));
  expect(value.measured!.signature).toBe("as-stated");
  expect([value.emptyVolts, value.fullVolts]).toEqual([lifted(10), lifted(180)].map((v) => expect.closeTo(v, 12)));
  expect(value.spanVolts).toBeCloseTo(lifted(180) - lifted(10), 12);
  expect(value.travel!.volts[25]).toBeCloseTo(lifted(95), 12);
  // A chafed wire may meet the converter's ground, which lies lower.
  expect(value.shortCircuit_A).toBeCloseTo(3.3 / 150, 12);
  const sunk = circuitOf({ ...input, circuit: { ...input.circuit, groundOffsetVolts: -0.4 } }).value;
  expect(sunk.shortCircuit_A).toBeCloseTo(3.7 / 150, 12);
  // dV/dR = (Vs − Vg)·Rp/(R + Rp)² at mid travel, 95 Ω: 1 % of 150 Ω over √3 is 1.5/√3·95/150 Ω of sender.
  const pullUp = value.budget.find((b) => b.part === "pull-up")!;
  expect(pullUp.standard_ohm).toBeCloseTo(((1.5 / Math.sqrt(3)) * 95) / 150, 9);
  expect(pullUp.standard_V).toBeCloseTo((((3.3 - 0.4) * 95) / 245 ** 2) * (1.5 / Math.sqrt(3)), 12);
  const unstated = circuitOf({ ...input, sender: {}, circuit }, runOf(lifted)).value;
  expect(unstated.spanVolts).toBeCloseTo(value.spanVolts!, 9);
  expect(unstated.bendAt_ohm).toBeCloseTo(value.bendAt_ohm!, 6);
});
