/** What was found in the device is in the device's own units: table, deadband, warning. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { foundDeadband, foundRows } from "../../src/pipeline/as-found";
import { foundAsCopied, foundUnits } from "../../src/pipeline/found-table";
import { type Job, type JobInput, resolveJob } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { trialWorking } from "../../src/pipeline/words/trial";
import { runExample } from "./example-run";

const resolved = (input: JobInput): Job => valueIn(resolveJob(input))!;
const circuit = { kind: "pull-up" as const, pullUpOhms: 100, supplyVolts: 5 };
const rows = [
  { reading: 500, volume: 0 },
  { reading: 3000, volume: 100 },
];

describe("the table found", () => {
  test("plain rows are in the units that the device takes its table in", () => {
    const job = {
      tank: { capacity_L: 50 },
      readingUnit: "V" as const,
      device: { tableReadingUnit: "mV" as const, tableVolumeUnit: "percent" as const },
      asFound: { table: rows },
    };
    expect(resolved(job).asFound.table).toEqual([
      { reading: 0.5, volume_L: 0 },
      { reading: 3, volume_L: 50 },
    ]);
    expect(foundUnits(job)).toEqual({ reading: "mV", volume: "%" });
    expect(foundAsCopied(job)).toEqual(rows);
  });

  test("ohms stay ohms, in which the table is straight, become volts by the stated divider where they are asked for, and gallons litres", () => {
    const job = resolved({
      circuit,
      readingUnit: "V",
      device: { tableReadingUnit: "ohm", tableVolumeUnit: "USgal" },
      asFound: { table: [{ reading: 100, volume: 10 }] },
    });
    expect([job.asFound.readingUnit, job.asFound.table]).toEqual(["ohm", [{ reading: 100, volume_L: 37.85411784 }]]);
    // 5 V·100/(100 + 100); 231 cubic inches a gallon (NIST Handbook 44, Appendix C).
    expect(foundRows(job, "V")).toEqual([{ reading: 2.5, volume_L: 37.85411784 }]);
  });

  test("rows that name their unit keep it, whatever the device takes", () => {
    const job: JobInput = {
      readingUnit: "V",
      tank: { capacity_L: 50 },
      device: { tableReadingUnit: "mV", tableVolumeUnit: "percent" },
      asFound: { table: [{ reading_V: 1.2, volume_L: 20 }] },
    };
    expect(resolved(job).asFound.table).toEqual([{ reading: 1.2, volume_L: 20 }]);
    expect(foundAsCopied(job)).toEqual([{ reading: 1200, volume: 40 }]);
  });

  test("what cannot be converted is not taken for litres: it is said what is missing", () => {
    const without: JobInput = { device: { tableVolumeUnit: "percent" }, asFound: { table: rows } };
    const answer = resolveJob(without);
    expect(answer).toMatchObject({ state: "ready", value: { asFound: { table: [] } } });
    expect(answer.state === "ready" && answer.cautions).toMatchObject([
      { code: "job/found-table-units", says: expect.stringContaining("the job states no capacity") },
    ]);
    expect(foundAsCopied(without)).toEqual(rows);
    const slip = resolveJob({ asFound: { table: [rows[0]!, { reading: "1,2", volume: 5 }] } });
    expect(slip.state === "ready" && slip.cautions[0]!.says).toContain("its row 2 is not a reading and a volume");
    const ohms = resolveJob({ readingUnit: "V", device: { tableReadingUnit: "ohm" }, asFound: { table: rows } });
    expect(ohms.state === "ready" && ohms.cautions[0]!.says).toContain("Ω");
  });
});

describe("the deadband found", () => {
  const found = (unit: "L" | "percent" | "V", deadband: number, more: JobInput = {}) =>
    foundDeadband(
      resolved({
        tank: { capacity_L: 50 },
        readingUnit: "V",
        device: { deadband: { unit } },
        asFound: {
          deadband,
          table: [
            { reading_V: 0.5, volume_L: 2 },
            { reading_V: 3, volume_L: 52 },
          ],
        },
        ...more,
      }),
      80,
    ).deadband_L;
  test("by its unit: 2 L, 2 % of 50 L, 0.1 V at 20 litres a volt", () => {
    expect(found("L", 2)).toBe(2);
    expect(found("percent", 2)).toBe(1);
    expect(found("percent", 2, { tank: {} })).toBe(1.6);
    expect(found("V", 0.1)).toBeCloseTo(2, 9);
  });

  test("is replayed in litres, and what was typed stands beside them", () => {
    const runs = (["L", "percent"] as const).map((unit) =>
      runExample("fell-carrier", (s) => ({
        ...s,
        job: {
          ...s.job,
          tank: { ...s.job.tank, capacity_L: 50 },
          device: { ...s.job.device, deadband: { ...s.job.device!.deadband, unit } },
          asFound: { ...s.job.asFound, deadband: unit === "L" ? 1 : 2 },
        },
      })),
    );
    const trials = runs.map((r) => valueIn(r.answers.trial)!);
    expect(trials[1]!.asFound).toEqual(trials[0]!.asFound);
    const lines = trials.map((t) => textOf(trialWorking(t).find((w) => w.what === "As found")!.figures));
    expect(lines[0]).toMatch(/deadband ±\s1\.0\sL$/u);
    expect(lines[1]).toMatch(/deadband ±\s2\.0\s% = ±\s1\.0\sL of the stated capacity$/u);
  });
});
