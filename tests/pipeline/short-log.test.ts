/** A log that is too short to tell what holds the display still: said so, with the length that would. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { secondsToTell, tooShortToTell } from "../../src/pipeline/display-weigh";
import { textOf } from "../../src/pipeline/words/all";
import { displayFinding } from "../../src/pipeline/words/display";
import { trialFinding } from "../../src/pipeline/words/trial";
import { runExample } from "./example-run";

const log = (file: string, minutes: number) => ({ file, minutes, parkedMinutes: 0, reversalsPerMinute: 0 });
const plain = (text: string) => text.replaceAll("\u00a0", " ");

test("a rate is shown by three over it in minutes without a turn; the shortest log decides, and no turn at all is shown by none", () => {
  expect(secondsToTell(2)).toBe(90);
  expect(secondsToTell(0)).toBeNull();
  expect(tooShortToTell([log("a.csv", 10), log("b.csv", 1.4)], 2)).toEqual({
    file: "b.csv",
    driven_s: 84,
    needed_s: 90,
  });
  expect(tooShortToTell([log("a.csv", 10), log("b.csv", 1.6)], 2)).toBeNull();
  expect(tooShortToTell([log("a.csv", 1)], 0)).toBeNull();
});

describe.each([10, 30, 60, 120])("%s s of a log", (seconds) => {
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, targets: { ...s.job.targets, displayReversalsPerMinute: 2 } },
    choices: {
      ...s.choices,
      driveParts: { [s.files.drives[0]!.sha256]: { from_s: 300, to_s: 300 + seconds } },
    },
  }));
  const display = valueIn(answers.display)!;
  const job = valueIn(answers.job)!;
  const sentence = plain(textOf(displayFinding(display, job).sentence));
  const replayed = plain(textOf(trialFinding(valueIn(answers.trial)!, job).sentence));
  const codes = answers.display.state === "ready" ? answers.display.cautions.map((c) => c.code) : [];

  test(seconds < 90 ? "is too short to tell two turns a minute" : "is enough to tell two turns a minute", () => {
    expect(sentence.startsWith("The log is too short to tell what holds the display to 2 reversals a minute")).toBe(
      seconds < 90,
    );
    expect(sentence).not.toContain("Nothing in the device’s range");
    expect(replayed.startsWith("The log is too short to tell whether the display stands still")).toBe(seconds < 90);
    expect(codes.includes("display/too-short")).toBe(seconds < 90);
    expect(codes.includes("display/short-log")).toBe(seconds >= 90);
    expect(display.met).toBe(seconds >= 90);
    if (seconds < 90) expect(sentence).toContain("90 s without a turn would just show it, and ten minutes are better");
  });
});
