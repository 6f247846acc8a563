/** First seconds of a smoothing, and its order with the table: against closed forms, and against starts at many moments. */

import { describe, expect, test } from "vitest";
import { lowPass, smoothingFactor } from "../../src/math/filter";
import { createRandom } from "../../src/math/random";
import type { DeviceRecord } from "../../src/pipeline/device-record";
import { orderDifference, orderMatters, switchOn } from "../../src/pipeline/display-start";
import { textOf } from "../../src/pipeline/words/all";
import { displayFinding, displayWorking } from "../../src/pipeline/words/display";
import { published } from "../../src/said";
import { runExample } from "./example-run";

const interval_s = 0.1;
const record = (reading: Float64Array, litres: (r: number) => number, middle: number): DeviceRecord => ({
  interval_s,
  reading,
  trend_L: new Float64Array(reading.length).fill(litres(middle)),
  faulty: new Uint8Array(reading.length),
  across_g: null,
});
/** A table so fine that straight joins are the curve. */
const tableOf = (litres: (r: number) => number) =>
  Array.from({ length: 4001 }, (_, i) => ({ reading: i / 1000, volume_L: litres(i / 1000) }));

describe("the order of smoothing and table", () => {
  test("differs by half the bend times the variance that the smoothing takes out", () => {
    const random = createRandom(1);
    const litres = (r: number) => 4 * r * r;
    const reading = Float64Array.from({ length: 40_000 }, () => 2 + 0.1 * random.normal());
    const found = orderDifference([record(reading, litres, 2)], [reading], tableOf(litres), 5);
    const a = smoothingFactor(5, interval_s);
    // g″ = 8; white noise behind the filter keeps α/(2 − α) of its variance.
    const wanted = 0.5 * 8 * 0.1 ** 2 * (1 - a / (2 - a));
    expect(found.mean_L / wanted).toBeCloseTo(1, 1);
    expect(orderMatters(found, 0.1)).toBe(true);
    expect(orderMatters(found, 1)).toBe(false);
    const straight = orderDifference(
      [record(reading, (r) => 9 * r, 2)],
      [reading],
      tableOf((r) => 9 * r),
      5,
    );
    expect(Math.abs(straight.mean_L)).toBeLessThan(1e-9);
    expect(straight.rms_L).toBeLessThan(1e-9);
  });
});

describe("switched on at any moment", () => {
  const litres = (r: number) => 10 * r;
  const reading = Float64Array.from(
    { length: 20_000 },
    (_, i) => 2 + 0.15 * Math.sin(2 * Math.PI * 0.9 * i * interval_s),
  );
  const r = record(reading, litres, 2);
  const tau = 20;
  const found = switchOn([r], [reading], tableOf(litres), tau, 0.5, "reading-then-table");

  test("the first reading is off by the motion, the mean of a few swings by little of it", () => {
    expect(found.firstReading_L).toBeCloseTo(1.5 / Math.SQRT2, 2);
    // Over T seconds a swing of ω is averaged to sin(ωT/2)/(ωT/2) of itself.
    const w = (2 * Math.PI * 0.9 * 3) / 2;
    expect(found.mean_L).toBeCloseTo((1.5 / Math.SQRT2) * Math.abs(Math.sin(w) / w), 1);
    expect(found.startAt).toBe("mean");
    expect(Math.exp(-found.fromNothing_s / tau)).toBeCloseTo(0.1, 9);
  });

  test("after the seconds told 95 of 100 starts with the first reading are within a digit", () => {
    const alone = { ...switchOn([r], [reading], tableOf(litres), tau, 0.5, "reading-then-table") };
    const settled_s = tau * Math.log((1.96 * alone.firstReading_L) / 0.5);
    const a = smoothingFactor(tau, interval_s);
    let within = 0;
    const starts = 400;
    for (let k = 0; k < starts; k++) {
      const from = 7 + 23 * k;
      const shown = lowPass(reading.subarray(from, from + 600), a);
      if (Math.abs(10 * shown[Math.round(settled_s / interval_s)]! - 20) <= 0.5) within++;
    }
    expect(within / starts).toBeGreaterThan(0.95);
    // A sine never goes beyond its crest, so that the normal limit leaves room; a third of the time does not do.
    const early = Array.from({ length: starts }, (_, k) => {
      const shown = lowPass(reading.subarray(7 + 23 * k, 607 + 23 * k), a);
      return Math.abs(10 * shown[Math.round(settled_s / 3 / interval_s)]! - 20) <= 0.5;
    });
    expect(early.filter(Boolean).length / starts).toBeLessThan(0.9);
  });

  test("a reading that hardly moves needs no mean and no wait", () => {
    const still = Float64Array.from({ length: 2000 }, () => 2);
    const calm = switchOn([record(still, litres, 2)], [still], tableOf(litres), tau, 0.5, "reading-then-table");
    expect([calm.startAt, calm.settled_s]).toEqual(["first-reading", 0]);
  });
});

test("page and command line say both, and count what is set with everything that is set", () => {
  const { answers } = runExample("heath-dasher", (s) => ({
    ...s,
    job: { ...s.job, device: { ...s.job.device, has: ["median", "hold-in-corner", "fault-limits", "rate-limit"] } },
  }));
  if (answers.display.state !== "ready" || answers.job.state !== "ready" || answers.trial.state !== "ready")
    throw new Error("not ready");
  const d = answers.display.value;
  expect(d.featureTrials.some((t) => t.taken && t.feature !== "fault-limits")).toBe(true);
  // Without a fill run the table found is replayed by both: the same counts.
  expect(d.digitChangesPerMinute).toBeCloseTo(answers.trial.value.digitChangesPerMinute, 6);
  expect(d.reversalsPerMinute).toBeCloseTo(answers.trial.value.reversalsPerMinute, 6);
  expect(d.byLog[0]!.reversalsPerMinute).toBeCloseTo(d.reversalsPerMinute, 6);
  const said = displayFinding(d, answers.job.value);
  expect(published(said.caution!)).toMatch(
    /Switched on, a smoothing that starts at nothing needs .* let it start with /,
  );
  const working = displayWorking(d).map((l) => `${published(l.what)}: ${textOf(l.figures)}`);
  expect(working.some((l) => l.startsWith("Smoothing behind the table"))).toBe(true);
});
