/** Causes beside the three of the examples: drop-outs, a dance, a slow display, a table of another sender. */

import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import type { Complaint } from "../../src/pipeline/complaint";
import { withLeaps } from "../../src/pipeline/complaint-device";
import { errorsOfTable, wrongInTheMiddle } from "../../src/pipeline/complaint-table";
import type { Sources } from "../../src/pipeline/index";
import { type JobInput, resolveJob, unusableOffset_L } from "../../src/pipeline/job";
import { published } from "../../src/said";
import { runExample, sourceFile } from "./example-run";

type Name = Parameters<typeof runExample>[0];
const explain = (
  name: Name,
  found: JobInput["asFound"],
  more: JobInput = {},
  change = (s: Sources) => s,
): Complaint => {
  const { complaint } = runExample(name, (s) =>
    change({ ...s, job: { ...s.job, ...more, asFound: { ...s.job.asFound, ...found } } }),
  ).answers;
  if (complaint.state !== "ready" || !complaint.value) throw new Error("no complaint is explained");
  return complaint.value;
};

/** Five rows of the log in every 200 at the rail: half a second every twenty. */
const withDropouts = (s: Sources): Sources => {
  const lines = new TextDecoder().decode(s.files.drives[0]!.bytes).split("\n");
  const torn = lines.map((line, i) => {
    if (i < 2 || i % 200 >= 5 || line === "") return line;
    const cells = line.split(",");
    cells[1] = "5.0000";
    return cells.join(",");
  });
  return {
    ...s,
    files: { ...s.files, drives: [sourceFile("drive.csv", "drive", new TextEncoder().encode(torn.join("\n")))] },
  };
};

/** One row of the log in every 150 half a volt astray: nowhere near a rail. */
const withSpikes = (s: Sources): Sources => {
  const lines = new TextDecoder().decode(s.files.drives[0]!.bytes).split("\n");
  const torn = lines.map((line, i) => {
    if (i < 2 || i % 150 !== 0 || line === "") return line;
    const cells = line.split(",");
    cells[1] = (Number(cells[1]) + (i % 300 === 0 ? 0.8 : -0.8)).toFixed(4);
    return cells.join(",");
  });
  return {
    ...s,
    files: { ...s.files, drives: [sourceFile("drive.csv", "drive", new TextEncoder().encode(torn.join("\n")))] },
  };
};

test("single readings astray between the rails are spikes, and no fault limit is said to hold them", () => {
  const found = { timeConstant_s: 0.4, deadband: 1.4, warnAt: 2, faultLimits: false };
  const { causes, says, remedy } = explain("fell-carrier", found, { complaint: "dances" }, withSpikes);
  expect(causes[0]!.cause).toBe("spikes");
  expect(published(says)).toContain("with a median of five readings");
  expect(published(remedy!)).not.toMatch(/fault limits/);
});

describe("a deadband that is too wide", () => {
  test("is named where it is wider than the display may be wrong by, and not where it is as wide", () => {
    const wide = explain("fell-carrier", { deadband: 4 });
    const cause = wide.causes.find((c) => c.cause === "wide-deadband")!;
    expect(published(cause.says)).toMatch(/more than the 1\.5\sL that are allowed.*deadband of ±\s4\sL is wider/);
    expect(explain("fell-carrier", { deadband: 1.5 }).causes.map((c) => c.cause)).not.toContain("wide-deadband");
  });
  test("is what keeps the last tenth of a refuel off the display, not the smoothing", () => {
    const { causes, says } = explain(
      "fell-carrier",
      { deadband: 5, timeConstant_s: 8 },
      { complaint: "slow-after-refuel" },
      withRefuel,
    );
    expect(causes[0]!.cause).toBe("wide-deadband");
    expect(published(says)).toMatch(/because its deadband of ±\s5\sL keeps it that far behind: with ±/);
  });
});

/** From the middle of the log on the reading stands 0.9 V higher: a refuel. */
const withRefuel = (s: Sources): Sources => {
  const lines = new TextDecoder().decode(s.files.drives[0]!.bytes).split("\n");
  const middle = Math.floor(lines.length / 2);
  const raised = lines.map((line, i) => {
    if (i < 2 || line === "") return line;
    const cells = line.split(",");
    const share = Math.min(1, Math.max(0, (i - middle) / 600));
    cells[1] = (Number(cells[1]) + 0.9 * share).toFixed(4);
    return cells.join(",");
  });
  return {
    ...s,
    files: { ...s.files, drives: [sourceFile("drive.csv", "drive", new TextEncoder().encode(raised.join("\n")))] },
  };
};

test("a table over other readings than the fill run is another sender's, also where its ends show little wrong", () => {
  const halved = [0.24, 0.7, 1.1, 1.6].map((reading_V, i) => ({ reading_V, volume_L: [0, 15, 35, 56][i]! }));
  const { causes } = explain("fell-carrier", { table: halved });
  const cause = causes.find((c) => c.trouble === "wrong-in-the-middle")!;
  expect(cause.cause).toBe("other-table");
  expect(published(cause.says)).toMatch(/another sender’s: it runs from 0\.24\d*\sV to 1\.6\d*\sV/);
  // Rows that only lengthen a table say nothing of its sender.
  const own = [0, 0.46, 3.21, 5].map((reading_V, i) => ({ reading_V, volume_L: [0, 0, 56, 56][i]! }));
  expect(explain("fell-carrier", { table: own }).causes.map((c) => c.cause)).not.toContain("other-table");
});

