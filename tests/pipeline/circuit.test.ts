import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { checkCircuit } from "../../src/pipeline/circuit";
import type { FillRuns } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";

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

describe("fault limits", () => {
  test("they stand between the working ends and the rails", () => {
    const { value } = circuitOf(input, runOf(stated));
    expect(value.faultLow!).toBeGreaterThan(0);
    expect(value.faultLow!).toBeLessThan(stated(10));
    expect(value.faultHigh!).toBeGreaterThan(stated(180));
    expect(value.faultHigh!).toBeLessThan(3.3);
    expect(value.faultLowVolts).toBe(value.faultLow);
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
