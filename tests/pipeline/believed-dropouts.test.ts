/** Drop-outs that a device takes for fuel: what they do to the moment at which the light comes on. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { atFirstLight, dropoutLift, liftOf } from "../../src/pipeline/believed-dropouts";
import type { DeviceSettings } from "../../src/pipeline/device-model";
import type { DeviceRecord } from "../../src/pipeline/device-record";
import { textOf } from "../../src/pipeline/words/all";
import { lowFuelFinding } from "../../src/pipeline/words/low-fuel";
import { rangeLeftFinding } from "../../src/pipeline/words/range-left";
import { runExample, sourceFile } from "./example-run";

/** 0 to 60 L over 0 to 60 Ω, ten updates a second. */
const device: DeviceSettings = {
  order: "reading-then-table",
  timeConstant_s: 20,
  deadband_L: 0,
  deadbandKind: "play",
  faultLimits: false,
  table: [
    { reading: 0, volume_L: 0 },
    { reading: 60, volume_L: 60 },
  ],
  shown: { step_L: 1, offset_L: 0 },
};
const limits = { low: null, high: 70 };

/** @param share of the updates that read 100 Ω, in drop-outs of `length` updates at chance moments. */
function drive(
  seed: number,
  minutes: number,
  share: number,
  length: number,
): { record: DeviceRecord; dropouts: number } {
  const random = createRandom(seed);
  const n = minutes * 600;
  const reading = new Float64Array(n).fill(30);
  let dropouts = 0;
  for (let i = 0; i < n; i++)
    if (random.uniform() < share / length) {
      reading.fill(100, i, i + length);
      dropouts++;
      i += length;
    }
  return {
    record: {
      interval_s: 0.1,
      reading,
      trend_L: new Float64Array(n).fill(30),
      faulty: new Uint8Array(n),
      across_g: null,
    },
    dropouts,
  };
}

describe("what drop-outs lift the shown volume by", () => {
  test("is their share of the time times their distance, on average", () => {
    const { record } = drive(3, 60, 0.02, 5);
    const share = record.reading.filter((r) => r > 70).length / record.reading.length;
    const lift = liftOf(record, device, limits, 5);
    const mean = lift.reduce((s, v) => s + v, 0) / lift.length;
    expect(mean).toBeCloseTo(share * (100 - 5), 1);
    // Behind the table a drop-out is cut off at full before it is smoothed.
    const behind = liftOf(record, { ...device, order: "table-then-filter" }, limits, 5);
    expect(behind.reduce((s, v) => s + v, 0) / behind.length).toBeCloseTo(share * (60 - 5), 1);
  });

  test("is what a falling level lights late by, from each moment: as counted update by update", () => {
    const random = createRandom(5);
    const lift = Float64Array.from({ length: 400 }, () => Math.max(-1, 3 * random.normal()));
    const fall = 0.02;
    const found = atFirstLight(lift, fall, { interval_s: 1 });
    for (const passing of [0, 57, 399]) {
      let s = passing - 2000;
      while (lift[((s % 400) + 400) % 400]! > fall * (s - passing)) s++;
      expect(found[passing]).toBeCloseTo(fall * (s - passing), 9);
    }
  });

  test("is none where a fault limit keeps them out, and none on a log without any", () => {
    const log = drive(3, 20, 0.02, 5);
    const at = [limits, 5, 0.002, 60, { z: 2.33, risk: 0.01 }] as const;
    expect(dropoutLift([log], { ...device, faultLimits: true }, ...at)).toBeNull();
    expect(dropoutLift([drive(3, 20, 0, 5)], device, ...at)).toBeNull();
    expect(dropoutLift([log], device, ...at)!.late_L).toBeGreaterThan(0.3);
  });

  test("is promised nothing where it is a large share of the tank, up or down", () => {
    const at = [5, 0.002, 60, { z: 2.33, risk: 0.01 }] as const;
    expect(dropoutLift([drive(3, 20, 0.01, 5)], device, limits, ...at)!.tooMuch).toBe(false);
    expect(dropoutLift([drive(3, 20, 0.2, 5)], device, limits, ...at)!.tooMuch).toBe(true);
  });
});

test("a light raised by it comes on with the reserve left on all but the stated share of other drives", () => {
  const burn_L_per_s = 0.002;
  const risk = 0.05;
  const z = 1.645;
  const reserve_L = 5;
  let late = 0;
  const drives = 300;
  for (let seed = 1; seed <= drives; seed++) {
    const seen = drive(seed, 20, 0.01, 6);
    const lift = dropoutLift([seen], device, limits, reserve_L, burn_L_per_s, 60, { z, risk });
    const warn = reserve_L + burn_L_per_s * device.timeConstant_s + (lift ? lift.late_L + z * lift.lateStandard_L : 0);
    // Another drive with the same contact: the level falls from 3 L over the warning, the light lights at the first update that shows it.
    const { record } = drive(1000 + seed, 90, 0.01, 6);
    let level = warn + 3;
    let smoothed = level;
    let i = 0;
    while (smoothed > warn && i < record.reading.length) {
      level -= burn_L_per_s * 0.1;
      smoothed += ((record.reading[i]! > 70 ? 100 : level) - smoothed) * (1 - Math.exp(-0.1 / 20));
      i++;
    }
    if (level < reserve_L) late++;
  }
  expect(late / drives).toBeLessThanOrEqual(risk + 2 * Math.sqrt((risk * (1 - risk)) / drives));
});

