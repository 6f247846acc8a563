import { describe, expect, test } from "vitest";
import { noFeatures } from "../../src/pipeline/device-features";
import type { DeviceSettings, Order } from "../../src/pipeline/device-model";
import type { DeviceRecord } from "../../src/pipeline/device-record";
import { lagOf } from "../../src/pipeline/trial-lag";

const interval_s = 0.1;
/** Half an hour from 40 L down at 36 L/h: 0.01 L a second. */
const record: DeviceRecord = {
  interval_s,
  reading: new Float64Array(18_000),
  trend_L: Float64Array.from({ length: 18_000 }, (_, i) => 40 - 0.01 * i * interval_s),
  faulty: new Uint8Array(18_000),
  across_g: null,
};
const settings = (timeConstant_s: number, falling = false, order: Order = "reading-then-table"): DeviceSettings => ({
  order,
  timeConstant_s,
  deadband_L: 0.5,
  deadbandKind: "play",
  faultLimits: false,
  table: [0, 1, 2, 3, 4].map((r) => ({ reading: r, volume_L: falling ? 48 - 12 * r : 12 * r })),
  shown: { step_L: 1, offset_L: 0 },
  features: noFeatures,
});

describe("lag", () => {
  test("is q·Δt·(1 − α)/α at a steady burn, whichever way the sender reads; deadband and rounding stay out", () => {
    for (const falling of [false, true])
      for (const tau of [5, 38]) {
        const a = 1 - Math.exp(-interval_s / tau);
        expect(lagOf([record], settings(tau, falling))).toBeCloseTo((0.01 * interval_s * (1 - a)) / a, 3);
      }
    expect(lagOf([record], settings(0))).toBeCloseTo(0, 9);
    // The table is straight: smoothing its volume lags as far.
    expect(lagOf([record], settings(38, false, "table-then-filter"))).toBeCloseTo(lagOf([record], settings(38)), 6);
  });

  test("a rate limit slower than the burn is in it", () => {
    const slow = { ...settings(5), features: { ...noFeatures, rateLimit_L_per_s: 0.005 } };
    expect(lagOf([record], slow)).toBeGreaterThan(3);
  });
});
