/** Motion by level and its parts, on logs of a tank that opens upwards: `v = 2.4 r²`, so that a volt is `4.8 r` litres. */

import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { noiseByLevelFigure } from "../../src/pipeline/figures/noise";
import { resolveJob } from "../../src/pipeline/job";
import { readRecording } from "../../src/pipeline/recording";
import { textOf } from "../../src/pipeline/words/all";
import { noiseFinding, noiseWorking } from "../../src/pipeline/words/noise";
import { published } from "../../src/said";
import { noiseOf, readLogs } from "./driven-log";

const curve = {
  readingUnit: "V" as const,
  grid: Array.from({ length: 201 }, (_, i) => ({ reading: 0.025 * i, volume_L: 2.4 * (0.025 * i) ** 2 })),
};
const job = (() => {
  const answer = resolveJob({ tank: { capacity_L: 60 } });
  if (answer.state !== "ready") throw new Error("the test's own job is wrong");
  return answer.value;
})();
const rate_Hz = 20;

/** Ten minutes from one volume to another; what is put on the reading, and the sideways acceleration beside it. */
function drive(name: string, from_L: number, to_L: number, on: (t: number) => { volts: number; across?: number }) {
  const n = 600 * rate_Hz;
  const rows = Array.from({ length: n }, (_, i) => {
    const { volts, across } = on(i / rate_Hz);
    const v = Math.sqrt((from_L + ((to_L - from_L) * i) / n) / 2.4) + volts;
    return `${(i / rate_Hz).toFixed(2)},${v.toFixed(5)},${(across ?? 0).toFixed(4)}`;
  });
  const bytes = new TextEncoder().encode(`time s,sender V,across g\n${rows.join("\n")}\n`);
  const recording = readRecording({ name, kind: "drive", bytes, sha256: name }, null);
  if (recording.state !== "ready") throw new Error(`the test's own file is unreadable: ${recording.state}`);
  return recording.value;
}
function noise(...drives: ReturnType<typeof drive>[]) {
  const logs = readLogs(drives, curve, null, job);
  if (logs.state !== "ready") throw new Error(`not ready: ${JSON.stringify(logs)}`);
  const answer = noiseOf(logs.value, curve, job);
  if (answer.state !== "ready") throw new Error(`not ready: ${JSON.stringify(answer)}`);
  return answer.value;
}

describe("motion at each level", () => {
  test("all that is said of one log in litres goes together, where the curve bends under the motion and where it ends", () => {
    const random = createRandom(5);
    // Down to 1 L, with swings of a volt: under the lowest reading the curve has nothing more to give.
    const found = noise(drive("low.csv", 20, 1, () => ({ volts: 0.35 * random.normal() })));
    const levels = found.byLevel;
    const seconds = levels.reduce((sum, l) => sum + l.seconds, 0);
    const together = Math.sqrt(levels.reduce((sum, l) => sum + l.seconds * l.sd_L ** 2, 0) / seconds);
    expect(found.totalSd_L / together).toBeGreaterThan(0.97);
    expect(found.totalSd_L / together).toBeLessThan(1.03);
    const parts = Math.sqrt(found.split.reduce((sum, p) => sum + p.sd_L ** 2, 0));
    expect(parts / found.totalSd_L).toBeCloseTo(1, 6);
  });

  test("the same volts are more litres where the tank is wide, over all logs, and the interval holds the truth", () => {
    const random = createRandom(3);
    const shaking = () => ({ volts: 0.04 * random.normal() });
    const found = noise(drive("low.csv", 14, 8, shaking), drive("high.csv", 50, 38, shaking));
    expect(found.byLevel.length).toBeGreaterThanOrEqual(3);
    for (const level of found.byLevel) {
      expect(level.sd / 0.04).toBeCloseTo(1, 1);
      // Over the part of the level that was driven: 4.8 r at its middle.
      const driven = [
        Math.max(level.from_L, level.from_L < 20 ? 8 : 38),
        Math.min(level.to_L, level.to_L < 20 ? 14 : 50),
      ];
      const truth = 4.8 * Math.sqrt((driven[0]! + driven[1]!) / 2 / 2.4) * 0.04;
      expect(Math.abs(level.sd_L / truth - 1)).toBeLessThan(0.05);
      expect(Math.abs(level.sd_L - truth)).toBeLessThan(4 * level.sdStandard_L!);
    }
    // Nobody drove between 14 and 38 L.
    expect(found.byLevel.some((l) => l.from_L >= 16.5 && l.to_L <= 38)).toBe(false);
    expect(found.byLevel[found.byLevel.length - 1]!.sd_L / found.byLevel[0]!.sd_L).toBeGreaterThan(1.8);
    const figure = noiseByLevelFigure(found, "V")!;
    expect(figure.table.rows.length).toBe(found.byLevel.length);
    const words = noiseWorking(found, "V")
      .filter((l) => l.what === "Motion at a level")
      .map((l) => textOf(l.figures));
    expect(words.length).toBe(found.byLevel.length);
    expect(words[0]).toMatch(/^from 8\.0 to \d+\.\d\sL: 0\.0\d+\sV, 0\.4\d*\s±\s0\.0\d+\sL$/);
  });

  test("one level has no figure, nor have levels at which it moves alike: that is said instead", () => {
    const random = createRandom(4);
    // A volt is nearly as many litres at 30 as at 37 L, within what is known of it.
    const alike = noise(drive("d.csv", 37, 30, () => ({ volts: 0.02 * random.normal() })));
    const equal = { ...alike, byLevel: alike.byLevel.map((l) => ({ ...l, sd_L: 0.8, sdStandard_L: 0.05 })) };
    expect(equal.byLevel).toHaveLength(2);
    expect(noiseByLevelFigure(equal, "V")).toBeNull();
    expect(textOf(noiseFinding(equal).condition)).toContain("moves alike at all levels");
    expect(
      noiseByLevelFigure(noise(drive("d.csv", 21, 20, () => ({ volts: 0.02 * random.normal() }))), "V"),
    ).toBeNull();
  });
});

