/** What a change of the job computes again, and what it leaves as it is: an hour of driving is not read anew for a word that it does not depend on. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { noChoices } from "../../src/pipeline/choices";
import { createPipeline, type StageName } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";

const dataset = (name: string) => readFileSync(new URL(`../../datasets/moor-runner/${name}`, import.meta.url));
const file = (name: string, kind: "fill" | "drive") => {
  const bytes = new Uint8Array(dataset(name));
  return { name, kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
};
const files = { fills: [file("fill.csv", "fill")], drives: [file("drive.csv", "drive")] };
const readings = {};

describe("a change of the job", () => {
  const job: JobInput = JSON.parse(dataset("job.json").toString());
  const pipeline = createPipeline({ job, files, readings, choices: noChoices });
  const read = () =>
    new Map(Object.entries(pipeline.stages).map(([name, stage]) => [name as StageName, stage.read() as unknown]));
  /** Stages whose answer is another object than before. */
  const anew = (changed: JobInput): Set<StageName> => {
    pipeline.set({ job, files, readings, choices: noChoices });
    const before = read();
    pipeline.set({ job: changed, files, readings, choices: noChoices });
    const after = read();
    return new Set([...after.keys()].filter((name) => after.get(name) !== before.get(name)));
  };

  test.each([
    ["a wish for the display", { ...job, targets: { ...job.targets, displayReversalsPerMinute: 3 } }],
    ["the displayed step", { ...job, device: { ...job.device, displayStep: 2 } }],
    ["what the driver says", { ...job, complaint: "dances" as const }],
  ])("%s makes no other curve and reads no log again", (_what, changed) => {
    const again = anew(changed);
    for (const name of ["fillRun", "suspectSteps", "curve", "driveLog", "noise"] as const)
      expect(again).not.toContain(name);
    expect(again).toContain("job");
  });

  test("the displayed step is replayed", () => {
    expect(anew({ ...job, device: { ...job.device, displayStep: 2 } })).toContain("display");
  });

  test("the tolerance of the curve is no word of the display: the curve is chosen again", () => {
    expect(anew({ ...job, targets: { ...job.targets, tolerance_L: 0.2 } })).toContain("curve");
  });

  test("another error of a pour makes another curve, through which the rows of the log are read as they were put in order and marked", () => {
    const columns = () => valueIn(pipeline.stages.driveLog.read())![0]!.columns;
    pipeline.set({ job, files, readings, choices: noChoices });
    const before = columns();
    const again = anew({ ...job, pour: { ...job.pour, errorPerPour_L: 0.05 } });
    for (const name of ["curve", "driveLog", "noise"] as const) expect(again).toContain(name);
    const after = columns();
    expect(after.volume_L).not.toBe(before.volume_L);
    for (const name of ["time_s", "reading", "mark", "even"] as const) expect(after[name]).toBe(before[name]);
  });
});
