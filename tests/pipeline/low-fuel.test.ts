/** The warning point: reserve, what is not known, and what the display shows too much, each once. */
import { expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { noChoices } from "../../src/pipeline/choices";
import { serviceDayBelow_L, setWarning } from "../../src/pipeline/low-fuel";
import { runExample } from "./example-run";

const run = runExample("moor-runner");
const curve = valueIn(run.answers.curve)!;
const job = valueIn(run.answers.job)!;

const warningOn = (lower_L: number) => {
  const moved = {
    ...curve,
    grid: curve.grid.map((g) => ({ ...g, serviceVolume_L: g.volume_L - lower_L, serviceStandard_L: 0.5 })),
  };
  return valueIn(setWarning(moved, null, null, null, null, job, noChoices.lowFuel))!;
};

test("the parts add up to the warning point before it is rounded up to the display's step", () => {
  const warning = valueIn(run.answers.lowFuel)!;
  const sum = warning.parts.reduce((s, p) => s + p.value_L, 0);
  expect(warning.recommendedWarnAt_L).toBeGreaterThanOrEqual(sum - 1e-9);
  expect(warning.recommendedWarnAt_L).toBeLessThan(sum + 1.0001 * job.device.displayStep);
});

test("a sender that hangs back by 2 L on a falling level lights 2 L earlier", () => {
  const part = (lower_L: number) => warningOn(lower_L).parts.find((p) => p.part.startsWith("falling level"))!.value_L;
  expect(part(0)).toBe(0);
  expect(part(2)).toBeCloseTo(2, 9);
  expect(warningOn(2).recommendedWarnAt_L - warningOn(0).recommendedWarnAt_L).toBeCloseTo(2, 0);
});

test("a prior that the sender shows too little lowers no warning", () => {
  expect(serviceDayBelow_L({ grid: curve.grid.map((g) => ({ ...g, serviceVolume_L: g.volume_L + 1 })) }, 5)).toBe(0);
});
