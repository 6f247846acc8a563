/** Inputs as they go wrong at a tank: each is told by file, line as an editor counts it, what is wrong and what mends it. */
import { describe, expect, test } from "vitest";
import { type Answer, valueIn } from "../../src/answer";
import { lineOf } from "../../src/cli/given";
import { noChoices } from "../../src/pipeline/choices";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import { createPipeline } from "../../src/pipeline/index";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { textOf } from "../../src/pipeline/words/all";
import { curveFinding } from "../../src/pipeline/words/curve";
import { driveLogFinding } from "../../src/pipeline/words/drive-log";
import { sourceFile } from "./example-run";

const volts = (litres: number) => 0.5 + 0.04 * litres + 0.0002 * litres * litres;
const readings = Array.from({ length: 13 }, (_, k) => Number(volts(4 * k).toFixed(3)));
const text = (name: string, kind: SourceFile["kind"], lines: string[]) =>
  sourceFile(name, kind, new TextEncoder().encode(`${lines.join("\n")}\n`));
const sheetOf = (list: (number | string)[], header = "added_L,sender_V") =>
  text("fill.csv", "fill", [header, ...list.map((r, k) => `${k === 0 ? 0 : 4},${r}`)]);
const drive = (rows: (number | string)[][], header = "time_s,sender_V") =>
  text("drive.csv", "drive", [header, ...rows.map((r) => r.join(","))]);
const rows = (n: number, at: (i: number) => number = (i) => i / 10): (number | string)[][] =>
  Array.from({ length: n }, (_, i) => [
    Number(at(i).toFixed(3)),
    Number((volts(30 - i / 1500) + 0.03 * Math.sin(i / 2)).toFixed(4)),
  ]);
const stagesOf = (fill: SourceFile, drives: SourceFile[] = []) =>
  createPipeline({
    job: { tank: { capacity_L: 50 }, fill: { startedFrom: "drained" } },
    files: { fills: [fill], drives },
    readings: {},
    choices: noChoices,
  }).stages;
const stuckOf = (answer: Answer<unknown>): string => {
  if (answer.state !== "stuck") throw new Error("should be stuck");
  return lineOf(answer.issue);
};
const cautionsOf = (answer: Answer<unknown>) => (answer.state === "ready" ? answer.cautions : []);

describe("a reading ten times too large by a slip of the decimal mark", () => {
  test.each([2, 5, 9])("at step %i it is set aside, and the tank is not turned round by it", (slip) => {
    const stages = stagesOf(sheetOf(readings.map((r, k) => (k === slip ? 10 * r : r))));
    const fill = valueIn(stages.fillRun.read())!;
    expect(fill.sense).toBe(1);
    expect(valueIn(stages.suspectSteps.read())!.runs[0]!.steps[slip]!.accepted).toBe(false);
    const curve = valueIn(stages.curve.read())!;
    for (const litres of [2, 20, 46]) expect(Math.abs(volumeAt(curve, volts(litres)) - litres)).toBeLessThan(0.5);
  });

  test("a cell as a spreadsheet writes 11.44 is not believed to its sixteenth digit", () => {
    const stages = stagesOf(sheetOf(readings.map((r, k) => (k === 4 ? "1.1910000000000001" : r))));
    expect(valueIn(stages.fillRun.read())!.readingStep).toBeCloseTo(0.001, 12);
  });
});

