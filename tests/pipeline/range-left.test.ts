import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { normalProbability } from "../../src/math/distributions";
import { consumptionOf } from "../../src/pipeline/consumption";
import { shownValue } from "../../src/pipeline/device-table";
import { type LowFuel, setWarning } from "../../src/pipeline/low-fuel";
import type { Noise } from "../../src/pipeline/noise";
import { bothNormal, overTable_L, rangeLeft } from "../../src/pipeline/range-left";
import { runExample } from "./example-run";

const { answers } = runExample("moor-runner");
const curve = valueIn(answers.curve)!;
const lowFuel = valueIn(answers.lowFuel)!;
const onCurve = curve.grid.map((g) => ({
  reading: g.reading,
  volume_L: g.volume_L,
  typedReading: "",
  typedVolume: "",
}));

describe("range left where the table leaves the curve", () => {
  test("litres over the table are those of the curve at the reading that shows the value, either way round; none outside the rows", () => {
    const { grid } = curve;
    const line = {
      readingUnit: "V" as const,
      grid: [
        { reading: 0, volume_L: 0 },
        { reading: 4, volume_L: 40 },
      ],
    };
    const straight = line as unknown as Parameters<typeof overTable_L>[0];
    const rows = [
      { reading: 0.5, volume_L: 0 },
      { reading: 1, volume_L: 8 },
      { reading: 4, volume_L: 40 },
    ].map((r) => ({ ...r, typedReading: "", typedVolume: "" }));
    expect(overTable_L(straight, { rows }, 4)).toBeCloseTo(7.5 - 4, 9);
    expect(overTable_L(straight, { rows: [...rows].reverse() }, 4)).toBeCloseTo(3.5, 9);
    expect(overTable_L(straight, { rows }, -1)).toBe(0);
    expect(overTable_L(straight, { rows }, 41)).toBe(0);
    expect(overTable_L(curve, { rows: onCurve }, (grid[5]!.volume_L + grid[6]!.volume_L) / 2)).toBeCloseTo(0, 6);
  });

  test("a table that shows two litres less than the curve lights the lamp two litres early, and the range counts them", () => {
    const ranged = (rows: typeof onCurve) => {
      const { display, job } = answers;
      const answer = rangeLeft(curve, lowFuel, valueIn(display), { rows }, valueIn(job)!, 1);
      return valueIn(answer)!;
    };
    const plain = ranged(onCurve);
    const early = ranged(onCurve.map((r) => ({ ...r, volume_L: r.volume_L - 2 })));
    expect(early.usable_L - plain.usable_L).toBeGreaterThan(1.8);
    expect(early.usable_L - plain.usable_L).toBeLessThan(2.2);
    expect(early.range).toBeGreaterThan(1.2 * plain.range);
  });
});

