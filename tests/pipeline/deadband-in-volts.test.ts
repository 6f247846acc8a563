/** A deadband that is typed in volts: said in litres, least to most. */
import { describe, expect, test } from "vitest";
import {
  deadbandInVolts,
  heldAt,
  heldVolts,
  litresPerVolt,
  slopesOf,
  tableInVolts,
} from "../../src/pipeline/deadband-in-volts";
import { askedDeadband, deadbands } from "../../src/pipeline/device-lattice";
import { type DeviceSettings, replay } from "../../src/pipeline/device-model";
import type { DeviceRecord } from "../../src/pipeline/device-record";
import { readingScale } from "../../src/pipeline/reading-scale";
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
  expect(published(said.says)).toContain("chosen as ± 0.40 L all over the tank");
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

describe("the replay holds volts", () => {
  const circuit = { kind: "pull-up", supplyVolts: 5, pullUpOhms: 100, adcBits: 10 } as const;
  const job = { circuit, device: { deadband: { unit: "V" } } } as never;
  const to = { V: 1, count: 1023 / 5 };
  const run = (
    volts: number[],
    unit: "V" | "count",
    held: { litres: number; volts: number },
    also: Partial<DeviceSettings> = {},
  ) => {
    const record: DeviceRecord = {
      interval_s: 1,
      reading: Float64Array.from(volts, (v) => v * to[unit]),
      trend_L: new Float64Array(volts.length),
      faulty: new Uint8Array(volts.length),
      across_g: null,
    };
    return replay(record, {
      order: "reading-then-table",
      timeConstant_s: 0,
      deadband_L: held.litres,
      deadbandKind: "play",
      faultLimits: false,
      table: bent.map((row) => ({ ...row, reading: row.reading * to[unit] })),
      shown: { step_L: 0.1, offset_L: 0 },
      holds: heldVolts(held, unit, job),
      ...also,
    });
  };
  /** Once the first swings have dragged it to where it stands. */
  const spread = (v: Float64Array) => Math.max(...v.slice(4)) - Math.min(...v.slice(4));
  const swing = (middle: number, by: number) => Array.from({ length: 40 }, (_, k) => middle + (k % 2 ? by : -by));
  // 0.02 V are 0.4 L at the mean slope, 0.2 L on the lower half, 0.6 L on the upper one.
  const held = { litres: 0.4, volts: 0.02 };

  test.each(["V", "count"] as const)(
    "readings in %s: swings within its volts are held wherever the level stands, wider ones nowhere",
    (unit) => {
      expect(spread(run(swing(3, 0.019), unit, held).held_L)).toBeCloseTo(0, 9);
      expect(spread(run(swing(1, 0.03), unit, held).held_L)).toBeCloseTo(10 * 0.02, 9);
      expect(spread(run(swing(3, 0.03), unit, held).held_L)).toBeCloseTo(30 * 0.02, 9);
      // Litres by the mean slope would do neither.
      expect(spread(run(swing(3, 0.019), unit, held, { holds: null }).held_L)).toBeCloseTo(30 * 0.038 - 0.8, 9);
      expect(spread(run(swing(1, 0.03), unit, held, { holds: null }).held_L)).toBeCloseTo(0, 9);
    },
  );

  test("ohms are held by the volts at the pull-up: falling to a level the display stands its volts high", () => {
    const scale = readingScale("ohm", "V", job)!;
    const falling = Float64Array.from({ length: 50 }, (_, k) => scale.from(4 - 0.05 * k));
    const record = {
      interval_s: 1,
      reading: falling,
      trend_L: new Float64Array(50),
      faulty: new Uint8Array(50),
      across_g: null,
    };
    const ohms = [1, 2.5, 4].map((v, k) => ({ reading: scale.from(v), volume_L: 30 * k }));
    const { held_L, smoothed_L } = replay(record, {
      order: "reading-then-table",
      timeConstant_s: 0,
      deadband_L: 0.4,
      deadbandKind: "play",
      faultLimits: false,
      table: ohms,
      shown: { step_L: 0.1, offset_L: 0 },
      holds: heldVolts({ litres: 0.4, volts: 0.02 }, "ohm", job),
    });
    const inTable = (v: number) => {
      const r = scale.from(v);
      const [a, b] = r < ohms[1]!.reading ? [ohms[0]!, ohms[1]!] : [ohms[1]!, ohms[2]!];
      return a.volume_L + ((b.volume_L - a.volume_L) * (r - a.reading)) / (b.reading - a.reading);
    };
    for (const k of [1, 20, 49]) {
      expect(smoothed_L[k]).toBeCloseTo(inTable(4 - 0.05 * k), 6);
      expect(held_L[k]).toBeCloseTo(inTable(4 - 0.05 * k + 0.02), 6);
    }
  });

  test("a deadband in litres or percent, one of nothing, and one whose volts nobody knows hold litres", () => {
    expect(heldVolts({ litres: 0, volts: 0 }, "V", job)).toBeNull();
    expect(
      heldVolts(held, "count", {
        circuit: { ...circuit, adcBits: null },
        device: { deadband: { unit: "V" } },
      } as never),
    ).toBeNull();
    expect(heldVolts(held, "V", { circuit, device: { deadband: { unit: "L" } } } as never)).toBeNull();
  });
});