describe("drop-outs", () => {
  const calm = { timeConstant_s: 6, deadband: 1, warnAt: 2 };
  test("are named where holding the last good reading takes the dance away, and the limits are told", () => {
    const torn = explain("fell-carrier", { ...calm, faultLimits: false }, { complaint: "dances" }, withDropouts);
    expect(torn.causes[0]!.cause).toBe("dropouts");
    // Every one of the 60, and some of the example's own spikes, which leap as far.
    expect(torn.causes[0]!.figures.dropouts as number).toBeGreaterThanOrEqual(60);
    expect(torn.causes[0]!.figures.dropouts as number).toBeLessThan(70);
    expect(published(torn.says)).toMatch(
      /because the reading drops out \d+ times and the device follows it: no fault limits are set\./,
    );
    expect(published(torn.remedy!)).toMatch(/upper one at \d\.\d\d V/);
  });
  test("are no cause in a device whose fault limits are set", () => {
    const held = explain("fell-carrier", { ...calm, faultLimits: true }, { complaint: "dances" }, withDropouts);
    expect(held.causes.map((c) => c.cause)).not.toContain("dropouts");
  });
  test("are seen as leaps where no limit can tell them from the sender's own end", () => {
    const reading = Float64Array.from({ length: 100 }, (_, i) => 1 + 0.1 * Math.sin(i / 3));
    for (let i = 40; i < 46; i++) reading[i] = 2;
    // A swing as large, but not abrupt: fuel.
    for (let i = 70; i < 90; i++) reading[i] = 1 + 0.8 * Math.sin(((i - 70) / 20) * Math.PI);
    const record = { interval_s: 0.1, reading, trend_L: reading, faulty: new Uint8Array(100), across_g: null };
    const { faulty } = withLeaps({ sampleRate_Hz: 10 }, record, 2);
    expect(Array.from(faulty.keys()).filter((i) => faulty[i])).toEqual([40, 41, 42, 43, 44, 45]);
    expect(withLeaps({ sampleRate_Hz: 1 }, record, 2).faulty.some((f) => f === 1)).toBe(false);
  });
});

test("a display that dances is told how often it turns round, and what holds it", () => {
  const { says, causes } = explain("heath-dasher", {}, { complaint: "dances" });
  expect(says).toMatch(
    /^The display turns round 47 times a minute in 15\smin of driving, because 0\.5\ss of smoothing/,
  );
  expect(causes[0]!.figures.reversalsPerMinuteMended as number).toBeLessThanOrEqual(2);
});

describe("slow after a refuel", () => {
  test("without a refuel in the log it is reckoned: ln 10 time constants, only where the driver says so", () => {
    const { causes, says } = explain("fell-carrier", { timeConstant_s: 120 }, { complaint: "slow-after-refuel" });
    expect(causes[0]!.figures.shownAfter_s).toBeCloseTo(120 * Math.log(10), 6);
    expect(says).toMatch(/^The display takes 4\.6\smin to show nine tenths of a refuel, by reckoning/);
    const nobody = explain("fell-carrier", { timeConstant_s: 120 });
    expect(nobody.causes.map((c) => c.trouble)).not.toContain("slow-after-refuel");
  });
  test("a quick one does not show", () => {
    expect(published(explain("fell-carrier", {}, { complaint: "slow-after-refuel" }).says)).toMatch(
      /^The slow display does not show/,
    );
  });
});

describe("a table of another sender, without a fill run", () => {
  const table = [
    { reading_V: 0.31, volume_L: 0 },
    { reading_V: 1.36, volume_L: 17 },
    { reading_V: 2.73, volume_L: 70 },
  ];
  const middle = { complaint: "wrong-in-the-middle" as const };
  test("the wrong way round is told from the sender as stated", () => {
    const turned = table.map((r, i) => ({ ...r, volume_L: table[2 - i]!.volume_L }));
    const { causes, says } = explain("heath-dasher", { table: turned }, middle);
    expect(causes[0]!.cause).toBe("reversed");
    expect(says).toMatch(
      /^The display shows full where the tank is empty, because the table found is the wrong way round/,
    );
  });
  test("the wrong way round is told from a log that climbs, where nothing is stated", () => {
    const bare = { ...middle, sender: { kind: "unknown" as const }, circuit: { kind: "none" as const } };
    const turned = [
      { reading_V: 0.46, volume_L: 56 },
      { reading_V: 3.21, volume_L: 0 },
    ];
    const { causes, says } = explain("fell-carrier", { table: turned }, bare, (s) => ({
      ...s,
      files: { ...s.files, fills: [] },
    }));
    expect(causes[0]!.cause).toBe("reversed");
    expect(published(says)).toMatch(/^The display climbs by \d+(\.\d)?\sL in 20\smin while fuel is only burnt/);
  });
  test("one that runs beyond the sender's travel is another sender's; its own is not blamed", () => {
    const wide = table.map((r) => ({ ...r, reading_V: 1.4 * r.reading_V }));
    expect(explain("heath-dasher", { table: wide }, middle).causes[0]!.cause).toBe("other-sender");
    expect(published(explain("heath-dasher", { table }, middle).says)).toMatch(
      /^Whether the middle is wrong cannot be told/,
    );
  });
});