describe("warning and range left speak of one moment", () => {
  const job = valueIn(answers.job)!;
  const { display, noise, trial, driveLog } = answers;
  const settled: Noise = { ...valueIn(noise)!, turningBias_L: null, turningBiasStandard_L: null };
  const warned = (turning: Partial<Noise>, at_L: number | null = null) =>
    valueIn(
      setWarning(curve, valueIn(display), { ...settled, ...turning }, valueIn(trial), valueIn(driveLog), job, {
        warnAtUsable_L: at_L,
      }),
    )!;
  const rangeAt = (low: LowFuel) => valueIn(rangeLeft(curve, low, valueIn(display), { rows: onCurve }, job, 1))!;

  test("a course that reads 1.5 L high takes 1.5 L from the range at the same warning, with its own uncertainty", () => {
    const calm = rangeAt(warned({}, 8));
    const turned = rangeAt(warned({ turningBias_L: 1.5, turningBiasStandard_L: 0.4 }, 8));
    expect(calm.usable_L - turned.usable_L).toBeCloseTo(1.5, 9);
    expect(turned.budget.find((b) => b.part === "turning course")!.standard_L).toBe(0.4);
    expect(calm.budget.some((b) => b.part === "turning course")).toBe(false);
  });

  test("both stages give the same chance of less than the reserve where table and service day add nothing", () => {
    const level = { ...curve, grid: curve.grid.map((g) => ({ ...g, serviceVolume_L: g.volume_L })) };
    const low = valueIn(
      setWarning(level, valueIn(display), settled, valueIn(trial), valueIn(driveLog), job, {
        warnAtUsable_L: 4,
      }),
    )!;
    const range = valueIn(rangeLeft(level, low, valueIn(display), null, job, 1))!;
    const standard = Math.hypot(...range.budget.map((b) => b.standard_L ?? 0));
    expect(low.underReserveChance).toBeGreaterThan(0.01);
    expect(normalProbability((low.reserve_L - range.usable_L) / standard)).toBeCloseTo(low.underReserveChance, 9);
  });

  test("the displayed step is no uncertainty of that moment, and what a device that compares it adds is told apart", () => {
    const range = rangeAt(warned({}));
    expect(range.budget.some((b) => b.part === "displayed step")).toBe(false);
    expect(range.ifShownCompared.usable_L).toBe(job.device.displayStep / 2);
    expect(range.ifShownCompared.range).toBeCloseTo(range.ifShownCompared.usable_L / consumptionOf(job)!.mean, 12);
  });

  test("a level that falls lights a device that compares the rounded value half a step before one that compares the inner value", () => {
    const inner = Float64Array.from({ length: 1201 }, (_, i) => 12 - i / 200);
    const shown = shownValue(inner, { step_L: 1, offset_L: 0 });
    const light = valueIn(answers.lowFuel)!;
    const at = light.warnAtUsable_L;
    const first = (v: Float64Array) => inner[v.findIndex((x) => x <= at + 1e-9)]!;
    expect(first(inner)).toBeCloseTo(at, 6);
    expect(first(shown) - first(inner)).toBeCloseTo(light.firstLight.halfStep_L, 2);
  });
});

describe("the exact limits of the ratio of two normal figures", () => {
  test("6.5 ± 0.76 L over 0.32 ± 0.06 L/km: 13.5 to 33.5 km, where propagation says 11.5 to 29.1 (check values of the methods)", () => {
    const { lower, upper } = bothNormal(6.5, 0.76, 0.32, 0.06, 1.96);
    expect(lower).toBeCloseTo(13.5, 1);
    expect(upper!).toBeCloseTo(33.5, 0);
  });

  test("a consumption that may be none leaves the range without an upper limit, and litres that may be none begin at zero", () => {
    expect(bothNormal(6.5, 0.76, 0.32, 0.2, 1.96).upper).toBeNull();
    expect(bothNormal(6.5, 0.76, 0.32, 0.2, 1.96).lower).toBeGreaterThan(5);
    expect(bothNormal(1, 2, 0.32, 0.06, 1.96).lower).toBe(0);
    expect(bothNormal(1, 2, 0.32, 0.3, 1.96)).toEqual({ lower: 0, upper: null });
  });

  test("where consumption is known well, all three ways agree", () => {
    const { lower, upper } = bothNormal(10, 0.3, 0.2, 0.001, 1.96);
    expect(lower).toBeCloseTo(50 - 1.96 * Math.hypot(1.5, 0.25), 1);
    expect(upper!).toBeCloseTo(50 + 1.96 * Math.hypot(1.5, 0.25), 1);
  });

  test("the example’s limits stand beside those of the Monte Carlo and lie where they do", () => {
    const range = valueIn(answers.range)!;
    expect(Math.abs(range.bothNormal.lower / range.rangeLower - 1)).toBeLessThan(0.1);
    expect(Math.abs(range.bothNormal.upper! / range.rangeUpper - 1)).toBeLessThan(0.15);
  });
});
