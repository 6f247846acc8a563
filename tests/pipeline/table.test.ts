import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Curve } from "../../src/pipeline/curve-types";
import type { EndMargin, Ends } from "../../src/pipeline/ends";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { cutTable, type Table } from "../../src/pipeline/table";
import { published } from "../../src/said";

/** A curve of 61 points from a function of the reading; only what the table looks at. */
function curveOf(volume: (r: number) => number, from: number, to: number, unit: "V" | "ohm" = "V"): Curve {
  const grid = Array.from({ length: 61 }, (_, i) => from + ((to - from) * i) / 60).map((reading) => ({
    reading,
    volume_L: volume(reading),
  }));
  const sense = grid[60]!.volume_L > grid[0]!.volume_L ? 1 : -1;
  return { readingUnit: unit, sense, grid, asWritten: null, overall: { bandHalfWidth_L: 2 } } as unknown as Curve;
}
const endsAt = (empty: number, full: number, emptyShows_L: number, fullShows_L: number): Ends => {
  const end = (reading: number, shows_L: number) => ({ reading, shows_L }) as unknown as EndMargin;
  return { empty: end(empty, emptyShows_L), full: end(full, fullShows_L), filteredSd: 0, tooShort: null };
};
const jobOf = (input: JobInput) => {
  const job = resolveJob(input);
  if (job.state !== "ready") throw new Error("the job should resolve");
  return job.value;
};
const tableOf = (curve: Curve, ends: Ends, input: JobInput, points: number | null = null): Table => {
  const answer = cutTable(curve, ends, jobOf(input), { points });
  if (answer.state !== "ready") throw new Error(answer.state === "stuck" ? published(answer.issue.says) : "waiting");
  return answer.value;
};
/** As the device does it: straight between the typed digits, ends held. */
function deviceShows(table: Table, reading: number): number {
  const rows = table.rows
    .map((r) => ({ x: Number(r.typedReading), y: Number(r.typedVolume) }))
    .sort((a, b) => a.x - b.x);
  if (reading <= rows[0]!.x) return rows[0]!.y;
  for (let k = 1; k < rows.length; k++) {
    const [a, b] = [rows[k - 1]!, rows[k]!];
    if (reading <= b.x) return a.y + ((reading - a.x) / (b.x - a.x)) * (b.y - a.y);
  }
  return rows.at(-1)!.y;
}
const bent = (r: number) => 60 * ((r - 0.5) / 4) ** 1.7;
const device = { maxTablePoints: 12, tableReadingUnit: "V", tableReadingStep: 0.01, tableVolumeStep: 0.1 } as const;
const input: JobInput = { tank: { capacity_L: 60 }, targets: { tolerance_L: 1.2 }, device };