test("the trial replays the volts that are typed, as recommended and as found", () => {
  const trial = (unit: "V" | "L", deadband: number) =>
    runExample("moor-runner", (s) => ({
      ...s,
      job: {
        ...s.job,
        device: { ...s.job.device, deadband: { unit, step: 0.01, most: 2 } },
        asFound: {
          table: [
            { reading_V: 0.5, volume_L: 0 },
            { reading_V: 4.5, volume_L: 45 },
          ],
          timeConstant_s: 5,
          deadband,
          warnAt: null,
        },
      },
      choices: { ...s.choices, display: { timeConstant_s: 20, deadband_L: 0.6 } },
    })).answers.trial;
  const [volts, litres] = [trial("V", 0.04), trial("L", 0.45)];
  if (volts.state !== "ready" || litres.state !== "ready") throw new Error("no trial");
  // A straight table found: its volts are the same litres all over, but for rounding.
  expect(volts.value.asFoundDeadband!.deadband_L).toBeCloseTo(0.45, 9);
  expect(volts.value.asFound!.rmsError_L).toBeCloseTo(litres.value.asFound!.rmsError_L, 6);
  // The new table bends: the same litres on average hold otherwise.
  expect(Math.abs(volts.value.rmsError_L - litres.value.rmsError_L)).toBeGreaterThan(1e-4);
});

describe("what volts hold where the light comes on", () => {
  // Falling sender, 240 to 33 Ω on 240 Ω and 5 V over 60 L: a volt is most litres near empty.
  const ohms = (litres: number) => 240 - (207 * litres) / 60;
  const volts = (litres: number) => (5 * ohms(litres)) / (ohms(litres) + 240);
  const grid = Array.from({ length: 601 }, (_, k) => ({ reading: volts(60 - k / 10), volume_L: 60 - k / 10 }));
  const curve = { readingUnit: "V" as const, grid, sense: -1 };
  const job = { circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5, adcBits: null } } as never;
  const inVolts = Object.assign({}, job, { device: { deadband: { unit: "V" } } }) as never;
  const display = { deadband_L: 0.6313, asked: { deadband: 0.02 } };
  const litresAt = (v: number) => ((240 - (240 * v) / (5 - v)) * 60) / 207;

  test("is the litres between the shown reading and one so many volts nearer to empty", () => {
    for (const shown of [4, 8, 30, 55])
      expect(heldAt(display, curve, inVolts)(shown)).toBeCloseTo(shown - litresAt(volts(shown) + 0.02), 3);
    expect(heldAt(display, curve, inVolts)(8)).toBeGreaterThan(0.95);
    expect(heldAt(display, curve, inVolts)(55)).toBeLessThan(0.45);
  });
  test("is never less than reckoned where the sender's stop is reached, and as reckoned in litres", () => {
    expect(heldAt(display, curve, inVolts)(0.3)).toBeCloseTo(0.6313, 6);
    const inLitres = Object.assign({}, job, { device: { deadband: { unit: "L" } } }) as never;
    expect(heldAt(display, curve, inLitres)(8)).toBe(0.6313);
    expect(heldAt(null, curve, inVolts)(8)).toBe(0);
  });
});
