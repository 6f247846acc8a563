/** Sentences that read alone: nothing twice, no digits that nobody knows, no claim that the figure beside it contradicts. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import { lowFuelFigure } from "../../../src/pipeline/figures/low-fuel";
import { suspectStepsFigure } from "../../../src/pipeline/figures/suspect-steps";
import { type JobInput, resolveJob } from "../../../src/pipeline/job";
import { summaryLines } from "../../../src/pipeline/summary";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
import { driveLogFinding } from "../../../src/pipeline/words/drive-log";
import { allSaid } from "../../../src/pipeline/words/finding";
import { headOf } from "../../../src/pipeline/words/head";
import { jobFinding } from "../../../src/pipeline/words/job";
import { litresSet } from "../../../src/pipeline/words/quantity";
import { rangeLeftFinding, rangeLeftWorking } from "../../../src/pipeline/words/range-left";
import { suspectStepsFinding } from "../../../src/pipeline/words/suspect-steps";
import { verdictFinding } from "../../../src/pipeline/words/verdict";
import { runExample } from "../example-run";

const plain = (text: string) => text.replaceAll("\u00a0", " ");
const runs = {
  "fell-carrier": runExample("fell-carrier"),
  "fen-skiff": runExample("fen-skiff"),
  "reed-punt": runExample("reed-punt"),
};
const lines = (name: keyof typeof runs) => summaryLines(runs[name].answers);

describe("what could still hide", () => {
  const suspects = valueIn(runs["fell-carrier"].answers.suspectSteps)!;
  const { smallestDetectable_L, steps } = suspects.runs[0]!;

  test("counts the steps where no size is sure to show, and says what would look the same", () => {
    const text = plain(textOf(allSaid(suspectStepsFinding(suspects))));
    const [, upTo, at, of] = text.match(
      /A pour that is wrong by up to (\S+) L could still go unseen at (\d+) of (\d+) steps, and at the other \d+ a pour that is wrong by any amount: a tank that bends there would look the same\.$/,
    )!;
    const told = smallestDetectable_L.filter((v) => v !== null);
    expect(Number(upTo)).toBeCloseTo(Math.max(...told), 1);
    expect(Number(at)).toBe(told.length);
    expect(Number(of)).toBeGreaterThan(told.length);
    expect(Number(of)).toBeLessThan(steps.length);
  });

  test("why the bars of the figure are smaller stands beside it: the curve goes through these very steps", () => {
    expect(plain(textOf(suspectStepsFinding(suspects).condition))).toContain(
      "the curve under them gives way to a wrong pour",
    );
    const figure = suspectStepsFigure(suspects, valueIn(runs["fell-carrier"].answers.curve)!)!;
    expect(figure.key.map((k) => k.text)).toContain(
      "as the curve through these steps saw it, 95 % by the scatter about it",
    );
  });
});

describe("digits", () => {
  test.each([
    [7.1584, "7.2 L"],
    [6, "6 L"],
    [13.2489, "13.2 L"],
    [0.43, "0.43 L"],
  ])("a set %f L reads %s", (value, text) => {
    expect(plain(litresSet(null, value).text)).toBe(text);
  });

  test("where a log begins and ends is told to a tenth of a litre", () => {
    for (const name of ["fell-carrier", "fen-skiff"] as const)
      expect(lines(name).find((l) => l.startsWith("drive log"))).toMatch(/goes from \d+\.\d L to \d+\.\d L, a burn of/);
  });

  test("a burn that its own scatter hides is called so", () => {
    const logs = valueIn(runs["reed-punt"].answers.driveLog)!;
    expect(plain(textOf(driveLogFinding(logs).sentence))).toContain("and no burn can be told from the scatter (");
  });
});

describe("the command line", () => {
  test("says nothing under a leaf that its sentence says, but what to do about it, once", () => {
    const all = lines("fen-skiff");
    const at = all.findIndex((l) => l.startsWith("odd steps"));
    expect(all[at + 1]!.trim()).toBe("! Confirm it or take it back, after a look at the sheet or the receipt.");
    expect(all[at + 2]).toMatch(/^drive log/);
  });

  test("leaves that wait name what they wait for, and only the one that wants something asks for it", () => {
    const all = lines("reed-punt");
    expect(all.filter((l) => l.includes("There is no fill run yet."))).toHaveLength(1);
    expect(all.find((l) => l.startsWith("table"))).toMatch(/Waits for the fill run\.$/);
  });
});

test("a sender with its own converter is told of once", () => {
  const leaf = allFindings(runs["fen-skiff"].answers).find((l) => l.name === "circuit")!;
  expect(textOf(leaf.finding!.sentence)).toContain("its own converter");
  expect(leaf.finding!.says).toContain("circuit/converter");
});

test("a verdict that is open and more likely bad says so", () => {
  const verdict = valueIn(runs["fell-carrier"].answers.verdict)!;
  const says = (probability: number) => plain(textOf(verdictFinding({ ...verdict, probability }).sentence));
  expect(says(0.14)).toMatch(/^It cannot be said yet, but more likely it does not conform: with a chance of 14 %/);
  expect(says(0.85)).toMatch(/^It cannot be said yet: with a chance of 85 %/);
  // None of the draws, or all of them, is no certainty.
  expect(says(0)).toContain("with a chance of less than 0.1 % the shown volume");
  expect(says(1)).toContain("with a chance of more than 99.9 % the shown volume");
});

test("a verdict that is open says what could be promised as it is", () => {
  const verdict = valueIn(runs["fell-carrier"].answers.verdict)!;
  const further = (decision: typeof verdict.decision) =>
    plain(textOf(verdictFinding({ ...verdict, decision, largestUpper_L: 1.84 }).further ?? []));
  expect(further("cannot-be-said")).toMatch(/^As it is, ± 1\.8 L could be promised \(95 %\)\./);
  expect(further("conforms")).toBe("");
});

test("a job that states nothing says so in one breath, and what it states is written as it was typed", () => {
  const said = (input: JobInput) => {
    const job = resolveJob(input);
    if (job.state !== "ready") throw new Error("should be ready");
    return plain(textOf(jobFinding(job.value).sentence));
  };
  expect(said({})).toBe(
    "What the tank holds is not stated yet, nor how good the gauge must be: within 2 % of the tank is taken.",
  );
  expect(said({ tank: { capacity_L: 64 }, targets: { tolerance_L: 1.25 }, sender: { kind: "float-arm" } })).toBe(
    "64 L in all, a float arm; the gauge must be right within ± 1.25 L.",
  );
});

test("every litre between the reserve and the light is drawn with its reason", () => {
  for (const { answers } of Object.values(runs)) {
    const low = valueIn(answers.lowFuel);
    if (!low) continue;
    const gaps = lowFuelFigure(low)!.panels[0]!.marks.filter((m) => m.kind === "gap-x");
    gaps.forEach((gap, i) => {
      expect(gap.from).toBeCloseTo(i === 0 ? 0 : gaps[i - 1]!.to, 9);
    });
    expect(Math.abs(gaps.at(-1)!.to - low.warnAtUsable_L)).toBeLessThanOrEqual(0.005);
  }
  expect(Object.values(runs).some(({ answers }) => valueIn(answers.lowFuel))).toBe(true);
});

test("the head says so too", () => {
  const { answers } = runs["fell-carrier"];
  if (answers.verdict.state !== "ready" || answers.complaint.state !== "ready") throw new Error("should be ready");
  const verdict = { ...answers.verdict, value: { ...answers.verdict.value, probability: 0.14 } };
  const said = plain(textOf(headOf({ ...answers, verdict, complaint: { ...answers.complaint, value: null } }).verdict));
  expect(said).toMatch(/^Whether it is good enough cannot be said yet, but more likely it is not: right within ±/);
});

describe("range left", () => {
  test("sentence and working speak one unit: minutes where the hours are few", () => {
    const range = valueIn(runs["fen-skiff"].answers.range)!;
    expect(plain(textOf(rangeLeftFinding(range).sentence))).toMatch(/When the light comes on, \d+ min is likely/);
    const working = rangeLeftWorking(range).map((l) => plain(textOf(l.figures)));
    expect(working[0]).toMatch(/^\d+ min to \d+ min$/);
    expect(working.some((w) => / h\b/.test(w))).toBe(false);
  });

  test("laps are many", () => {
    const range = { ...valueIn(runs["fen-skiff"].answers.range)!, unit: "lap" as const };
    expect(plain(textOf(rangeLeftFinding(range).sentence))).toContain(" laps are likely");
  });
});