describe("cutTable", () => {
  test("a straight curve needs two rows, and they are the ends as moved in", () => {
    const table = tableOf(
      curveOf((r) => 15 * (r - 0.5), 0.5, 4.5),
      endsAt(0.5, 4.5, 0, 60),
      input,
    );
    expect(table.rows.map((r) => [r.typedReading, r.typedVolume])).toEqual([
      ["0.50", "0.0"],
      ["4.50", "60.0"],
    ]);
    expect(table.error_L).toBeLessThan(1e-9);
  });

  test("ends stand first and last with what they are told to show", () => {
    const table = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.62, 4.4, 0, 60), input);
    expect([table.rows[0]!.typedReading, table.rows[0]!.typedVolume]).toEqual(["0.62", "0.0"]);
    expect([table.rows.at(-1)!.typedReading, table.rows.at(-1)!.typedVolume]).toEqual(["4.40", "60.0"]);
    expect(deviceShows(table, 0.5)).toBe(0);
  });

  test("takes few rows: a tenth of the tolerance is met, and one row fewer would not meet it", () => {
    const table = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), input);
    const errors = table.byPoints.map((b) => b.error_L);
    expect(errors[table.recommendedPoints - 2]!).toBeLessThanOrEqual(0.12);
    expect(errors[table.recommendedPoints - 3]!).toBeGreaterThan(0.12);
    expect(table.twoPoint.error_L).toBeGreaterThan(5);
  });

  test("usable volumes and other units are typed in the device's own base", () => {
    const usable = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.9, 4.5, 1.2, 60), {
      ...input,
      tank: { capacity_L: 60, unusable_L: 1.2 },
      fill: { startedFrom: "drained" },
      device: { ...device, shows: "usable" },
    });
    expect(usable.rows[0]!.typedVolume).toBe("0.0");
    expect(usable.rows.at(-1)!.typedVolume).toBe("58.8");
    const gallons = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), {
      ...input,
      device: { ...device, tableVolumeUnit: "USgal" },
    });
    // 60 L are 15.85 US gallons (231 cubic inches each, NIST Handbook 44).
    expect(gallons.rows.at(-1)!.typedVolume).toBe("15.9");
    expect(gallons.rows.at(-1)!.volume_L).toBeCloseTo(15.9 * 3.785411784, 9);
  });

  test("volts become ohms through the stated divider, and without one the table is stuck", () => {
    // 240 Ω to 5 V: 2.5 V stand at 240 Ω, 1 V at 60 Ω.
    const curve = curveOf((r) => 40 * (r - 1), 1, 2.5);
    const ends = endsAt(1, 2.5, 0, 60);
    const ohms: JobInput = { ...input, device: { ...device, tableReadingUnit: "ohm", tableReadingStep: 1 } };
    const stated = { ...ohms, circuit: { kind: "pull-up", pullUpOhms: 240, supplyVolts: 5 } } satisfies JobInput;
    const table = tableOf(curve, ends, stated);
    expect(table.rows[0]!.typedReading).toBe("60");
    expect(table.rows.at(-1)!.typedReading).toBe("240");
    const without = cutTable(curve, ends, jobOf(ohms), { points: null });
    expect(without.state === "stuck" && without.issue.code).toBe("table/unit");
  });

  test("a falling table is the rising one backwards", () => {
    const rising = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), input);
    const falling = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), {
      ...input,
      device: { ...device, tableOrder: "falling" },
    });
    expect(falling.rows).toEqual([...rising.rows].reverse());
  });

  test("equal spacing keeps the readings equal to within one step of the device", () => {
    const table = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), {
      ...input,
      device: { ...device, spacing: "equal" },
    });
    const gaps = table.rows.slice(1).map((r, i) => r.reading - table.rows[i]!.reading);
    expect(Math.max(...gaps) - Math.min(...gaps)).toBeLessThanOrEqual(0.02 + 1e-9);
  });

  test("the table of the sheet as written keeps equal spacing too, in as many rows", () => {
    const curve = curveOf(bent, 0.5, 4.5);
    const asWritten = { grid: curve.grid.map((g) => ({ ...g, volume_L: 1.1 * g.volume_L })), bandHalfWidth_L: 2 };
    const gapsOf = (spacing: "equal" | "free") => {
      const of = { ...input, device: { ...device, spacing } };
      const table = tableOf({ ...curve, asWritten } as Curve, endsAt(0.7, 4.3, 0, 58), of, 7);
      const rows = table.asWritten!.rows.map((r) => Number(r.typedReading));
      expect(rows).toHaveLength(7);
      const gaps = rows.slice(1).map((r, i) => r - rows[i]!);
      return Math.max(...gaps) - Math.min(...gaps);
    };
    expect(gapsOf("equal")).toBeLessThan(0.011);
    expect(gapsOf("free")).toBeGreaterThan(0.05);
  });

  test("equal spacing leaves no row out, however steep the curve gets and however coarse the steps", () => {
    for (const power of [0.3, 2, 5, 9])
      for (const falls of [false, true])
        for (const [maxTablePoints, tableVolumeStep] of [
          [6, 0.5],
          [16, 1],
          [24, 5],
        ] as const) {
          const rising = (r: number) => 60 * ((r - 0.5) / 4) ** power;
          const table = tableOf(
            curveOf(falls ? (r) => 60 - rising(r) : rising, 0.5, 4.5),
            falls ? endsAt(4.5, 0.5, 0, 60) : endsAt(0.5, 4.5, 0, 60),
            { ...input, device: { ...device, maxTablePoints, tableVolumeStep, spacing: "equal" } },
          );
          const rows = table.rows.map((r) => [Number(r.typedReading), Number(r.typedVolume)] as const);
          const gaps = rows.slice(1).map(([x], i) => x - rows[i]![0]);
          expect(Math.max(...gaps) - Math.min(...gaps)).toBeLessThanOrEqual(0.02 + 1e-9);
          expect(rows.slice(1).every(([, y], i) => (falls ? -1 : 1) * (y - rows[i]![1]) > 0.9 * tableVolumeStep)).toBe(
            true,
          );
          expect(rows.length).toBe(table.recommendedPoints);
        }
  });

  test("ends without travel between them are an issue, not a table", () => {
    const stuckOn = cutTable(curveOf(bent, 0.5, 4.5), endsAt(2.001, 2.002, 0, 60), jobOf(input), { points: null });
    expect(stuckOn.state === "stuck" && stuckOn.issue.code).toBe("table/ends");
  });

  test("the device is never further off than the table says, on any lattice and either sense", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 2.2, noNaN: true }),
        fc.constantFrom(0.001, 0.01, 0.02, 0.05),
        fc.constantFrom(0.1, 0.25, 0.5, 1),
        fc.integer({ min: 2, max: 16 }),
        fc.boolean(),
        fc.boolean(),
        (power, tableReadingStep, tableVolumeStep, maxTablePoints, falls, equal) => {
          const rising = (r: number) => 60 * ((r - 0.5) / 4) ** power;
          const curve = curveOf(falls ? (r) => 60 - rising(r) : rising, 0.5, 4.5);
          const ends = falls ? endsAt(4.5, 0.5, 0, 60) : endsAt(0.5, 4.5, 0, 60);
          const table = tableOf(curve, ends, {
            ...input,
            device: { ...device, maxTablePoints, tableReadingStep, tableVolumeStep, spacing: equal ? "equal" : "free" },
          });
          expect(table.rows.length).toBeLessThanOrEqual(maxTablePoints);
          for (let i = 0; i <= 500; i++) {
            const r = 0.5 + (4 * i) / 500;
            // The corner at an end, one and a half reading steps wide, is the end's own.
            if (r < 0.5 + 1.5 * tableReadingStep || r > 4.5 - 1.5 * tableReadingStep) continue;
            const k = Math.min(59, Math.floor(((r - 0.5) / 4) * 60));
            const [a, b] = [curve.grid[k]!, curve.grid[k + 1]!];
            const truth = a.volume_L + ((r - a.reading) / (b.reading - a.reading)) * (b.volume_L - a.volume_L);
            expect(Math.abs(deviceShows(table, r) - truth)).toBeLessThanOrEqual(table.error_L + 1e-6);
          }
          const rows = [...table.rows].sort((a, b) => a.reading - b.reading);
          for (let k = 1; k < rows.length; k++) {
            expect(Number(rows[k]!.typedReading)).toBeGreaterThan(Number(rows[k - 1]!.typedReading));
            expect(
              (falls ? -1 : 1) * (Number(rows[k]!.typedVolume) - Number(rows[k - 1]!.typedVolume)),
            ).toBeGreaterThan(0);
          }
        },
      ),
      { seed: 6, numRuns: 40 },
    );
  });

  test("shifting all readings by whole steps shifts the rows, and keeps their number and the error to 0.05 L", () => {
    fc.assert(
      fc.property(fc.integer({ min: -40, max: 200 }), (steps) => {
        const by = steps / 100;
        const base = tableOf(curveOf(bent, 0.5, 4.5), endsAt(0.5, 4.5, 0, 60), input, 6);
        const moved = tableOf(
          curveOf((r) => bent(Math.max(0.5, r - by)), 0.5 + by, 4.5 + by),
          endsAt(0.5 + by, 4.5 + by, 0, 60),
          input,
          6,
        );
        expect(moved.error_L).toBeCloseTo(base.error_L, 1);
        expect(moved.rows[0]!.reading - base.rows[0]!.reading).toBeCloseTo(by, 9);
        expect(moved.rows.length).toBe(base.rows.length);
      }),
      { seed: 7, numRuns: 20 },
    );
  });
});
