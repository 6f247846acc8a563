import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { analysisOf } from "../../src/pipeline/analysis";
import { analysisSchema } from "../../src/pipeline/analysis-schema";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { type RunningShift, weighEnginePair } from "../../src/pipeline/running-shift";
import { published } from "../../src/said";
import { runExample } from "./example-run";

const [empty, full, pullUp] = [10, 180, 150];
type Pair = NonNullable<NonNullable<JobInput["circuit"]>["enginePair"]>;

function weigh(pair: Pair, circuit: NonNullable<JobInput["circuit"]> = {}, others: JobInput = {}) {
  const job = resolveJob({
    tank: { capacity_L: 58 },
    readingUnit: "V",
    circuit: { kind: "pull-up", pullUpOhms: pullUp, supplyVolts: 5, ratiometric: false, enginePair: pair, ...circuit },
    ...others,
  });
  if (job.state !== "ready") throw new Error("the job is not ready");
  const answer = weighEnginePair(job.value, null, { empty, full });
  if (answer.state !== "ready") throw new Error("the pair is not ready");
  return { shift: answer.value as RunningShift, cautions: answer.cautions };
}
/** A pair as Ohm's law gives it for a sender of `ohms`. */
const pairOf = (ohms: number, supply: number, running: number, ground: number): Pair => ({
  offReading: dividerVolts(ohms, pullUp, supply),
  runningReading: dividerVolts(ohms, pullUp, running, ground),
  readingLimit: 0.005,
});

