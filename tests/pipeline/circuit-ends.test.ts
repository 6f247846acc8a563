/** Ends of a run against what the circuit predicts: each fault by its signature, in volts, counts and ohms. */
import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { compareEnds } from "../../src/pipeline/circuit-signature";
import type { FillRuns } from "../../src/pipeline/fill-run";
import type { JobInput } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { circuitFinding } from "../../src/pipeline/words/circuit";
import { circuitOf, input, runOf, stated } from "./circuit-jobs";

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
