/** What was copied from a device carelessly: each gets its answer or what mends it, and never silence. */

import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { curveAsFound, foundRows } from "../../src/pipeline/as-found";
import { checkCircuit } from "../../src/pipeline/circuit";
import { type Complaint, explainComplaint } from "../../src/pipeline/complaint";
import { type Job, type JobInput, resolveJob } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { headOf } from "../../src/pipeline/words/head";
import { published } from "../../src/said";
import { runExample } from "./example-run";

const rows = [
  { reading_V: 0.5, volume_L: 0 },
  { reading_V: 1.5, volume_L: 20 },
  { reading_V: 3, volume_L: 50 },
];
const resolved = (input: JobInput): Job => valueIn(resolveJob(input))!;
const cautionsOf = (input: JobInput) => {
  const answer = resolveJob(input);
  return answer.state === "ready" ? answer.cautions.map((c) => c.code) : [];
};
const explained = (input: JobInput, litres: "V" | "ohm" | null = null): Complaint | null =>
  valueIn(
    explainComplaint(
      resolved(input),
      null,
      litres && { readingUnit: litres, grid: rows.map((r) => ({ reading: 100 * r.reading_V, volume_L: r.volume_L })) },
      null,
      null,
      null,
    ),
  )!;
const bounce = { complaint: "bounces-at-an-end" as const, tank: { capacity_L: 50 } };

describe("a table found that cannot be replayed: the complaint says why and what mends it", () => {
  test.each<[string, JobInput, RegExp, RegExp]>([
    ["no table", { ...bounce }, /states no table that was found/, /Copy the device’s table/],
    ["one row", { ...bounce, asFound: { table: rows.slice(0, 1) } }, /one row of the table/, /Copy the device’s table/],
    [
      "percent without a capacity",
      { complaint: "dances", device: { tableVolumeUnit: "percent" }, asFound: { table: [{ reading: 1, volume: 0 }] } },
      /is not read, because its volumes are in percent, and the job states no capacity/,
      /State in the job what is missing/,
    ],
    [
      "two volumes at one reading",
      { ...bounce, asFound: { table: [...rows, { reading_V: 1.5, volume_L: 25 }] } },
      /gives two volumes for the reading 1\.5/,
      /Correct or take out one of the two rows/,
    ],
    [
      "one row, written twice",
      { ...bounce, asFound: { table: [rows[0]!, rows[0]!] } },
      /all rows .* are the same/,
      /two rows or more that differ/,
    ],
    [
      "two units",
      { ...bounce, asFound: { table: [rows[0]!, { reading_ohm: 180, volume_L: 50 }] } },
      /its rows are in two units, V and Ω/,
      /State in the job what is missing/,
    ],
  ])("%s", (_, input, says, remedy) => {
    const complaint = explained(input);
    expect(published(complaint!.says)).toMatch(/^The complaint cannot be looked into yet: /);
    expect(published(complaint!.says)).toMatch(says);
    expect(published(complaint!.remedy!)).toMatch(remedy);
    expect(complaint?.causes).toEqual([]);
    // Nobody complains: nothing to say.
    expect(explained({ ...input, complaint: null })).toBeNull();
  });

  test("a table in volts beside readings in ohms is brought to ohms where the circuit is stated, else it is said", () => {
    const input: JobInput = { ...bounce, asFound: { table: rows } };
    expect(published(explained(input, "ohm")!.says)).toContain("is in V, the readings are in ohm");
    const circuit = { kind: "pull-up" as const, pullUpOhms: 100, supplyVolts: 5 };
    const inOhms = foundRows(resolved({ ...input, circuit }), "ohm");
    // 100 Ω·V/(5 V − V).
    expect(inOhms[0]!.reading).toBeCloseTo((100 * 0.5) / 4.5, 9);
    expect(inOhms[2]!.reading).toBeCloseTo((100 * 3) / 2, 9);
    expect(published(explained({ ...input, circuit }, "ohm")!.says)).not.toContain("cannot be looked into");
  });

  test("the head says it too, instead of asking for a fill run alone", () => {
    const run = runExample("reed-punt", (s) => ({ ...s, job: { ...s.job, asFound: { table: [] } } }));
    expect(textOf(headOf(run.answers).verdict)).toMatch(/^The complaint cannot be looked into yet: the job states no/);
  });
});

describe("slips that can be read all the same", () => {
  test("rows in any order, and a row that was copied twice, are one table", () => {
    const untidy = resolved({ asFound: { table: [rows[2]!, rows[0]!, rows[1]!, rows[0]!] } });
    expect(foundRows(untidy)).toEqual(foundRows(resolved({ asFound: { table: rows } })));
    expect(curveAsFound(untidy).state).toBe("ready");
  });

  test("rows whose volumes go up and down are doubted by name", () => {
    const table = [...rows, { reading_V: 3.5, volume_L: 45 }];
    expect(cautionsOf({ asFound: { table } })).toContain("job/found-table-turns");
    expect(cautionsOf({ asFound: { table: rows } })).not.toContain("job/found-table-turns");
  });

  test("a table that names ohms needs no unit from the job", () => {
    const table = rows.map((r) => ({ reading_ohm: 100 * r.reading_V, volume_L: r.volume_L }));
    expect(valueIn(curveAsFound(resolved({ asFound: { table } })))!.readingUnit).toBe("ohm");
  });

  test("a warning above full keeps the lamp on: that is said without a log", () => {
    const complaint = explained({
      complaint: "lamp-in-a-corner",
      tank: { capacity_L: 50 },
      asFound: { table: rows, warnAt: 60 },
    });
    expect(complaint?.causes[0]?.cause).toBe("warning-over-full");
    expect(published(complaint!.says)).toMatch(
      /^The lamp is always on, because it warns at 60\sL and the table found shows 50\sL/,
    );
  });

  test("a lamp without a warning, and any complaint without a log, ask for what is missing", () => {
    const asFound = { table: rows };
    const noLog = explained({ complaint: "lamp-in-a-corner", asFound });
    expect(published(noLog!.says)).toContain("no drive log that can be read");
    const run = runExample("heath-dasher", (s) => ({
      ...s,
      job: { ...s.job, asFound: { ...s.job.asFound, warnAt: null } },
    }));
    expect(published(valueIn(run.answers.complaint)!.says)).toMatch(/does not state at what the device warns/);
  });

  test("a time constant of nought is no smoothing; one that is not stated is replayed so, and the answer stands on it", () => {
    const withTime = (timeConstant_s: number | null) =>
      runExample("reed-punt", (s) => ({ ...s, job: { ...s.job, asFound: { ...s.job.asFound, timeConstant_s } } }))
        .answers.complaint;
    const none = withTime(0);
    const unknown = withTime(null);
    if (none.state !== "ready" || unknown.state !== "ready") throw new Error("should be ready");
    expect(none.cautions).toEqual([]);
    expect(unknown.value?.says).toEqual(none.value?.says);
    expect(unknown.cautions.map((c) => c.code)).toEqual(["complaint/smoothing-not-stated"]);
  });
});

test("without a fill run the fault limits stand in the unit of the readings", () => {
  const job = resolved({ readingUnit: "ohm", sender: { kind: "float-arm", emptyOhms: 20, fullOhms: 180 } });
  const { faultLow, faultHigh } = valueIn(checkCircuit(job, null))!;
  expect(faultLow).toBeGreaterThan(0);
  expect(faultLow).toBeLessThan(20);
  expect(faultHigh).toBeGreaterThan(180);
});
