/** What is said of a display that never turns round, of logs of which none is worse, of a tilt that no figure tells, and at fields of one's own. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import { textOf } from "../../../src/pipeline/words/all";
import { displayFinding, slowerThanNeeded } from "../../../src/pipeline/words/display";
import { driveLogFinding } from "../../../src/pipeline/words/drive-log";
import { noiseFinding } from "../../../src/pipeline/words/noise";
import {
  refuseMargin,
  refusePartEnd,
  refusePartStart,
  refuseRows,
  refuseSmoothing,
  refuseWarning,
  takenAs,
  warningTakenAs,
} from "../../../src/pipeline/words/own-choice";
import { trialFinding } from "../../../src/pipeline/words/trial";
import { runExample } from "../example-run";

const { answers } = runExample("reed-punt");
const job = valueIn(answers.job)!;
const trial = valueIn(answers.trial)!;
const display = valueIn(answers.display)!;
const noise = valueIn(answers.noise)!;
const plain = (text: string) => text.replaceAll("\u00a0", " ");

describe("a display that stands still", () => {
  test("never turned round as it was found either, and no number of times stands there", () => {
    const still = { ...trial, asFound: { ...trial.asFound!, reversalsPerMinute: 0 } };
    expect(plain(textOf(trialFinding(still, job).sentence))).toContain("As found it never turned round and strayed");
    const twoPoint = { ...trial, asFound: null, twoPoint: { ...trial.twoPoint!, reversalsPerMinute: 0 } };
    expect(plain(textOf(trialFinding(twoPoint, job).sentence))).toContain("it would never turn round and stray");
    expect(plain(textOf(trialFinding(trial, job).sentence))).toMatch(/As found it turned round \S+ times a minute/);
  });

  test("on several logs alike has no worst one, and the trial's worst is told by how far it strays", () => {
    const logs = ["morning.csv", "afternoon.csv"].map((file) => ({
      ...display.byLog[0]!,
      file,
      reversalsPerMinute: 0,
    }));
    const said = plain(textOf(displayFinding({ ...display, reversalsPerMinute: 0, byLog: logs }, job).sentence));
    expect(said).toContain("That holds for each of the 2 logs.");
    expect(said).not.toContain("is the worst");
    const tried = {
      ...trial,
      byLog: logs.map((l) => ({ ...trial.byLog[0]!, file: l.file, reversalsPerMinute: 0 })),
      worstLog: 1,
    };
    expect(plain(textOf(trialFinding(tried, job).sentence))).toMatch(
      /Of the 2 logs afternoon\.csv is the worst: on it the display never turns round and strays \S+ L\.$/,
    );
  });
});

test("a tilt whose share is told is not said to be in the rest, and accelerations that were logged are not asked for", () => {
  expect(noise.whyNoTilt).not.toBeNull();
  expect(noise.split.find((p) => p.part === "tilt")!.share).toBeGreaterThan(0);
  const said = plain(textOf(noiseFinding(noise).condition));
  expect(said).toContain(`How many litres the level leans for each g cannot be told: ${noise.whyNoTilt}.`);
  expect(said).not.toContain("What tilt does is in the rest");
  const none = {
    ...noise,
    whyNoTilt: null,
    split: noise.split.map((p) => (p.part === "tilt" ? { ...p, share: 0 } : p)),
  };
  expect(plain(textOf(noiseFinding(none).condition))).toContain("in the rest: only logged accelerations tell it");
});

describe("a number of one's own", () => {
  test("that no table, device or tank can have is refused with its reason", () => {
    for (const rows of [2.5, 1, 0, -3]) expect(refuseRows(rows)).toContain("two rows or more");
    expect(refuseRows(2)).toBeNull();
    expect(refuseSmoothing(-3)).not.toBeNull();
    expect(refuseSmoothing(0)).toBeNull();
    expect(plain(refuseMargin(2.41, "V")(1.3)!)).toBe("The sender travels 2.41 V: a margin stays under half of that.");
    expect(refuseMargin(2.41, "V")(-2)).not.toBeNull();
    expect(refuseMargin(2.41, "V")(-0.05)).toBeNull();
    expect(refuseWarning(62.8, "L")(-2)).not.toBeNull();
    expect(plain(refuseWarning(62.8, "L")(100)!)).toContain("The tank holds 62.8 L usable");
    expect(refuseWarning(null, "L")(100)).toBeNull();
    expect(refuseWarning(62.8, "L")(6)).toBeNull();
  });

  test("a part of a log begins in it and ends after its beginning", () => {
    expect(refusePartStart(null, 30)(-1)).toContain("begins at 0");
    expect(plain(refusePartStart(null, 30)(99)!)).toBe("The log lasts 30 min: a part begins before that.");
    expect(plain(refusePartStart(4, 30)(5)!)).toBe("The part ends at 4 min: it begins before that.");
    expect(refusePartStart(20, 30)(5)).toBeNull();
    expect(plain(refusePartEnd(5)(4)!)).toBe("The part begins at 5 min: it ends after that.");
    expect(refusePartEnd(0)(4)).toBeNull();
  });

  test("that the device rounds is said beside the field with what counts", () => {
    expect(plain(takenAs(7.3, 7.5, "s")!)).toBe(
      "The device has no 7.3 s: the nearest that it takes is 7.5 s, and that counts.",
    );
    expect(takenAs(7.5, 7.5, "s")).toBeNull();
    expect(takenAs(null, 38, "s")).toBeNull();
    expect(warningTakenAs(6.4, 7, "7 L")).toBe("The device has no step there: it is typed as 7 L, rounded up.");
    expect(warningTakenAs(7, 7, "7 L")).toBeNull();
    expect(warningTakenAs(null, 7, "7 L")).toBeNull();
  });
});

test("a smoothing longer than its deadband needs is told why, unless quicker ones were not weighed", () => {
  const { recommended } = display;
  const options = display.options.map((o) => ({
    ...o,
    timeConstant_s: o.deadband_L === recommended.deadband_L ? recommended.timeConstant_s / 4 : o.timeConstant_s,
  }));
  const why = plain(slowerThanNeeded({ ...display, options }, [])!);
  expect(why).toContain(`${recommended.timeConstant_s / 4} s would just be steady enough`);
  expect(why).toContain(`${recommended.timeConstant_s} s is recommended`);
  expect(slowerThanNeeded({ ...display, options }, [{ code: "display/motion-unseen", says: "" }])).toBeNull();
  const needed = options.map((o) => ({ ...o, timeConstant_s: recommended.timeConstant_s }));
  expect(slowerThanNeeded({ ...display, options: needed }, [])).toBeNull();
});

test("a part that ends before its log does says where it ends", () => {
  const [log] = valueIn(answers.driveLog)!;
  const said = (startsAt_s: number, duration_s: number) =>
    plain(textOf(driveLogFinding([{ ...log!, whole_s: 1800, startsAt_s, duration_s }]).sentence));
  expect(said(300, 900)).toMatch(/^drive\.csv, from 5\.0 min to 20 min, of its 30 min: in 15 min/);
  expect(said(0, 1200)).toMatch(/^drive\.csv, up to 20 min, of its 30 min: in 20 min/);
  expect(said(300, 1500)).toMatch(/^drive\.csv, from 5\.0 min on, of its 30 min: in 25 min/);
  expect(said(0, 1800)).toMatch(/^drive\.csv: in 30 min/);
});