test("what an end row hides is no wrong middle", () => {
  const grid = Array.from({ length: 101 }, (_, k) => ({ reading: 1 + k / 50, volume_L: k, standard_L: 0.1 }));
  const right = [1, 1.6, 2, 2.4, 3].map((reading) => ({ reading, volume_L: 50 * (reading - 1) }));
  const job = valueIn(resolveJob({ targets: { tolerance_L: 2 } }))!;
  // Empty told from 7 L on: between that row and the next the display is up to 6 L low.
  const hidden = [{ reading: 1.14, volume_L: 0 }, ...right.slice(1)];
  expect(Math.abs(errorsOfTable(hidden, { grid } as never, job)!.middle.error_L)).toBeLessThan(2);
  const bent = right.map((r, i) => (i === 2 ? { ...r, volume_L: 44 } : r));
  expect(errorsOfTable(bent, { grid } as never, job)!.middle.error_L).toBeCloseTo(-6, 6);
});

test("two rows with margins at their ends are a straight line of this sender, not another sender's table", () => {
  // A bent curve over 100 L; the line between its ends shows 4 L less than is there at both.
  const grid = Array.from({ length: 101 }, (_, k) => ({ reading: 1 + (k / 100) ** 2, volume_L: k, standard_L: 0.1 }));
  const job = valueIn(resolveJob({ targets: { tolerance_L: 2 } }))!;
  const causeOf = (low_L: number) =>
    wrongInTheMiddle(
      [
        { reading: 1, volume_L: low_L },
        { reading: 2, volume_L: 96 },
      ],
      { grid, sense: 1 } as never,
      null,
      job,
    )?.cause;
  expect(causeOf(-4)).toBe("straight-line");
  expect(causeOf(30)).toBe("other-table");
});

describe("a table in another unit than the job states", () => {
  // Rows on the curve of the example's own fill run, as its display counts.
  const run = runExample("fell-carrier").answers;
  const grid = valueIn(run.curve)!.grid;
  const { offset_L } = unusableOffset_L(valueIn(run.job)!);
  const rows = [0, 0.1, 0.25, 0.4, 0.55, 0.7, 0.85, 1]
    .map((share) => grid[Math.round(share * (grid.length - 1))]!)
    .map((g) => ({ reading: g.reading, volume: Math.max(0, g.volume_L - offset_L) }));
  const told = (table: { reading: number; volume: number }[], device: JobInput["device"] = {}) =>
    explain(
      "fell-carrier",
      { table },
      { device: { ...runExampleDevice, ...device }, complaint: "wrong-in-the-middle" },
    );
  const runExampleDevice = run.job.state === "ready" ? { shows: run.job.value.device.shows } : {};

  test.each([
    ["US gallons", rows.map((r) => ({ ...r, volume: r.volume / 3.785411784 })), {}],
    ["imperial gallons", rows.map((r) => ({ ...r, volume: r.volume / 4.54609 })), {}],
    ["percent of the tank", rows.map((r) => ({ ...r, volume: r.volume / 0.57 })), {}],
    ["litres", rows, { tableVolumeUnit: "USgal" as const }],
    ["millivolts", rows.map((r) => ({ ...r, reading: 1000 * r.reading })), {}],
    ["volts", rows, { tableReadingUnit: "mV" as const }],
  ])("is read in it, and that is said: %s", (unit, table, device) => {
    const { causes, says } = told(table, device);
    expect(causes[0]!.cause).toBe("other-unit");
    expect(published(says)).toContain(unit);
    expect(causes[0]!.figures.errorInOtherUnit_L as number).toBeLessThan(1.5);
  });
  test("in its own unit it is not, nor is a table that no unit makes right", () => {
    expect(told(rows).causes.map((c) => c.cause)).not.toContain("other-unit");
    const bent = rows.map((r, i) => ({ ...r, volume: r.volume + (i > 2 && i < 6 ? 9 : 0) }));
    expect(told(bent).causes[0]!.cause).toBe("rows-misplaced");
  });
});

test("without a fill run, readings a thousand times the sender's are millivolts, not another sender's", () => {
  const table = [
    { reading_V: 310, volume_L: 0 },
    { reading_V: 1360, volume_L: 17 },
    { reading_V: 2730, volume_L: 70 },
  ];
  const { causes, says } = explain("heath-dasher", { table }, { complaint: "wrong-in-the-middle" });
  expect(causes[0]!.cause).toBe("other-unit");
  expect(published(says)).toContain("its readings are millivolts");
});