describe("what moves the reading when the engine runs", () => {
  test("without a pair nothing is said", () => {
    expect(weigh({ offReading: 2 }).shift).toBeNull();
  });

  test("two equal readings are chance, either state will do, and what could not have been seen is named", () => {
    const { shift, cautions } = weigh({ offReading: 2, runningReading: 2.003, readingLimit: 0.005 });
    expect(shift).toMatchObject({ cause: "noise", fillState: "either", groundLift_V: null });
    // 0.005 V at most each: 0.005/√3 apiece, √2 of it for the difference.
    expect(shift.shiftStandardVolts).toBeCloseTo((0.005 * Math.SQRT2) / Math.sqrt(3), 12);
    expect(published(shift.says)).toContain("0.008");
    expect(cautions).toEqual([]);
  });

  test("at R = Rp half of a lifted ground is seen, and all of it is found again", () => {
    const { shift } = weigh(pairOf(pullUp, 5, 5, 0.3), { ratiometric: true });
    expect(shift.shiftVolts).toBeCloseTo(0.15, 12);
    expect(shift).toMatchObject({ cause: "ground", fillState: "as-running" });
    expect(shift.groundLift_V).toBeCloseTo(0.3, 9);
    const ground = shift.causes.find((c) => c.cause === "ground")!;
    expect(ground.emptyShift_V).toBeCloseTo((0.3 * pullUp) / (empty + pullUp), 9);
    expect(ground.fullShift_V).toBeCloseTo((0.3 * pullUp) / (full + pullUp), 9);
    // Two standard uncertainties, 2·(0.005·√2/√3)/½.
    expect(published(shift.says).replaceAll("\u00a0", " ")).toContain(
      "the sender’s ground is lifted by 0.300 ± 0.016 V",
    );
  });

  test("a lift found is the lift put in, at any level and supply", () => {
    fc.assert(
      fc.property(
        fc.double({ min: empty, max: full, noNaN: true }),
        fc.double({ min: 0.1, max: 0.8, noNaN: true }),
        fc.double({ min: 3.3, max: 12, noNaN: true }),
        (ohms, lift, supply) => {
          const { shift } = weigh(pairOf(ohms, supply, supply, lift), { supplyVolts: supply, ratiometric: true });
          expect(shift.cause).toBe("ground");
          expect(shift.groundLift_V!).toBeCloseTo(lift, 6);
        },
      ),
    );
  });

  test("a pull-up from the battery follows the charging voltage: 12.4 to 14.1 V is 13.7 % more", () => {
    const { shift, cautions } = weigh(
      { ...pairOf(60, 12.4, 14.1, 0), offSupplyVolts: 12.4, runningSupplyVolts: 14.1 },
      { supplyVolts: 12.4 },
    );
    expect(shift).toMatchObject({ cause: "charging", groundLift_V: null, fillState: "as-running" });
    expect(shift.causes[0]!.predicted_V).toBeCloseTo(
      dividerVolts(60, pullUp, 14.1) - dividerVolts(60, pullUp, 12.4),
      9,
    );
    expect(published(shift.says)).toContain("13.7 % higher");
    expect(cautions[0]!.code).toBe("circuit/running-shift");
  });

  test("the battery’s voltage beside a pull-up on 5 V is left out and said so: no ground is made up to explain it", () => {
    const pair = { ...pairOf(120, 5, 5, 0.1), offSupplyVolts: 12.4, runningSupplyVolts: 14.1 };
    const { shift, cautions } = weigh(pair);
    const alone = weigh(pairOf(120, 5, 5, 0.1));
    expect(shift).toEqual(alone.shift);
    const note = cautions.find((c) => c.code === "circuit/pair-supply-not-used")!;
    expect(note.says).toMatch(/12\.4\sV with the engine off, is not the 5\.00\sV of the circuit/);
    expect(alone.cautions.map((c) => c.code)).not.toContain("circuit/pair-supply-not-used");
  });

  test("a regulated supply that sags is called supply, not charging", () => {
    const pair = { ...pairOf(120, 5, 4.8, 0), offSupplyVolts: 5, runningSupplyVolts: 4.8 };
    expect(weigh(pair).shift).toMatchObject({ cause: "supply", groundLift_V: null });
  });

  test("supply and ground together are parted by the measured supply", () => {
    const pair = { ...pairOf(60, 12.4, 14.1, 0.4), offSupplyVolts: 12.4, runningSupplyVolts: 14.1 };
    const { shift } = weigh(pair, { supplyVolts: 12.4 });
    expect(shift.cause).toBe("supply-and-ground");
    expect(shift.groundLift_V).toBeCloseTo(0.4, 9);
  });

  test("parts that hide each other are told where the supply was measured", () => {
    // 14.1 V raises 60 Ω's reading by 0.486 V; a ground 0.68 V low takes all of it back.
    const lift = -((14.1 - 12.4) * 60) / pullUp;
    const pair = { ...pairOf(60, 12.4, 14.1, lift), offSupplyVolts: 12.4, runningSupplyVolts: 14.1 };
    const { shift } = weigh(pair, { supplyVolts: 12.4 });
    expect(shift.shiftVolts).toBeCloseTo(0, 9);
    expect(shift.cause).toBe("supply-and-ground");
    expect(published(shift.says)).toContain("the converter’s own ground");
  });

  test("without the supplies both causes fit: it cannot be told, and a pair at another level would part them", () => {
    const { shift } = weigh(pairOf(60, 5, 5, 0.2));
    expect(shift.cause).toBe("cannot-be-told");
    const [supply, ground] = ["supply", "ground"].map((c) => shift.causes.find((x) => x.cause === c)!);
    // Ground is seen most at few ohms, the supply at many.
    expect(ground!.emptyShift_V!).toBeGreaterThan(ground!.fullShift_V!);
    expect(supply!.emptyShift_V!).toBeLessThan(supply!.fullShift_V!);
    expect(shift.remedy).toContain("Measure the supply in both states");
  });

  test("a supply that nobody measured is never ruled out: charging alone would do it, with a lifted ground as well", () => {
    const { shift } = weigh(pairOf(180, 12.4, 14.1, 0), { supplyVolts: 12.4 });
    expect(shift).toMatchObject({ cause: "cannot-be-told", groundLift_V: null });
    expect(published(shift.says).replaceAll("\u00a0", " ")).toContain(
      "a supply that is 13.7 % higher would do that, with or without a lifted ground",
    );
  });

  test("two voltmeter readings that differ by no more than the meter's own error blame no supply", () => {
    const still = { ...pairOf(60, 12.4, 12.4, 0), offSupplyVolts: 12.4, runningSupplyVolts: 12.46 };
    expect(weigh(still, { supplyVolts: 12.4 }).shift.cause).toBe("noise");
    const lifted = { ...pairOf(60, 12.4, 12.4, 0.4), offSupplyVolts: 12.4, runningSupplyVolts: 12.46 };
    expect(weigh(lifted, { supplyVolts: 12.4 }).shift.cause).toBe("ground");
    const little = { ...pairOf(60, 12.4, 12.4, 0.025), offSupplyVolts: 12.4, runningSupplyVolts: 12.4 };
    const { shift } = weigh(little, { supplyVolts: 12.4 });
    expect(shift).toMatchObject({ cause: "cannot-be-told" });
    expect(shift.remedy).toContain("better meter");
  });

  test("a converter that follows its supply leaves only the ground", () => {
    expect(weigh(pairOf(60, 5, 5, 0.2), { ratiometric: true }).shift.cause).toBe("ground");
  });

  test("more volts than a ground can lift are left unexplained", () => {
    const pair = { ...pairOf(60, 5, 5, 2), offSupplyVolts: 5, runningSupplyVolts: 5 };
    expect(weigh(pair).shift.cause).toBe("unexplained");
  });

  test("a reading that no level of the tank makes is told as such, and not in litres drawn on beyond the run", () => {
    const steps = Array.from({ length: 7 }, (_, k) => ({ index: k, volume_L: 10 * k, added_L: k ? 10 : 0, reading: 2.5 - 0.3 * k, standardError: 0.001, atStop: null })); // biome-ignore format: a run
    const run = { direction: "fill", kind: "typed", steps, pourStandard_L: 0.03, runningTotal: false, fillPours: 0 };
    const fill = {
      readingUnit: "V",
      runs: [run],
      readingStep: 0.001,
      scaleStandard: 0.003,
      capacity_L: 60,
      total_L: 60,
    };
    const at = (runningReading: number) => {
      const job = resolveJob({ tank: { capacity_L: 60 }, readingUnit: "V", circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5, ratiometric: true, enginePair: { offReading: 1.8, runningReading } } }); // biome-ignore format: a job
      if (job.state !== "ready") throw new Error("the job is not ready");
      const answer = weighEnginePair(job.value, fill as never, { empty: 240, full: 33 });
      if (answer.state !== "ready") throw new Error("the pair is not ready");
      return answer.value!;
    };
    expect(at(4.9)).toMatchObject({ cause: "unexplained", shift_L: null, shiftStandard_L: null, litresBy: null });
    expect(published(at(4.9).says)).toMatch(/One of the two readings lies beyond all that the fill run read/);
    expect(at(1.9).shift_L).toBeCloseTo(-10 / 3, 6);
  });
});

