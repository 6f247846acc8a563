import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import type { VolumeByReading } from "../../src/pipeline/curve-types";
import type { Job } from "../../src/pipeline/job";
import type { Trial } from "../../src/pipeline/trial";
import { textOf } from "../../src/pipeline/words/all";
import { driveLogFinding } from "../../src/pipeline/words/drive-log";
import { trialFinding } from "../../src/pipeline/words/trial";
import { codeOf, driveText, log, noise } from "./driven-log";

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

describe("a log that shows nothing of the fuel", () => {
  const noiseAlone = (i: number) => 2.5 + 0.004 * Math.sin(12.9898 * i * i);
  test("noise alone and no burn is told, without a speed too; a drive and a stand with a burn are not", () => {
    const still = log(driveText({ cells: (i, t) => [t, noiseAlone(i)] }));
    expect(still.cautions).toContain("drive-log/noise-alone doubtful");
    expect(still.log.shows).toBe("noise-alone");
    expect(log(driveText()).log.shows).toBe("motion");
    expect(log(driveText({ slosh: 0, burn: 2 })).cautions).not.toContain("drive-log/noise-alone doubtful");
  });

  test("litres of a device are no millivolts beside a curve that begins near nothing", () => {
    const grid = Array.from({ length: 41 }, (_, i) => ({
      reading: 0.3 + (2.4 * i) / 40,
      volume_L: 60 - (60 * i) / 40,
    }));
    const falling = { readingUnit: "V", sense: -1, grid } as unknown as VolumeByReading;
    const litres = driveText({ header: "time_s,fuel", cells: (_i, t, v) => [t, 25 + v] });
    const found = log(litres, { curve: falling });
    expect(found.cautions).toContain("drive-log/outside doubtful");
    expect(found.cautions.join(" ")).not.toMatch(/converted|fuller/);
    expect(found.log.shows).toBe("sender-end");
  });

  test("is not said to hold a display still", () => {
    const [trial, job] = [
      { ...stillTrial, unseen: "parked" } as unknown as Trial,
      { targets: { displayReversalsPerMinute: 2 } } as Job,
    ];
    const text = textOf(trialFinding(trial, job).sentence);
    expect(text).toMatch(
      /^Whether the display stands still on the road the log does not show, since the vehicle stands in it/,
    );
    expect(textOf(trialFinding({ ...trial, unseen: null }, job).sentence)).toMatch(/^The display stands still enough/);
  });
});

const stillTrial = {
  tooShort: null,
  reversalsPerMinute: 0,
  rmsError_L: 0.1,
  minutes: 20,
  parkedMinutes: 0,
  worstLog: 0,
  byLog: [{ file: "a.csv", minutes: 20, parkedMinutes: 0, reversalsPerMinute: 0, rmsError_L: 0.1 }],
  asFound: null,
  twoPoint: { reversalsPerMinute: 3, rmsError_L: 4 },
};

describe("accelerations", () => {
  const leaning = (header: string, of: (t: number) => number, speed: (t: number) => number = () => 50) =>
    driveText({ slosh: 0.3, header: `time_s,sender_V,${header},speed_kmh` })
      .split("\n")
      .map((l, i) => (i === 0 ? l : `${l},${of(i / 20).toFixed(4)},${speed(i / 20)}`))
      .join("\n");
  /** Corners that come as they will: a first-order course of 3 s, 0.15 g (one standard deviation). */
  const course = (() => {
    const random = createRandom(7);
    let x = 0;
    return Float64Array.from({ length: 12_000 }, () => (x += -x / 60 + 0.15 * Math.sqrt(2 / 60) * random.normal()));
  })();
  const g = (t: number) => course[Math.round(20 * t)]!;

  test("without a unit are doubted where they are large for g, and not where g is named or they are small", () => {
    const codes = (header: string, times: number) => log(leaning(header, (t) => times * g(t))).cautions;
    expect(codes("across", 9.81)).toContain("drive-log/acceleration-unit holds-if");
    expect(codes("across_ms2", 9.81).join()).not.toMatch(/acceleration-unit/);
    expect(codes("across", 1).join()).not.toMatch(/acceleration-unit/);
  });

  test("that carry gravity, or stand askew while parked already, are not told as a course that turns one way", () => {
    // The reading leans by 0.6 V per g, so that a mean would be told as litres.
    const driven = (mean: number, parked: number) => {
      const moves = (t: number) => t > 60;
      const lines = leaning(
        "across_g",
        (t) => (moves(t) ? mean + g(t) : parked),
        (t) => (moves(t) ? 50 : 0),
      ).split("\n");
      return lines
        .map((l, i) => {
          if (i === 0) return l;
          const [t, v, a, speed] = l.split(",");
          return [t, (Number(v) + 0.6 * Number(a)).toFixed(4), a, speed].join(",");
        })
        .join("\n");
    };
    const turning = noise(driven(0.3, 0));
    expect(turning.turningBias_L).not.toBeNull();
    expect(turning.whyNoTurning).toBeNull();
    for (const [mean, parked, why] of [
      [1, 1, /gravity/],
      [0.3, 0.28, /at an angle/],
    ] as const) {
      const askew = noise(driven(mean, parked));
      expect(askew.turningBias_L).toBeNull();
      expect(askew.whyNoTurning).toMatch(why);
    }
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