describe("sheets", () => {
  test("decimal commas between columns parted by commas are named, and not read as whole numbers", () => {
    const commas = readings.map((r) => String(r).replace(".", ","));
    expect(stuckOf(readRecording(sheetOf(commas), null))).toMatch(
      /^fill\.csv, line 2: the header names 2 columns and the rows have 3, .* Export the file with semicolons/,
    );
    const log = drive(rows(200).map((r) => r.map((v) => String(v).replace(".", ","))));
    expect(stuckOf(readRecording(log, null))).toContain("drive.csv, line 2: the header names 2 columns");
    // Told by hand that commas part columns, it is read so.
    expect(readRecording(sheetOf(commas), { delimiter: "," }).state).toBe("ready");
  });

  test("a column without a name beside decimal points, and a comma at each line's end, are no such slip", () => {
    for (const end of [",", ",7"]) {
      const file = text("fill.csv", "fill", ["added_L,sender_V", ...readings.map((r, k) => `${k ? 4 : 0},${r}${end}`)]);
      expect(readRecording(file, null).state).toBe("ready");
    }
  });

  test("a file whose columns nobody knows lists them, and the command line says how to name one", () => {
    expect(stuckOf(stagesOf(sheetOf(readings, "foo,bar")).fillRun.read())).toBe(
      "fill.csv has no column that looks like a volume (its columns: “foo”, “bar”). Name the column of volumes with --map volume=COLUMN.",
    );
  });

  test("less than nothing poured is told as that", () => {
    const lines = readings.map((r, k) => `${k === 0 ? 0 : k === 6 ? -4 : 4},${r}`);
    expect(stuckOf(stagesOf(text("fill.csv", "fill", ["added_L,sender_V", ...lines])).fillRun.read())).toMatch(
      /^fill\.csv, line 8, column added_L: −4\.00 L is less than nothing, .* if the tank was being emptied, name the file with --drain\.$/,
    );
  });

  test("prose, a header alone and an empty drive log are told in a whole sentence", () => {
    expect(stuckOf(readRecording(text("a.csv", "fill", ["Dear customer,", "regards"]), null))).toContain(
      "there are 2 lines, and none of them is a row of numbers.",
    );
    expect(stuckOf(readRecording(text("a.csv", "fill", ["added_L,sender_V"]), null))).toContain(
      "there is one line, and it is no row of numbers.",
    );
    expect(stuckOf(readRecording(sourceFile("d.csv", "drive", new Uint8Array()), null))).toBe(
      "d.csv: the file is empty. Export it again.",
    );
  });

  test("of two steps nothing is said about two points", () => {
    const { curve } = stagesOf(sheetOf(readings.slice(0, 2)));
    const finding = curveFinding(valueIn(curve.read())!, 0, 4);
    expect(textOf(finding.sentence)).not.toContain("Two points");
  });
});

describe("volumes that no tank holds", () => {
  const sheet = (lines: string[], header = "added_L,sender_V") => text("fill.csv", "fill", [header, ...lines]);
  const of = (file: SourceFile, job = {}) =>
    createPipeline({ job, files: { fills: [file], drives: [] }, readings: {}, choices: noChoices }).stages;

  test("nothing poured, and more than any tank holds, are refused with their line", () => {
    const nothing = sheet(readings.map((r) => `0,${r}`));
    expect(stuckOf(of(nothing).fillRun.read())).toBe(
      "fill.csv, line 3: the volume stays at 0\u00a0L through all 13 steps, so nothing was poured. Fill in the volumes, or name their column with --map volume=COLUMN.",
    );
    const slip = sheet(readings.map((r, k) => `${k === 0 ? 0 : k === 4 ? "1e16" : 4},${r}`));
    expect(stuckOf(of(slip).fillRun.read())).toMatch(/^fill\.csv, line 6: 1.*L in all is more than any tank holds\./u);
    const negative = sheet(readings.map((r, k) => `${k === 0 ? -5 : 4},${r}`));
    expect(stuckOf(of(negative).fillRun.read())).toMatch(/^fill\.csv, line 2, column added_L: \u22125\.00 L is less/u);
  });

  test("a stated pour beyond all measure is told, and the search for faults goes on without it", () => {
    const stages = of(sheetOf(readings), { tank: { capacity_L: 50 }, pour: { size_L: 1e9 } });
    expect(cautionsOf(stages.job.read()).map((c) => c.code)).toContain("job/pour-over-capacity");
    expect(valueIn(stages.suspectSteps.read())!.runs[0]!.events).toEqual([]);
  });

  test("volumes whose unit the job states otherwise are believed as written, and that is told", () => {
    const { fillRun } = of(sheetOf(readings), { tank: { capacity_L: 50 }, volumeUnit: "USgal" });
    expect(valueIn(fillRun.read())!.total_L).toBe(48);
    expect(cautionsOf(fillRun.read()).find((c) => c.code === "fill-run/volume-units-differ")?.says).toBe(
      "fill.csv says that its volumes are in litres, the job says US gallons; the file is believed.",
    );
  });

  test("one file given twice is one run, and another file of the same steps a second one", () => {
    const [once, same] = [sheetOf(readings), { ...sheetOf(readings), name: "again.csv" }];
    const runsOf = (fills: SourceFile[]) => {
      const { fills: files, fillRun } = createPipeline({
        job: { tank: { capacity_L: 50 } },
        files: { fills, drives: [] },
        readings: {},
        choices: noChoices,
      }).stages;
      return [valueIn(fillRun.read())!.runs.length, ...cautionsOf(files.read()).map((c) => c.says)];
    };
    expect(runsOf([once, { ...once }])).toEqual([1, "fill.csv is given twice; it is taken once."]);
    expect(runsOf([once, same])).toEqual([
      1,
      "again.csv holds the same as fill.csv, to the last byte; it is taken once.",
    ]);
    const other = { ...sheetOf(readings.map((r) => (r + 0.001).toFixed(3))), name: "second.csv" };
    expect(runsOf([once, other])).toEqual([2]);
  });
});

