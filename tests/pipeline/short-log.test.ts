/** A log that is too short to tell what holds the display still: said so, with the length that would. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { secondsToTell, tooShortForRates, tooShortToTell } from "../../src/pipeline/display-weigh";
import { displayFigure } from "../../src/pipeline/figures/display";
import { driveLogFigure } from "../../src/pipeline/figures/drive-log";
import { measuredBurns, tooShortForBurn } from "../../src/pipeline/measured-burn";
import { allFindings, textOf } from "../../src/pipeline/words/all";
import { displayFinding } from "../../src/pipeline/words/display";
import { allSaid } from "../../src/pipeline/words/finding";
import { headOf } from "../../src/pipeline/words/head";
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
  // A stricter wish than the usual one asks for ten minutes of the display; what five minutes say of the ends still holds.
  expect(tooShortToTell([log("a.csv", 5)], 0.3)).toMatchObject({ needed_s: 600 });
  expect(tooShortForRates([log("a.csv", 5)])).toBeNull();
  // Beside a long log a short one takes nothing from a rate, and two short ones make one.
  expect(tooShortToTell([log("a.csv", 20), log("b.csv", 1)], 2)).toMatchObject({ file: "b.csv" });
  expect(tooShortForRates([log("a.csv", 20), log("b.csv", 1)])).toBeNull();
  expect(tooShortForRates([log("a.csv", 1), log("b.csv", 0.75)])).toBeNull();
  expect(tooShortForRates([])).toBeNull();
  expect(tooShortForRates([log("a.csv", 1)])).toEqual({ file: "a.csv", driven_s: 60, needed_s: 90 });
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
    // No setting is proposed, and nothing drawn, where the log cannot tell one from another.
    const all = plain(textOf([...displayFinding(display, job).sentence, ...displayFinding(display, job).condition]));
    expect(/[Ss]mooth with|reversals a minute \(95|deadband/.test(all)).toBe(seconds >= 90);
    expect(textOf(displayFinding(display, job).short)).toMatch(seconds < 90 ? /^log too short$/ : /s$/);
    expect(displayFigure(display, job) === null).toBe(seconds < 90);
    if (seconds < 90) expect(sentence).toContain("90 s without a turn would just show it, and ten minutes are better");
  });

  test(`ends, burn and false alarms are ${seconds < 90 ? "said to be beyond such a log, and no rate of it is told" : "told"}`, () => {
    const short = seconds < 90;
    const said = (name: string) => {
      const { finding } = allFindings(answers).find((l) => l.name === name)!;
      return plain(textOf([...allSaid(finding!), " ", ...finding!.condition, " ", ...finding!.short]));
    };
    expect(said("ends").includes("too short to tell how often the end digits flicker")).toBe(short);
    expect(/times an hour|end digit flickers/.test(said("ends"))).toBe(!short);
    expect(answers.ends.state === "ready" && answers.ends.cautions.some((c) => c.code === "ends/too-short")).toBe(
      short,
    );
    expect(said("drive-log").includes("too short to tell a burn")).toBe(short);
    expect(/± [\d.]+ L\/h/.test(said("drive-log"))).toBe(!short);
    expect(said("low-fuel").includes("too short to tell how often it would light too early")).toBe(short);
    if (short) expect(measuredBurns(valueIn(answers.driveLog)!, job)).toEqual([]);
    expect(answers.trial.state === "ready" && answers.trial.cautions.some((c) => c.code === "trial/too-short")).toBe(
      short,
    );
    expect(said("trial")).toMatch(seconds < 120 ? `Replay of ${seconds} s ` : "Replay of 2 min ");
    if (seconds < 60) expect(said("noise")).toMatch(/^The fuel sloshes|it takes a minute/);
    const drive = driveLogFigure(valueIn(answers.driveLog)![0]!)!;
    expect(drive.x.unit).toBe(seconds > 120 ? "min" : "s");
    expect(drive.panels[0]!.series.map((s) => s.name)).toEqual(
      short ? ["lowest to highest"] : ["lowest to highest", "burn trend"],
    );
    expect(`${drive.finding} ${drive.key.map((k) => k.text)}`.includes("burn trend")).toBe(!short);
    expect(drive.table.columns.includes("trend, L")).toBe(!short);
    expect(plain(drive.finding)).toMatch(
      short ? /^The volume swings; the log is too short/ : /^The volume swings about a trend/,
    );
    const doubts =
      headOf(answers)
        .rows.find((r) => r.name === "Doubtful")
        ?.parts.map((p) => textOf(p.phrases)) ?? [];
    expect(doubts.filter((d) => d.includes("too short to tell what holds the display")).length).toBe(short ? 1 : 0);
    // What is published stays: a script may look at it with its own eyes.
    expect(valueIn(answers.ends)!.empty.flickersPerHour).toBeGreaterThanOrEqual(0);
  });
});

test("what was chosen by hand is said on a short log too, as the choice that it is", () => {
  const { answers } = runExample("moor-runner", (s) => ({
    ...s,
    choices: {
      ...s.choices,
      display: { timeConstant_s: 12, deadband_L: 0.3 },
      driveParts: { [s.files.drives[0]!.sha256]: { from_s: 300, to_s: 360 } },
    },
  }));
  const { sentence, short } = displayFinding(valueIn(answers.display)!, valueIn(answers.job)!);
  expect(plain(textOf(sentence))).toMatch(/What you chose stands: 12(\.0)? s and a deadband of ± 0\.30? L\.$/);
  expect(plain(textOf(short))).toMatch(/^12(\.0)? s$/);
});

test("a stricter wish of the display asks for a longer log, and not for a longer one to tell a burn; a logged flow is a burn at any length", () => {
  expect(tooShortForBurn({ duration_s: 89, burnStandard_L_per_h: 1 })).toBe(true);
  expect(tooShortForBurn({ duration_s: 91, burnStandard_L_per_h: 1 })).toBe(false);
  expect(tooShortForBurn({ duration_s: 10, burnStandard_L_per_h: null })).toBe(false);
});
