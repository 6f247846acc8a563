/** What nobody stated is called assumed, and what was found is not called measured. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import { figuresOf } from "../../../src/pipeline/figures/all";
import type { JobInput } from "../../../src/pipeline/job";
import { allFindings, leafTrust, textOf } from "../../../src/pipeline/words/all";
import { bandsBeside } from "../../../src/pipeline/words/curve";
import { driveLogWorking } from "../../../src/pipeline/words/drive-log";
import { inLitres } from "../../../src/quantity";
import { published } from "../../../src/said";
import { runExample } from "../example-run";

const withJob = (change: (job: JobInput) => JobInput, files = true) =>
  runExample("moor-runner", (s) => ({
    ...s,
    job: change(s.job),
    files: files ? s.files : { fills: [], drives: [] },
  })).answers;
const plain = (text: string) => text.replaceAll("\u00a0", " ");

describe("the job's line", () => {
  const wordOf = (job: JobInput) => {
    const { job: answer, curve } = withJob(() => job, false);
    return leafTrust("job", answer, curve);
  };

  test("is assumed, and no firm rule, where neither tank nor tolerance is stated", () => {
    expect(wordOf({})).toMatchObject({ word: "assumed", trust: "holds-if" });
  });

  test("holds as soon as one of them is", () => {
    expect(wordOf({ tank: { capacity_L: 60 } })).toMatchObject({ word: "holds", trust: "holds" });
    expect(wordOf({ targets: { tolerance_L: 1 } })).toMatchObject({ word: "holds", trust: "holds" });
  });
});

describe.each([null, 1.8])("a tolerance stated as %s", (tolerance_L) => {
  const answers = withJob((job) => ({ ...job, targets: { ...job.targets, tolerance_L } }));

  test("is yours only where you stated it", () => {
    const mark = figuresOf(answers).verdict![0]!.panels[0]!.marks.find((m) => m.kind === "vertical")!;
    expect(mark.text!.startsWith(tolerance_L === null ? "tolerance assumed, " : "your tolerance, ")).toBe(true);
    const { finding } = allFindings(answers).find((l) => l.name === "verdict")!;
    expect(textOf(finding!.condition).includes("The tolerance is assumed")).toBe(tolerance_L === null);
  });
});

test("a drive read through the table found in the device speaks of that table, and of no curve", () => {
  const found = { table: [0, 1, 2, 3].map((k) => ({ reading_V: 2.9 - 0.8 * k, volume_L: 20 * k })) };
  const both = [false, true].map((isFound) =>
    runExample("moor-runner", (s) => ({
      ...s,
      job: { ...s.job, asFound: found },
      files: isFound ? { ...s.files, fills: [] } : s.files,
    })),
  );
  const told = both.map(({ answers }) => {
    const { finding } = allFindings(answers).find((l) => l.name === "drive-log")!;
    const figure = figuresOf(answers)["drive-log"]![0]!;
    const isFound = answers.curve.state === "stuck";
    const burn = driveLogWorking(valueIn(answers.driveLog)!, isFound).find((l) => l.what === "Burn trend")!;
    return `${textOf([...finding!.sentence, ...finding!.condition])} ${figure.panels[0]!.y.label} ${burn.formula}`;
  });
  expect(told[0]).toContain("volume by the curve");
  expect(told[1]).toContain("volume by the table found");
  expect(told[1]).not.toContain("curve");
});

describe("a job in gallons", () => {
  const cautionsOf = (device: NonNullable<JobInput["device"]>, volumeUnit: JobInput["volumeUnit"]) => {
    const { table, settings } = withJob((job) => ({ ...job, volumeUnit, device: { ...job.device, ...device } }));
    return [table, settings].map((a) =>
      a.state === "ready" ? a.cautions.filter((c) => c.code.endsWith("/litres-not-stated")) : [],
    );
  };

  test("that does not state the device's unit is told once on table and hand-over that the rows are litres, and where to state it", () => {
    for (const [unit, name] of [
      ["USgal", "US gallons"],
      ["impgal", "imperial gallons"],
    ] as const)
      for (const found of cautionsOf({ tableVolumeUnit: null }, unit)) {
        expect(found.length).toBe(1);
        expect(published(found[0]!.says)).toMatch(
          new RegExp(`^The rows of the table are in litres: this job is in ${name}`),
        );
        expect(published(found[0]!.remedy!)).toContain("“Volumes typed in”");
        expect(published(found[0]!.remedyOnCommandLine!)).toContain(`--set device.tableVolumeUnit=${unit}`);
      }
  });

  test("is told nothing where the device's unit is stated, nor is a job in litres", () => {
    expect(cautionsOf({ tableVolumeUnit: "L" }, "USgal")).toEqual([[], []]);
    expect(cautionsOf({ tableVolumeUnit: null }, "L")).toEqual([[], []]);
  });
});

test("the band with the sheet as written is set beside the other only where its digits differ", () => {
  const band = (asWritten_L: number | null, now_L: number) =>
    bandsBeside(
      {
        asWritten: asWritten_L === null ? null : { bandHalfWidth_L: asWritten_L },
        overall: { bandHalfWidth_L: now_L },
      } as unknown as Parameters<typeof bandsBeside>[0],
      inLitres,
    );
  expect(band(null, 1.1)).toBeNull();
  expect(band(1.1004, 1.1001)).toBeNull();
  const told = band(4.2, 1.1)!;
  expect([plain(told.asWritten), plain(told.now)]).toEqual(["4.2 L", "1.1 L"]);
});
