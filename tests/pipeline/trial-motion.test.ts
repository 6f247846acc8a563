import { expect, test } from "vitest";
import type { DeviceRecord } from "../../src/pipeline/device-record";
import { smoothedSd } from "../../src/pipeline/trial-run";

/** Ten minutes at ten a second; a display that swings by 0.2 L about the trend, and with a refuel runs after it by 20 s. */
function record(refuel_L: number): { record: DeviceRecord; run: { smoothed_L: Float64Array } } {
  const n = 6000;
  const trend_L = Float64Array.from(
    { length: n },
    (_, i) => 30 - i / 3000 + refuel_L * Math.min(1, Math.max(0, (i - 3000) / 400)),
  );
  let behind = trend_L[0]!;
  const smoothed_L = trend_L.map((t, i) => {
    behind += (t - behind) / 200;
    return behind + 0.2 * Math.SQRT2 * Math.sin(0.1 * i);
  });
  return {
    record: { interval_s: 0.1, trend_L, reading: trend_L, faulty: new Uint8Array(n), across_g: null },
    run: { smoothed_L },
  };
}

test("what the display runs after a refuel by is no motion that could light a warning early", () => {
  expect(smoothedSd([record(0)], 20)).toBeCloseTo(0.2, 2);
  expect(smoothedSd([record(25)], 20)).toBeCloseTo(0.2, 1);
});

test("a log that is still catching up from its first to its last row tells no motion", () => {
  const short = record(25);
  short.record.trend_L = short.record.trend_L.map((_, i) => 20 + i / 100);
  expect(smoothedSd([short], 20)).toBeLessThan(0.01);
});
