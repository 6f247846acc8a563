/** Ends of a device that smooths behind its table: against the closed form of a cut-off normal distribution. */
import { describe, expect, test } from "vitest";
import { normalProbability, normalQuantile } from "../../src/math/distributions";
import { type BehindAt, changeOver, createBehind, liftBehind } from "../../src/pipeline/end-behind";

const sd = 2;
/** Quantiles of normal motion. */
const motion = Float64Array.from({ length: 400 }, (_, k) => sd * normalQuantile((k + 0.5) / 400));
const even = { to: (r: number) => r, from: (x: number) => x };
/** One litre a unit of reading; the end row at the margin, the end value held beyond. */
const at: BehindAt = {
  samples: [{ motion, turn: 0 }],
  scale: even,
  low: -100,
  high: 100,
  edge: 0,
  inward: 1,
  dayShift: 0,
  end: "empty",
  step_L: 1,
  deadband_L: 0,
  left: 0,
  late: 0,
  tableAt: (margin) => ({
    rows: [
      { reading: margin, volume_L: 0 },
      { reading: margin + 50, volume_L: 50 },
    ],
    end_L: 0,
  }),
};
/** Mean of what normal motion has beyond z of its standard deviations: σ·(φ(z) − z·Φ(−z)). */
const beyond = (z: number) => sd * (Math.exp(-(z * z) / 2) / Math.sqrt(2 * Math.PI) - z * normalProbability(-z));
/** The margin at which that is so much. */
const marginFor = (litres: number) => changeOver(0, 10, (m) => beyond(m / sd) > litres);

describe("where an end must be told", () => {
  test("is where the mean of what the end row leaves is half a displayed step, whatever the time constant", () => {
    expect(createBehind(at, 0, 20).reach).toBeCloseTo(marginFor(0.5), 1);
    for (const left of [0, 1]) expect(createBehind({ ...at, left }, 0, 20).reach).toBe(createBehind(at, 0, 20).reach);
  });

  test("is further in with a deadband at empty, where a falling level is shown high, and less so at full, where it holds", () => {
    const wide = { ...at, deadband_L: 0.25 };
    expect(createBehind(wide, 0, 20).reach).toBeCloseTo(marginFor(0.25), 1);
    expect(createBehind({ ...wide, end: "full" }, 0, 20).reach).toBeCloseTo(marginFor(0.75), 1);
  });

  test("is nowhere further in than a motion that never comes to the row asks for", () => {
    const still = { ...at, samples: [{ motion: motion.map((m) => 0.01 * m), turn: 0 }] };
    expect(createBehind(still, 0, 20)).toMatchObject({ reach: 0 });
    expect(createBehind(still, 0, 20).reached(0)).toBe(true);
    expect(createBehind(at, 0, 20).reached(0)).toBe(false);
  });
});

describe("a falling level first shows the end", () => {
  test("as far outside the row as the end must be told inside, and never where even the stop is too near", () => {
    const { firstShown } = createBehind(at, 0, 20);
    expect(firstShown(3)!).toBeCloseTo(3 - marginFor(0.5), 1);
    expect(firstShown(0)).toBeNull();
  });

  test("later by a lag, and earlier by what still moves behind the smoothing", () => {
    const plain = createBehind(at, 0, 20).firstShown(4)!;
    expect(createBehind({ ...at, late: 0.3 }, 0, 20).firstShown(4)!).toBeLessThan(plain - 0.25);
    expect(createBehind({ ...at, left: 0.2 }, 0.5, 20).firstShown(4)!).toBeGreaterThan(plain);
    // A course that lifts the reading by half a unit brings it later by just that.
    const turning = { ...at, samples: [{ motion, turn: 0.5 }] };
    expect(createBehind(turning, 0, 20).firstShown(4)!).toBeCloseTo(plain - 0.5, 3);
  });
});

test("the lift is half the bend times the variance inside a table, what the row cuts off at its end, and nothing on a straight one", () => {
  const of = { samples: [{ motion: motion.map((m) => 0.05 * m), turn: 0 }], scale: even, low: -100, high: 100 };
  const quadratic = Array.from({ length: 4001 }, (_, i) => ({ reading: i / 1000, volume_L: 4 * (i / 1000) ** 2 }));
  const variance = of.samples[0]!.motion.reduce((s, m) => s + m * m, 0) / 400;
  expect(liftBehind(2, quadratic, of) / (0.5 * 8 * variance)).toBeCloseTo(1, 2);
  const straight = at.tableAt(0).rows;
  expect(liftBehind(20, straight, { ...of, samples: at.samples })).toBeLessThan(1e-9);
  expect(liftBehind(0, straight, { ...of, samples: at.samples }) / beyond(0)).toBeCloseTo(1, 1);
  // A table that bends the other way is shown too low: no warning is lowered for that.
  const other = quadratic.map((r) => ({ ...r, volume_L: 64 - 4 * (4 - r.reading) ** 2 }));
  expect(liftBehind(2, other, of)).toBe(0);
});