describe("what the motion is made of", () => {
  test("slosh, tilt, floor and the rest, each with what was put in; together they are all of it", () => {
    const random = createRandom(5);
    const found = noise(
      drive("d.csv", 30, 29.5, (t) => {
        const across = 0.3 * Math.sin((2 * Math.PI * t) / 50);
        const slosh = 0.06 * Math.sin(2 * Math.PI * 0.9 * t + 1.5 * Math.sin(0.11 * t));
        return { across, volts: slosh + 0.2 * across + 0.01 * random.normal() };
      }),
    );
    const variances = { slosh: 0.06 ** 2 / 2, tilt: (0.2 * 0.3) ** 2 / 2, floor: 0.01 ** 2 };
    const whole = variances.slosh + variances.tilt + variances.floor;
    const share = (part: string) => found.split.find((p) => p.part === part)!.share;
    for (const part of ["slosh", "tilt", "floor"] as const)
      expect(Math.abs(share(part) - variances[part] / whole)).toBeLessThan(0.04);
    expect(found.split.reduce((s, p) => s + p.share, 0)).toBeCloseTo(1, 9);
    expect(share("rest")).toBeLessThan(0.08);
    // The log never leaves one level: a volt is 4.8 r litres.
    const tilt = found.split.find((p) => p.part === "tilt")!;
    expect(tilt.sd_L / tilt.sd).toBeCloseTo(4.8 * Math.sqrt(29.75 / 2.4), 0);
    expect(textOf(noiseFinding(found).condition)).toMatch(
      /add up, slosh is \d+\s%, tilt \d+\s%, noise of wiring and digits \d/,
    );
  });

  test("what could not be told apart is no nought: without accelerations no share of tilt is printed, without a peak none of slosh", () => {
    const random = createRandom(8);
    const said = (volts: (t: number) => number) =>
      textOf(noiseFinding(noise(drive("d.csv", 30, 29.5, (t) => ({ volts: volts(t) })))).condition);
    const sloshing = said(
      (t) => 0.06 * Math.sin(2 * Math.PI * 0.9 * t + 1.5 * Math.sin(0.11 * t)) + 0.01 * random.normal(),
    );
    expect(sloshing).toMatch(/add up, slosh is \d+\s%, noise of wiring and digits \d+\s% and the rest/);
    expect(sloshing).toContain("What tilt does is in the rest");
    expect(sloshing).not.toMatch(/tilt 0/);
    const hissing = said(() => 0.02 * random.normal());
    expect(hissing).toContain("What slosh does is in the rest");
    expect(hissing).not.toMatch(/slosh is 0/);
  });

  test("spikes stand apart, by their own size", () => {
    const random = createRandom(6);
    const found = noise(
      drive("d.csv", 30, 29, (t) => ({
        volts: 0.02 * random.normal() + (Math.round(t * rate_Hz) % 600 === 300 ? 0.9 : 0),
      })),
    );
    expect(found.spikes).toBe(20);
    // 20 of 12,000 rows, 0.9 V each.
    expect(found.spikesSd / (0.9 * Math.sqrt(20 / 12000))).toBeCloseTo(1, 1);
    expect(found.totalSd / 0.02).toBeCloseTo(1, 1);
  });
});

describe("a course that turns one way", () => {
  test("is off by so much on average, with its interval, which holds what was put in", () => {
    const random = createRandom(7);
    const found = noise(
      drive("laps.csv", 30, 29, (t) => {
        const across = 0.2 + 0.15 * Math.sin((2 * Math.PI * t) / 40);
        return { across, volts: 0.1 * across + 0.005 * random.normal() };
      }),
    );
    const truth = 0.1 * 0.2 * 4.8 * Math.sqrt(29.5 / 2.4);
    expect(Math.abs(found.turningBias_L! - truth)).toBeLessThan(1.96 * found.turningBiasStandard_L!);
    expect(found.tiltAxis).toBe("across");
    expect(found.tiltOffset_mm).toBeNull();
    expect(textOf(noiseFinding(found).sentence)).toMatch(/off by \d+\.\d+\s±\s\d+\.\d+\sL on average, and no filter/);
  });
});

