import { readFileSync } from "node:fs";
import Ajv2020 from "ajv/dist/2020.js";
import { describe, expect, test } from "vitest";
import { analysisOf } from "../../src/pipeline/analysis";
import type { Complaint } from "../../src/pipeline/complaint";
import type { Sources } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import { textOf } from "../../src/pipeline/words/all";
import { headOf } from "../../src/pipeline/words/head";
import { published } from "../../src/said";
import { complaintNames, pathOf, runExample } from "./example-run";

const validate = new Ajv2020({ allErrors: true }).compile(
  JSON.parse(readFileSync(new URL("../../src/pipeline/analysis.schema.json", import.meta.url), "utf8")),
);
const complaintOf = (run: ReturnType<typeof runExample>): Complaint => {
  const { complaint } = run.answers;
  if (complaint.state !== "ready" || !complaint.value) throw new Error("no complaint is explained");
  return complaint.value;
};
const truthOf = (name: (typeof complaintNames)[number]) => JSON.parse(readFileSync(pathOf(name, "truth.json"), "utf8"));
const withFound =
  (found: Partial<NonNullable<JobInput["asFound"]>>, more: JobInput = {}) =>
  (s: Sources): Sources => ({
    ...s,
    job: { ...s.job, ...more, asFound: { ...s.job.asFound, ...found } },
  });
const runs = Object.fromEntries(complaintNames.map((name) => [name, runExample(name)])) as Record<
  (typeof complaintNames)[number],
  ReturnType<typeof runExample>
>;

describe("the three complaints", () => {
  test.each([
    [
      "reed-punt",
      "no-margin",
      /^The display bounces at the full end, \d+ times in \d+ min, because the table’s end row, /,
    ],
    ["heath-dasher", "tilt", /^The lamp comes on in corners because fuel runs away from the sender there/],
    [
      "fell-carrier",
      "straight-line",
      /^The display shows 17\sL too much at 15\sL, because the table found has two rows/,
    ],
  ] as const)("%s: the head names the cause (%s) in its first sentence", (name, cause, sentence) => {
    const run = runs[name];
    expect(complaintOf(run).causes[0]!.cause).toBe(cause);
    const verdict = textOf(headOf(run.answers).verdict);
    expect(verdict).toMatch(sentence);
    const mend = headOf(run.answers).rows.find((r) => r.name === "Mend")!;
    expect(textOf(mend.parts[0]!.phrases)).toBe(published(complaintOf(run).remedy!));
    const analysis = JSON.parse(JSON.stringify(analysisOf(run.answers, run.all)));
    expect(validate(analysis), JSON.stringify(validate.errors?.slice(0, 3))).toBe(true);
    expect(analysis.complaint.says).toBe(verdict);
  });
});

describe("bounce at an end", () => {
  test("is explained at the same row however often the device updates: a quarter of a million updates at that end are no trouble", () => {
    const often = runExample("reed-punt", (s) => ({
      ...s,
      job: { ...s.job, device: { ...s.job.device, rate_Hz: 200 } },
    }));
    const [slow, quick] = [runs["reed-punt"], often].map((run) => complaintOf(run).causes[0]!);
    expect(quick!.cause).toBe(slow!.cause);
    expect(quick!.figures.rowReading).toBe(slow!.figures.rowReading);
  });

  test("the row that cures it can be typed: in the device's own steps, and no nearer to the end than asked", () => {
    const { says, remedy, figures } = complaintOf(runs["reed-punt"]).causes[0]!;
    const [, typed] = published(says).match(/with that row at (\S+) V the same drive/)!;
    expect(typed).toMatch(/^\d\.\d\d$/);
    expect(Math.abs(Number(typed) - (figures.endReading as number))).toBeGreaterThanOrEqual(
      figures.neededMargin as number,
    );
    expect(published(remedy)).toContain(`by ${Math.abs(Number(typed) - (figures.rowReading as number)).toFixed(3)}`);
  });

  test("the reading of the end is the stop's own, and the margin asked for holds it", () => {
    const { figures } = complaintOf(runs["reed-punt"]).causes[0]!;
    // Truth: 33 Ω and 0.2 Ω of contact on 240 Ω from 5 V, 2 mV of ground.
    const stop = (5 * 33.2 + 0.002 * 240) / (33.2 + 240);
    expect(Math.abs((figures.endReading as number) - stop)).toBeLessThan(0.003);
    expect(figures.flickersWithMargin as number).toBeLessThan(0.02 * (figures.flickers as number));
  });
  test("with the row moved in by that margin nothing bounces, and that is said", () => {
    const { figures } = complaintOf(runs["reed-punt"]).causes[0]!;
    const table = (runs["reed-punt"].sources.job.asFound!.table as { reading_V: number; volume_L: number }[]).map(
      (r) => (r.volume_L === 41 ? { ...r, reading_V: r.reading_V + 1.3 * (figures.neededMargin as number) } : r),
    );
    const mended = complaintOf(runExample("reed-punt", withFound({ table })));
    expect(mended.causes.filter((c) => c.trouble === "bounces-at-an-end")).toEqual([]);
    expect(published(mended.says)).toMatch(/^The bounce at an end does not show/);
  });
});