describe("statements of the job that cannot both be so", () => {
  const codes = (job: object) =>
    cautionsOf(
      createPipeline({ job, files: { fills: [], drives: [] }, readings: {}, choices: noChoices }).stages.job.read(),
    ).map((c) => c.code);
  test.each([
    ["job/smoothing-without-room", { device: { smoothing: { asks: "seconds", least: 10, most: 1 } } }],
    ["job/ground-over-supply", { circuit: { supplyVolts: 5, groundOffsetVolts: 7 } }],
    ["job/remainder-over-capacity", { tank: { capacity_L: 50 }, fill: { startRemainder_L: 60 } }],
    [
      "job/found-table-twice",
      {
        readingUnit: "V",
        asFound: {
          table: [
            { reading: 1, volume_L: 1 },
            { reading: 1, volume_L: 5 },
          ],
        },
      },
    ],
  ])("%s", (code, job) => {
    expect(codes(job)).toContain(code);
    expect(codes({})).not.toContain(code);
  });

  test("sizes beyond all measure are refused, large and small", () => {
    const refused = (job: object) =>
      stuckOf(
        createPipeline({ job, files: { fills: [], drives: [] }, readings: {}, choices: noChoices }).stages.job.read(),
      );
    expect(refused({ tank: { capacity_L: 1e300 } })).toMatch(
      /tank\.capacity_L should be at most 1000000000, and is 1e\+300/,
    );
    expect(refused({ tank: { capacity_L: 1e-300 } })).toMatch(
      /tank\.capacity_L should be at least 1e-9, and is 1e-300/,
    );
    expect(refused({ device: { rate_Hz: 1e9 } })).toMatch(/device\.rate_Hz should be at most 1000/);
  });
});

describe("drive logs", () => {
  const good = sheetOf(readings);
  const logOf = (file: SourceFile) => stagesOf(good, [file]).driveLog.read();

  test("a time that runs backwards is told as that, and not as a log too short", () => {
    expect(stuckOf(logOf(drive(rows(3000).reverse())))).toMatch(
      /^drive\.csv, line 3, column time_s: the time runs backwards: 2999 of 3000 rows lie before the row above them, from line 3 on\. Sort the rows by time/,
    );
  });

  test("a time that stands still is told as that", () => {
    expect(stuckOf(logOf(drive(rows(3000, () => 5))))).toMatch(
      /^drive\.csv, column time_s: the time stands at 5 s through all 3000 rows\. Name the column/,
    );
  });

  test("one stamp far ahead is that row's own slip, and hides none of the rows after it", () => {
    const slipped = rows(6000).map(([t, r], i) => [i === 2000 ? 1e300 : t!, r!]);
    const answer = logOf(drive(slipped));
    expect(valueIn(answer)![0]!.counts.backwards).toBe(1);
    expect(cautionsOf(answer).find((c) => c.code === "drive-log/backwards")).toMatchObject({
      where: { row: 2002 },
      weight: "note",
    });
    // A clock that was set on goes on from there: nothing is left out.
    expect(valueIn(logOf(drive(rows(6000, (i) => (i < 3000 ? i / 10 : i / 10 + 500)))))![0]!.counts.backwards).toBe(0);
  });

  test("gaps are told with their length and place", () => {
    const answer = logOf(
      drive(rows(6000).filter(([t]) => !(Number(t) > 100 && Number(t) < 160) && !(Number(t) > 400 && Number(t) < 430))),
    );
    expect(cautionsOf(answer).find((c) => c.code === "drive-log/gaps")?.says).toBe(
      "drive.csv: 2 gaps, 90\u00a0s in all, the longest of 60\u00a0s, 100\u00a0s from the start. Nothing is counted in them.",
    );
  });

  test("a rate that changes half-way is told with both rates", () => {
    const answer = logOf(drive(rows(4000, (i) => (i < 3000 ? i / 10 : 300 + (i - 3000)))));
    expect(cautionsOf(answer).find((c) => c.code === "drive-log/rate-changes")?.says).toMatch(
      /^drive\.csv: the rows do not come at one rate: each 0\.10\ss .* each 1\.0\ss about \d+\ss from it\./u,
    );
    expect(cautionsOf(logOf(drive(rows(4000)))).map((c) => c.code)).not.toContain("drive-log/rate-changes");
  });

  test("a column that is named but holds no number is listed so", () => {
    expect(stuckOf(logOf(drive(rows(200).map(([t]) => [t!, ""]))))).toContain("“sender_V” without a number");
  });

  test("where every row lies beyond the curve no volume is claimed", () => {
    const answer = logOf(drive(rows(3000).map(([t, v]) => [t!, Number(v) + 6])));
    const said = textOf(driveLogFinding(valueIn(answer)!).sentence);
    expect(said).toContain("nothing is seen of the volume");
    expect(said).not.toMatch(/stays at|burn of/);
  });
});
