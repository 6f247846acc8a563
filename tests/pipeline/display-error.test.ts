import { describe, expect, it } from "vitest";
import { lowPass, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import { countShown, createSmoothed, sumTrend } from "../../src/pipeline/display-count";
import { expectedSquare, settledFrom } from "../../src/pipeline/display-error";

const interval_s = 0.1;
const table = [
  { reading: 0, volume_L: 0 },
  { reading: 90, volume_L: 90 },
];
const shown = { step_L: 1, offset_L: 0 };

/** A level that falls by `burn_L_per_h` with a sway on it that hangs together over about half a minute. */
function drive(seed: number, minutes: number, burn_L_per_h: number, sway_L: number) {
  const random = createRandom(seed);
  const n = Math.round((minutes * 60) / interval_s);
  const trend_L = Float64Array.from({ length: n }, (_, i) => 60 - (burn_L_per_h * i * interval_s) / 3600);
  // White noise behind 10 s keeps √2/20 of its size: made larger by as much. Its first minute is left out: it starts unsmoothed.
  const first = Math.round(60 / interval_s);
  const noise = lowPass(
    Float64Array.from({ length: n + first }, () => random.normal()),
    smoothingFactor(10, interval_s),
  ).subarray(first);
  const reading = trend_L.map((t, i) => t + sway_L * Math.sqrt(200) * noise[i]!);
  return { interval_s, reading, trend_L, faulty: new Uint8Array(n), across_g: null };
}

function expectedOf(record: ReturnType<typeof drive>, burn_L_per_h: number, timeConstant_s: number, d: number) {
  const [smoothed] = createSmoothed([record], [record.reading], table, "reading-then-table")(timeConstant_s);
  const n = record.reading.length;
  const since = settledFrom(timeConstant_s, interval_s, n);
  const count = (deadband_L: number) => countShown(smoothed!, sumTrend(record.trend_L), deadband_L, shown, 4, since);
  const lag_L = (timeConstant_s * burn_L_per_h) / 3600;
  return {
    square: expectedSquare(count(d), count(0), {
      high_L: 0,
      lag_L,
      timeConstant_s,
      duration_s: n * interval_s,
      step_L: 1,
    }),
    replayed: count(d).squares / n,
  };
}

describe("error to be expected of a pair", () => {
  it("without motion is lag, deadband and rounding, each as it is known", () => {
    const { square } = expectedOf(drive(1, 60, 20, 0), 20, 30, 0.3);
    // A falling level drags the deadband along at its upper edge.
    expect(Math.sqrt(square)).toBeCloseTo(Math.sqrt((20 / 120 + 0.3) ** 2 + 1 / 12), 2);
  });

  it("told from short logs is what long drives show, also for a slow filter, that the replay of a short log flatters", () => {
    const burn = 12;
    for (const [timeConstant_s, d] of [
      [20, 0.2],
      [120, 0.2],
      [250, 0.4],
    ] as const) {
      const mean = (minutes: number, of: "square" | "replayed") => {
        const seeds = Array.from({ length: 24 }, (_, k) => k + 1);
        return (
          seeds.reduce((s, k) => s + expectedOf(drive(k, minutes, burn, 0.8), burn, timeConstant_s, d)[of], 0) / 24
        );
      };
      const long = Math.sqrt(mean(240, "replayed"));
      expect(Math.abs(Math.sqrt(mean(15, "square")) / long - 1)).toBeLessThan(0.1);
      if (timeConstant_s === 250) expect(Math.sqrt(mean(15, "replayed"))).toBeLessThan(0.9 * long);
    }
  });

  it("depends far less than the replay on where the digits of this log stand", () => {
    const record = drive(3, 15, 6, 0.3);
    const places = Array.from({ length: 10 }, (_, k) => {
      const off_L = k / 10;
      const moved = {
        ...record,
        reading: record.reading.map((r) => r + off_L),
        trend_L: record.trend_L.map((t) => t + off_L),
      };
      return expectedOf(moved, 6, 30, 0.2);
    });
    const range = (of: "square" | "replayed") => {
      const roots = places.map((p) => Math.sqrt(p[of]));
      return Math.max(...roots) - Math.min(...roots);
    };
    expect(range("square")).toBeLessThan(0.5 * range("replayed"));
  });

  it("at most half of a log goes by before it is counted", () => {
    expect(settledFrom(10, 0.1, 6000)).toBe(300);
    expect(settledFrom(250, 0.1, 6000)).toBe(3000);
    expect(settledFrom(0, 0.1, 6000)).toBe(0);
  });
});