describe("lamp in a corner", () => {
  test("no light was a true one: the tank never held less than the warning", () => {
    const truth = truthOf("heath-dasher");
    expect(truth.drive.toContents_L).toBeGreaterThan(
      complaintOf(runs["heath-dasher"]).causes[0]!.figures.warnAt_L as number,
    );
  });
  test("without accelerations in the log corners are not blamed", () => {
    const bare = runExample("heath-dasher", (s) => ({
      ...s,
      readings: { [s.files.drives[0]!.sha256]: { columns: { along: "", across: "" } } },
    }));
    const [first] = complaintOf(bare).causes;
    expect(first!.cause).toBe("motion");
    expect(published(first!.says)).toContain("no accelerations");
    expect(published(first!.remedy)).toContain("log the acceleration across");
  });
  test("a warning far below the level never lights falsely", () => {
    const low = complaintOf(runExample("heath-dasher", withFound({ warnAt: 0.5 })));
    expect(low.causes.filter((c) => c.trouble === "lamp-in-a-corner")).toEqual([]);
    expect(published(low.says)).toMatch(
      /^The lamp that comes on in corners does not show in what you brought: in 15\smin it never comes on /,
    );
    expect(published(low.remedy!)).toBe("Bring a log of a drive on which it happens.");
  });
});

describe("wrong in the middle", () => {
  test("the error is the true one: the found line against the tank's own curve", () => {
    const { figures } = complaintOf(runs["fell-carrier"]).causes[0]!;
    const { curve } = truthOf("fell-carrier") as { curve: { added_L: number; fillDayReading: number }[] };
    const line = (r: number) => (56 * (r - 0.46)) / (3.21 - 0.46) + 0;
    // Display base: usable, and the run began from a dry pick-up, so both bases are one.
    const worst = Math.max(...curve.map((c) => line(Math.min(3.21, Math.max(0.46, c.fillDayReading))) - c.added_L));
    expect(Math.abs((figures.error_L as number) - worst)).toBeLessThan(0.6);
  });
  test("a table that is wrong at its ends too is called another one's", () => {
    const table = [
      { reading_V: 0.46, volume_L: 12 },
      { reading_V: 3.21, volume_L: 70 },
    ];
    expect(complaintOf(runExample("fell-carrier", withFound({ table }))).causes[0]!.cause).toBe("other-table");
  });
  test("without a fill run it cannot be proved, and that is what is missing", () => {
    const none = complaintOf(runExample("fell-carrier", (s) => ({ ...s, files: { ...s.files, fills: [] } })));
    expect(published(none.says)).toMatch(/^Whether the middle is wrong cannot be told: without a fill run/);
    expect(published(none.remedy!)).toContain("Bring a fill run");
  });
});

test("where nobody complains and there is a fill run, the head speaks of the settings", () => {
  const calm = runExample("fell-carrier", (s) => ({ ...s, job: { ...s.job, complaint: null } }));
  expect(textOf(headOf(calm.answers).verdict)).not.toContain("two rows");
  expect(complaintOf(calm).causes[0]!.cause).toBe("straight-line");
});
