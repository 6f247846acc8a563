/** A deadband that is typed in volts: said in litres, least to most. */
import { expect, test } from "vitest";
import { deadbandInVolts, slopesOf } from "../../src/pipeline/deadband-in-volts";
import { published } from "../../src/said";
import { runExample } from "./example-run";

/** 10 L a volt on the lower half of 4 V, 30 L on the upper one: 20 on average. */
const bent = [
  { reading: 0, volume_L: 0 },
  { reading: 2, volume_L: 20 },
  { reading: 4, volume_L: 80 },
];

test("slopes are those of the flattest and the steepest tenth of the travel", () => {
  const { least, most } = slopesOf(bent);
  expect(least).toBeCloseTo(10, 9);
  expect(most).toBeCloseTo(30, 9);
});

test("what a device holds that holds volts is told from least to most; nothing where litres are typed or nothing is held", () => {
  const said = deadbandInVolts(0.4, "V", bent, 20)!;
  expect(published(said.says)).toContain("reckoned as ± 0.40 L all over the tank");
  expect(published(said.says)).toContain("between ± 0.20 L and ± 0.60 L");
  expect(deadbandInVolts(0.4, "V", bent, 25)!.weight).toBe("note");
  expect(deadbandInVolts(0.4, "V", bent, 15)!.weight).toBe("holds-if");
  expect(deadbandInVolts(0.4, "L", bent, 20)).toBeNull();
  expect(deadbandInVolts(0, "V", bent, 20)).toBeNull();
});

test("it stands with the display of such a device, and not with another", () => {
  const codes = (unit: "V" | "L") => {
    const { display } = runExample("moor-runner", (s) => ({
      ...s,
      job: { ...s.job, device: { ...s.job.device, deadband: { unit, step: 0.01, most: 2 } } },
      choices: { ...s.choices, display: { timeConstant_s: 20, deadband_L: 0.4 } },
    })).answers;
    return display.state === "ready" ? display.cautions.map((c) => c.code) : [];
  };
  expect(codes("V")).toContain("display/deadband-in-volts");
  expect(codes("L")).not.toContain("display/deadband-in-volts");
});
