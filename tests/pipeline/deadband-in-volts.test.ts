/** A deadband that is typed in volts: said in litres, least to most. */
import { describe, expect, test } from "vitest";
import { deadbandInVolts, litresPerVolt, slopesOf, tableInVolts } from "../../src/pipeline/deadband-in-volts";
import { askedDeadband, deadbands } from "../../src/pipeline/device-lattice";
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
  const said = deadbandInVolts(0.4, "V", bent)!;
  expect(published(said.says)).toContain("reckoned as ± 0.40 L all over the tank");
  expect(published(said.says)).toContain("between ± 0.20 L and ± 0.60 L");
  expect(said.weight).toBe("holds-if");
  // Steepest over mean: 1.4 instead of 1.5.
  const milder = bent.map((row, k) => (k === 1 ? { ...row, volume_L: 25 } : row));
  expect(deadbandInVolts(0.4, "V", milder)!.weight).toBe("note");
  expect(deadbandInVolts(0.4, "L", bent)).toBeNull();
  expect(deadbandInVolts(0, "V", bent)).toBeNull();
});

describe("readings that are no volts", () => {
  const circuit = { kind: "pull-up", supplyVolts: 5, pullUpOhms: 100, adcBits: 10 } as const;
  const from = (readingUnit: "count" | "ohm", adcBits: number | null = 10) =>
    tableInVolts(
      {
        readingUnit,
        grid: [
          { reading: readingUnit === "count" ? 204.6 : 25, volume_L: 0 },
          { reading: readingUnit === "count" ? 818.4 : 400, volume_L: 60 },
        ],
      },
      { circuit: { ...circuit, adcBits } } as never,
    );

  test("counts become volts by supply and bits, ohms by supply and pull-up: 60 L over 1 to 4 V are 20 L a volt either way", () => {
    for (const unit of ["count", "ohm"] as const) {
      const rows = from(unit)!;
      expect(rows.map((row) => row.reading)).toEqual([expect.closeTo(1, 9), expect.closeTo(4, 9)]);
      expect(litresPerVolt(rows)).toBeCloseTo(20, 9);
    }
  });

  test("where the job does not say how counts become volts, no deadband is recommended, and what to state is told", () => {
    expect(from("count", null)).toBeNull();
    const said = deadbandInVolts(0, "V", null)!;
    expect(said.code).toBe("display/deadband-not-in-volts");
    expect(said.weight).toBe("doubtful");
    expect(published(said.says)).toContain("No deadband is recommended");
    const job = { tank: { capacity_L: 60 }, device: { deadband: { unit: "V", step: 0.01, most: 2 } } } as never;
    expect(deadbands(job, 60, null, 1)).toEqual([0]);
    expect(deadbands(job, 60, 20, 1).length).toBeGreaterThan(1);
    expect(askedDeadband(0.4, job, 60, 20)).toBeCloseTo(0.02, 9);
    expect(askedDeadband(0.4, job, 60, null)).toBe(0);
  });
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