describe("the shift in litres", () => {
  test("a straight sender: the litres are those of the ohms that the reading would mean", () => {
    const { shift } = weigh(pairOf(pullUp, 5, 5, 0.3), { ratiometric: true });
    const ohms = (pullUp * 2.65) / (5 - 2.65);
    expect(shift.litresBy).toBe("straight sender");
    expect(shift.shift_L).toBeCloseTo((58 * (ohms - pullUp)) / (full - empty), 9);
    // dR/dV = (R+Rp)²/(Vs·Rp) = 120 Ω/V at R = Rp = 150 Ω.
    const each_V = shift.shiftStandardVolts! / Math.SQRT2;
    const running = (ohms + pullUp) ** 2 / (5 * pullUp);
    expect(shift.shiftStandard_L).toBeCloseTo((58 / 170) * Math.hypot(120, running) * each_V, 4);
  });

  test("the table found in the device goes before a straight sender", () => {
    const table = [
      { reading: 0, volume_L: 0 },
      { reading: 5, volume_L: 50 },
    ];
    const { shift } = weigh(pairOf(pullUp, 5, 5, 0.3), { ratiometric: true }, { asFound: { table } });
    expect(shift.litresBy).toBe("table found");
    expect(shift.shift_L).toBeCloseTo(1.5, 9);
  });
});

test("in a whole job the pair stands in the published analysis, valid, with its litres by the fill run", () => {
  const enginePair = { offReading: 1.5, runningReading: 1.6, readingLimit: 0.005 };
  const { answers, all } = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, circuit: { ...s.job.circuit, enginePair } },
  }));
  const analysis = JSON.parse(JSON.stringify(analysisOf(answers, all)));
  expect(analysisSchema.safeParse(analysis).success).toBe(true);
  const { runningShift } = analysis.circuit;
  expect(runningShift).toMatchObject({ cause: "ground", litresBy: "fill run", fillState: "as-running" });
  expect(runningShift.readingShift_V).toBeCloseTo(0.1, 12);
  // Falling ohms: more volts are fewer litres, by the curve's own slope there.
  const band = analysis.band as { reading_V: number; volume_L: number }[];
  const at = (v: number) => {
    const k = band.findIndex((b) => b.reading_V > v);
    const [a, b] = [band[k - 1]!, band[k]!];
    return a.volume_L + ((b.volume_L - a.volume_L) * (v - a.reading_V)) / (b.reading_V - a.reading_V);
  };
  expect(Math.abs(runningShift.shift_L - (at(1.6) - at(1.5)))).toBeLessThan(0.3);
  expect(analysis.cautions.find((c: { code: string }) => c.code === "circuit/running-shift").weight).toBe("holds-if");
});
