import { describe, expect, test } from "vitest";
import { textOf } from "../../src/pipeline/words/all";
import { driveLogFinding } from "../../src/pipeline/words/drive-log";
import { codeOf, driveText, log } from "./driven-log";

describe("said, because the answer depends on it", () => {
  test("a few rows back in time are a note, a clock set back makes the log doubtful", () => {
    expect(log(driveText({ cells: (i, t, v) => [i % 4000 === 3999 ? t - 5 : t, v] })).cautions).toEqual([
      "drive-log/backwards note",
    ]);
    expect(log(driveText({ cells: (_i, t, v) => [t > 300 ? t - 300 : t, v] })).cautions).toEqual([
      "drive-log/backwards doubtful",
    ]);
  });

  test("thousandths without a unit are taken as millivolts", () => {
    const found = log(driveText({ header: "time_s,sender", cells: (_i, t, v) => [t, 1000 * v] }));
    expect(found.cautions).toEqual(["drive-log/converted note"]);
    expect(found.log.from_L).toBeCloseTo(log(driveText()).log.from_L, 1);
  });

  test("readings past the last step are a tank that was fuller than the run; far past it, or past the empty end, another circuit", () => {
    // The curve ends at 4 V.
    const codesAt = (middle: number) => log(driveText({ cells: (_i, t, v) => [t, middle + v - 2.5] })).cautions;
    expect(codesAt(4.25)).toContain("drive-log/fuller doubtful");
    expect(codesAt(4.25)).not.toContain("drive-log/outside doubtful");
    expect(codesAt(5.5)).toContain("drive-log/outside doubtful");
    expect(codesAt(0.2)).toContain("drive-log/outside doubtful");
    expect(codesAt(0.2)).not.toContain("drive-log/fuller doubtful");
  });

  test("a level that rises all the way is doubted", () => {
    expect(log(driveText({ burn: -1 })).cautions).toEqual(["drive-log/rising doubtful"]);
  });
});

describe("cannot be used", () => {
  test.each([
    ["a reading that never moves", "drive-log/constant", driveText({ cells: (_i, t) => [t, 2.5] })],
    ["five seconds", "drive-log/too-short", driveText({ rows: 100 })],
    ["another unit that nothing converts", "drive-log/unit", driveText({ header: "time_s,sender_ohm" })],
    [
      "no time",
      "drive-log/no-time",
      driveText()
        .split("\n")
        .map((line) => line.split(",")[1])
        .join("\n"),
    ],
  ])("%s: %s", (_what, code, text) => {
    expect(codeOf(text)).toBe(code);
  });
});

describe("what a log does not show is said", () => {
  test("the burn stands within its ± of the true one, and a longer log knows it better", () => {
    const burnOf = (rows: number) => log(driveText({ rows })).log;
    const [short, long] = [burnOf(4000), burnOf(24_000)];
    for (const l of [short, long])
      expect(Math.abs(l.burn_L_per_h - 10.286)).toBeLessThan(2.6 * l.burnStandard_L_per_h!);
    expect(long.burnStandard_L_per_h!).toBeLessThan(0.5 * short.burnStandard_L_per_h!);
  });

  test("a vehicle that stands all the time is no drive", () => {
    const standing = driveText({ header: "time_s,sender_V,speed_kmh" })
      .split("\n")
      .map((l, i) => (i === 0 ? l : `${l},0`))
      .join("\n");
    expect(log(standing).cautions).toContain("drive-log/parked doubtful");
  });

  test("a tank that is filled and drained all the time has no burn to judge by", () => {
    const pumped = driveText({ cells: (_, t, v) => [t, v + 0.9 * Math.sin(t / 70)] });
    expect(log(pumped).cautions).toContain("drive-log/no-trend doubtful");
  });

  test("rows that stand at an end of the sender are told, since the level may lie beyond", () => {
    const full = driveText({ cells: (_, t, v) => [t, Math.min(4, v + 1.55)] });
    expect(log(full).cautions).toContain("drive-log/at-end note");
    // What is burnt beyond the end no reading shows.
    expect(log(full).log.burnIsLeast).toBe(true);
    expect(log(full).log.burn_L_per_h).toBeLessThan(10.286);
    expect(textOf(driveLogFinding([log(full).log]).sentence)).toMatch(/a burn of .+L\/h or more/);
    expect(log(driveText()).log.burnIsLeast).toBe(false);
  });

  test("zeros before the first answer are counted, and neither trend nor readings hold them", () => {
    const found = log(driveText({ cells: (i, t, v) => [t, i < 5 ? 0 : v] })).log;
    expect(found.counts.notYetAnswered).toBe(5);
    expect([...found.columns.reading.slice(0, 6)].map(Number.isNaN)).toEqual([true, true, true, true, true, false]);
    expect(Math.abs(found.from_L - log(driveText()).log.from_L)).toBeLessThan(0.05);
  });
});
