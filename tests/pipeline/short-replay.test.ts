/** No flicker in a short replay is not 0 an hour: what is known is a rate under three in the hours of it. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { underWithout } from "../../src/pipeline/ends";
import { allFindings, textOf } from "../../src/pipeline/words/all";
import { runExample } from "./example-run";

test("three hours without one show a rate under one an hour", () => {
  expect(underWithout(3)).toBe(1);
  // 95 % of a Poisson count: at that rate none comes in one of twenty such replays.
  expect(Math.exp(-underWithout(0.2) * 0.2)).toBeCloseTo(0.05, 2);
});

describe.each(["volume", "reading"] as const)("a device that smooths the %s", (smooths) => {
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, device: { ...s.job.device, smooths } },
    choices: { ...s.choices, display: { timeConstant_s: 300, deadband_L: 0.3 } },
  }));
  const ends = valueIn(answers.ends)!;
  const hours = valueIn(answers.driveLog)!.reduce((sum, l) => sum + l.duration_s, 0) / 3600;
  const sentence = textOf(allFindings(answers).find((l) => l.name === "ends")!.finding!.sentence);

  test(smooths === "volume" ? "has only the replay to go by" : "has a formula for what is rarer", () => {
    for (const end of [ends.empty, ends.full])
      if (smooths === "volume" && end.flickersPerHour === 0) expect(end.flickersUnder).toBeCloseTo(3 / hours, 1);
      else expect(end.flickersUnder).toBeNull();
    const none = [ends.empty, ends.full].some((e) => e.flickersPerHour === 0);
    if (smooths === "volume") expect(none).toBe(true);
    expect(sentence.includes("so short a log shows no more than that")).toBe(smooths === "volume");
    expect(sentence.includes("neither end digit flickers")).toBe(false);
  });
});