describe("tilt", () => {
  test("by hand: 640 × 480 mm, 150 mm off reads 46 L a g; turned round it says 150 mm, along or across as it was driven", () => {
    const random = createRandom(8);
    // At 30 L a volt is 4.8 r = 16.97 L: 46.08 L a g are 2.715 V a g.
    const lean = 46.08 / (4.8 * Math.sqrt(30 / 2.4));
    const logs = readLogs(
      [
        drive("d.csv", 30.2, 29.8, (t) => {
          const across = 0.02 * Math.sin((2 * Math.PI * t) / 60);
          return { across, volts: lean * across + 0.003 * random.normal() };
        }),
      ],
      curve,
      null,
      job,
      {},
    );
    if (logs.state !== "ready") throw new Error("not ready");
    const boxed = { ...job, tank: { ...job.tank, length_mm: 640, width_mm: 480 } };
    const answer = noiseOf(logs.value, curve, boxed);
    if (answer.state !== "ready") throw new Error("not ready");
    expect(answer.value.tilt_L_per_g! / 46.08).toBeCloseTo(1, 1);
    expect(answer.value.tiltOffset_mm! / 150).toBeCloseTo(1, 1);
    expect(answer.value.tiltAxis).toBe("across");
    const words = noiseWorking(answer.value, "V").find((l) => published(l.what).startsWith("Tilt: litres"))!;
    expect(words.what).toContain("across the vehicle");
    expect(textOf(words.figures)).toMatch(/as of a sender 1[45]\d\smm off the middle/);
  });

  test("a tube that answers eight seconds late leans by no less: its ± holds what was put in", () => {
    const random = createRandom(9);
    let turn = 0;
    let late = 0;
    const slow = drive("d.csv", 30.2, 29.8, () => {
      const keep = Math.exp(-1 / rate_Hz / 4);
      turn = keep * turn + 0.1 * Math.sqrt(1 - keep * keep) * random.normal();
      late += (1 - Math.exp(-1 / rate_Hz / 8)) * (0.8 * turn - late);
      return { across: turn, volts: late + 0.003 * random.normal() };
    });
    const found = noise(slow);
    // 0.8 V a g, and 16.97 L a volt at 30 L.
    const truth = 0.8 * 4.8 * Math.sqrt(30 / 2.4);
    expect(Math.abs(found.tilt_L_per_g! - truth)).toBeLessThan(1.96 * found.tiltStandard_L_per_g!);
    expect(1.96 * found.tiltStandard_L_per_g!).toBeLessThan(0.15 * truth);
  });

  test("what the curve does not know of its slope is in the ±", () => {
    const random = createRandom(10);
    const logs = readLogs(
      [
        drive("d.csv", 30.2, 29.8, (t) => {
          const across = 0.05 * Math.sin((2 * Math.PI * t) / 37);
          return { across, volts: across + 0.003 * random.normal() };
        }),
      ],
      curve,
      null,
      job,
      {},
    );
    if (logs.state !== "ready") throw new Error("not ready");
    // Litres of the curve off by (reading − 3 V) times a slope that is unsure by 2 L a volt.
    const readings = [0, 1.5, 3, 4.5];
    const doubt = { readings, covariance_L2: readings.map((a) => readings.map((b) => 4 * (a - 3) * (b - 3))) };
    const sure = noiseOf(logs.value, curve, job);
    const unsure = noiseOf(logs.value, curve, job, doubt);
    if (sure.state !== "ready" || unsure.state !== "ready") throw new Error("not ready");
    const added = Math.sqrt(unsure.value.tiltStandard_L_per_g! ** 2 - sure.value.tiltStandard_L_per_g! ** 2);
    // A volt a g: 2 L a volt are 2 L a g.
    expect(added / 2).toBeCloseTo(1, 1);
  });

  test("a log that stands at the sender’s end, and one whose acceleration stands still, tell none and say why", () => {
    const random = createRandom(11);
    const lean = (t: number) => 0.1 * Math.sin((2 * Math.PI * t) / 37);
    // 60 L are the end of the curve: what leans over it is cut off.
    const atEnd = noise(
      drive("full.csv", 59.9, 59.5, (t) => ({
        across: lean(t),
        volts: Math.min(5 - Math.sqrt(59.7 / 2.4), lean(t)) + 0.003 * random.normal(),
      })),
    );
    expect(atEnd.tilt_L_per_g).toBeNull();
    const line = noiseWorking(atEnd, "V").find((l) => published(l.what).startsWith("Tilt: litres"))!;
    expect(textOf(line.figures)).toBe("cannot be told: under 6 minutes of the log stand clear of the sender’s ends");
    const still = noise(drive("d.csv", 30, 29, () => ({ volts: 0.003 * random.normal() })));
    expect(still.tilt_L_per_g).toBeNull();
    expect(still.whyNoTilt).toBe("the acceleration logged stands still");
  });
});