describe("on a whole job without fault limits", () => {
  const text = new TextDecoder();
  /** Every so many seconds a drop-out of half a second to a wire that touches ground, which reads full here, or is open, which reads empty. */
  const withDropouts = (every_s: number, reads = "0.02") =>
    runExample("moor-runner", (s) => ({
      ...s,
      job: { ...s.job, device: { ...s.job.device, has: [] } },
      files: {
        ...s.files,
        drives: s.files.drives.map((d) => {
          const [head, ...rows] = text.decode(d.bytes).trim().split("\n");
          const at = head!.split(",").findIndex((h) => h.includes("sender"));
          const torn = rows.map((row) => {
            const cells = row.split(",");
            if (Number(cells[0]) % every_s < 0.5) cells[at] = reads;
            return cells.join(",");
          });
          return sourceFile("drive.csv", "drive", new TextEncoder().encode([head, ...torn].join("\n")));
        }),
      },
    })).answers;

  test("few raise the warning and shorten the range, many leave nothing to promise and say so first", () => {
    const few = withDropouts(400);
    const low = valueIn(few.lowFuel)!;
    expect(low.dropouts!.tooMuch).toBe(false);
    expect(low.parts.find((p) => p.part === "drop-outs taken for fuel")!.value_L).toBeGreaterThan(0);
    expect(low.underReserveChance).toBeLessThanOrEqual(low.risk);
    expect(
      few.lowFuel.state === "ready" && few.lowFuel.cautions.find((c) => c.code === "low-fuel/dropouts")?.weight,
    ).toBe("holds-if");
    const many = withDropouts(10);
    expect(valueIn(many.lowFuel)!.dropouts!.tooMuch).toBe(true);
    expect(
      many.lowFuel.state === "ready" && many.lowFuel.cautions.find((c) => c.code === "low-fuel/dropouts")?.weight,
    ).toBe("doubtful");
    expect(textOf(lowFuelFinding(valueIn(many.lowFuel)!).sentence)).toMatch(/^No warning can be promised before/);
    const range = valueIn(many.range)!;
    expect(textOf(rangeLeftFinding(range).sentence)).toMatch(/^No range can be promised before/);
    expect(range.usable_L).toBeLessThan(valueIn(few.range)!.usable_L);
  });

  test("where a drop-out reads empty the light comes on early: the reserve stays promised, the range does not", () => {
    const early = withDropouts(10, "4.99");
    const { dropouts } = valueIn(early.lowFuel)!;
    expect(dropouts!.lift_L).toBeLessThan(-1);
    expect(dropouts).toMatchObject({ tooMuch: true, tooLate: false, late_L: 0 });
    expect(textOf(lowFuelFinding(valueIn(early.lowFuel)!).sentence)).toMatch(/^Let it come on at/);
    expect(textOf(rangeLeftFinding(valueIn(early.range)!).sentence)).toMatch(/^No range can be promised before/);
  });
});

test("a log that reads outside the fault limits from end to end is no drop-out: the other log's own are counted, and no more", () => {
  const text = new TextDecoder();
  const warningWith = (elsewhere: boolean) =>
    valueIn(
      runExample("moor-runner", (s) => {
        const [head, ...rows] = text.decode(s.files.drives[0]!.bytes).trim().split("\n");
        const at = head!.split(",").findIndex((h) => h.includes("sender"));
        const moved = rows.slice(0, 9000).map((row) => {
          const cells = row.split(",");
          return cells.with(at, (3.3 + 0.2 * Number(cells[at])).toFixed(4)).join(",");
        });
        const other = sourceFile("other.csv", "drive", new TextEncoder().encode([head, ...moved].join("\n")));
        return {
          ...s,
          job: { ...s.job, device: { ...s.job.device, has: [] } },
          files: { ...s.files, drives: [...s.files.drives, ...(elsewhere ? [other] : [])] },
        };
      }).answers.lowFuel,
    )!;
  const [alone, beside] = [warningWith(false), warningWith(true)];
  expect(alone.dropouts!.tooMuch).toBe(false);
  expect(beside.dropouts!.tooMuch).toBe(false);
  expect(beside.dropouts!.dropouts).toBe(alone.dropouts!.dropouts);
});
