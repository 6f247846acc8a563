import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import type { Curve } from "../../src/pipeline/curve-types";
import { type DriveLog, readDrive } from "../../src/pipeline/drive-log";
import { driveLogFigure } from "../../src/pipeline/figures/drive-log";
import { type Job, resolveJob } from "../../src/pipeline/job";
import { describeNoise } from "../../src/pipeline/noise";
import { readRecording } from "../../src/pipeline/recording";
import { textOf } from "../../src/pipeline/words/all";
import { driveLogFinding, driveLogWorking } from "../../src/pipeline/words/drive-log";

const slosh_Hz = 1;
const floor_V = 0.005;
/** Volts a second that the burn of this drive takes away: 10.3 L/h on the curve below. */
const burn_V_per_s = 0.1 / 600;

/** Ten minutes at 20 Hz: a driven, damped swing at 1 Hz, white noise, a steady burn. `cells` writes one row's time and reading. */
function driveText(
  options: {
    slosh?: number;
    burn?: number;
    rows?: number;
    header?: string;
    cells?: (i: number, t: number, v: number) => [number, number | ""];
  } = {},
): string {
  const { slosh = 1.5, burn = 1, rows = 12000, header = "time_s,sender_V", cells = (_i, t, v) => [t, v] } = options;
  const random = createRandom(1);
  const w = 2 * Math.PI * slosh_Hz;
  const dt = 1 / 20;
  let x = 0;
  let v = 0;
  const lines = [header];
  for (let i = 0; i < rows; i++) {
    for (let k = 0; k < 10; k++) {
      v += ((-w * w * x - 0.1 * w * v + 1.5 * w * Math.sqrt(dt) * random.normal()) * dt) / 10;
      x += (v * dt) / 10;
    }
    const value = 2.5 - burn * burn_V_per_s * i * dt + slosh * x + floor_V * random.normal();
    const [t, r] = cells(i, i * dt, value);
    lines.push(`${t.toFixed(3)},${r === "" ? "" : r.toFixed(4)}`);
  }
  return lines.join("\n");
}

/** 0.5 to 4 V are 0 to 60 L. */
const curve = (() => {
  const grid = Array.from({ length: 41 }, (_, i) => ({ reading: 0.5 + (3.5 * i) / 40, volume_L: (60 * i) / 40 }));
  return { readingUnit: "V", sense: 1, grid, overall: { emptyReading: 0.5, fullReading: 4 } } as unknown as Curve;
})();
const circuit = { faultLow: 0.2, faultHigh: 4.6 } as Parameters<typeof readDrive>[2];
const job: Job = (() => {
  const answer = resolveJob({ tank: { capacity_L: 60 } });
  if (answer.state !== "ready") throw new Error("the test's own job is wrong");
  return answer.value;
})();

function read(text: string) {
  const recording = readRecording(
    { name: "drive.csv", kind: "drive", bytes: new TextEncoder().encode(text), sha256: "0" },
    null,
  );
  if (recording.state !== "ready") throw new Error(`the test's own file is unreadable: ${recording.state}`);
  return readDrive([recording.value], curve, circuit, job, {});
}
function log(text: string): { log: DriveLog; cautions: string[] } {
  const answer = read(text);
  if (answer.state !== "ready") throw new Error(`not ready: ${JSON.stringify(answer)}`);
  return { log: answer.value[0]!, cautions: answer.cautions.map((c) => `${c.code} ${c.weight ?? ""}`.trim()) };
}
const codeOf = (text: string) => {
  const answer = read(text);
  return answer.state === "stuck" ? answer.issue.code : answer.state;
};
function noise(text: string) {
  const answer = describeNoise([log(text).log], curve, job);
  if (answer.state !== "ready") throw new Error(`not ready: ${JSON.stringify(answer)}`);
  return answer.value;
}

describe("a plain drive", () => {
  const plain = driveText();
  const read = log(plain);

  test("has its rate, its burn and no oddity", () => {
    expect(read.log.sampleRate_Hz).toBeCloseTo(20, 6);
    expect(Math.abs(read.log.burn_L_per_h / 10.286 - 1)).toBeLessThan(0.05);
    expect(read.log.counts).toMatchObject({ spikes: 0, dropouts: 0, atEnd: 0, blank: 0, backwards: 0 });
    expect(read.cautions).toEqual([]);
  });

  test("shows its slosh within 5 % and its floor within 10 %", () => {
    const found = noise(plain);
    expect(Math.abs(found.sloshFrequency_Hz! / slosh_Hz - 1)).toBeLessThan(0.05);
    expect(Math.abs(found.floorSd / floor_V - 1)).toBeLessThan(0.1);
    expect(found.sloshShare).toBeGreaterThan(0.6);
  });

  test("over turns of wire 20 mV apart, another one in nearly every sample, the floor is told within 10 %", () => {
    const random = createRandom(2);
    const wound = driveText({
      slosh: 6,
      cells: (_, t, v) => [t, 0.02 * Math.round(v / 0.02) + floor_V * random.normal()],
    });
    expect(Math.abs(noise(wound).floorSd / floor_V - 1)).toBeLessThan(0.1);
  });

  test("without slosh claims no peak, and the floor is all", () => {
    const found = noise(driveText({ slosh: 0 }));
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).not.toBeNull();
    expect(Math.abs(found.totalSd / floor_V - 1)).toBeLessThan(0.1);
  });
});

describe("where no peak may be claimed", () => {
  test("refreshed twice a second, a swing of 1.3 Hz folds to 0.7 Hz: none is claimed, with the reason", () => {
    let held = 2.5;
    const text = driveText({
      slosh: 0,
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v + 0.1 * Math.sin(2 * Math.PI * 1.3 * t);
        return [t, held];
      },
    });
    expect(log(text).log.refreshRate_Hz).toBeCloseTo(2, 6);
    const found = noise(text);
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).toContain("refreshed too slowly");
  });

  test("a tank that is stated to be so long that it sloshes slowly may show it at two readings a second", () => {
    let held = 2.5;
    const text = driveText({
      slosh: 0,
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v + 0.1 * Math.sin(2 * Math.PI * 0.5 * t);
        return [t, held];
      },
    });
    const long = { ...job, tank: { ...job.tank, length_mm: 1500, width_mm: 1200, depth_mm: 250 } };
    const answer = describeNoise([log(text).log], curve, long);
    expect(answer).toMatchObject({ state: "ready" });
    if (answer.state === "ready") expect(answer.value.sloshFrequency_Hz).toBeCloseTo(0.5, 2);
  });

  test("a sharp swing that is a hundredth of the motion is told as too little to matter", () => {
    const wander = createRandom(5);
    let slow = 0;
    const text = driveText({
      slosh: 0,
      cells: (_, t, v) => {
        slow = 0.999 * slow + 0.012 * wander.normal();
        return [t, v + slow + 0.02 * Math.sin(2 * Math.PI * 0.9 * t)];
      },
    });
    const found = noise(text);
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).toContain("too little");
    expect(found.sloshShare).toBe(0);
  });
});

describe("marked, counted and kept", () => {
  test("spikes: each of 20 is found", () => {
    const found = log(driveText({ cells: (i, t, v) => [t, i % 600 === 300 ? v + 0.8 : v] }));
    expect(found.log.counts.spikes).toBe(20);
    expect(found.log.rows).toBe(12000);
  });

  test("dropouts to the rail: five of a second each", () => {
    expect(log(driveText({ cells: (i, t, v) => [t, i % 2400 > 2380 ? 0 : v] })).log.counts.dropouts).toBe(5);
  });

  test("a float that hangs: each stretch of half a minute is found, and where the first begins", () => {
    let held = 0;
    const found = log(
      driveText({
        cells: (i, t, v) => {
          if (i % 4000 < 2000 || i % 4000 >= 2600) held = v;
          return [t, held];
        },
      }),
    );
    expect(found.log.counts.stuck).toBe(3);
    expect(found.cautions).toContain("drive-log/stuck doubtful");
  });

  test("a coarse converter, a ladder and a parked vehicle stand still without being stuck", () => {
    const coarse = (step: number, slosh: number) =>
      log(driveText({ slosh, cells: (_i, t, v) => [t, step * Math.round(v / step)] })).log.counts.stuck;
    expect(coarse(0.01, 0)).toBe(0);
    expect(coarse(0.25, 1.5)).toBe(0);
    const text = driveText({ cells: (i, t, v) => [t, i >= 4000 && i < 6000 ? 2.25 : v] }).split("\n");
    const parked = text.map((l, i) => (i === 0 ? `${l},speed_kmh` : `${l},${i > 4000 && i <= 6000 ? 0 : 40}`));
    expect(log(parked.join("\n")).log.counts.stuck).toBe(0);
  });

  test("blank cells: counted, and the floor is still right", () => {
    const text = driveText({ cells: (i, t, v) => [t, i % 50 === 7 ? "" : v] });
    expect(log(text).log.counts.blank).toBe(240);
    expect(Math.abs(noise(text).floorSd / floor_V - 1)).toBeLessThan(0.15);
  });

  test("a value held for half a second: the refresh rate is told, and no slosh peak is claimed", () => {
    let held = 2.5;
    const text = driveText({
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v;
        return [t, held];
      },
    });
    expect(log(text).log.refreshRate_Hz).toBeCloseTo(2, 6);
    expect(noise(text).sloshFrequency_Hz).toBeNull();
  });

  test("a gap is a part of its own", () => {
    const { parts } = log(driveText({ cells: (_i, t, v) => [t > 200 ? t + 100 : t, v] })).log;
    const gap = parts.find((p) => p.kind === "gap")!;
    expect(gap.from_s).toBeCloseTo(200, 0);
    expect(gap.to_s).toBeCloseTo(300, 0);
  });

  test("a refuel is found to the second, is no noise and does not cancel the burn", () => {
    const text = driveText({ cells: (_i, t, v) => [t, t > 300 ? v + 1.2 : v] });
    const found = log(text).log;
    expect(Math.abs(found.parts.find((p) => p.kind === "refuelling")!.from_s - 300)).toBeLessThan(2);
    expect(Math.abs(found.burn_L_per_h / 10.286 - 1)).toBeLessThan(0.1);
    expect(noise(text).totalSd).toBeLessThan(1.2 * noise(driveText()).totalSd);
  });

  test("a refuel at a pump takes a minute: it is found from first to last, and is no noise", () => {
    const filled = (t: number) => 1.2 * Math.min(1, Math.max(0, (t - 290) / 60));
    const text = driveText({ cells: (_i, t, v) => [t, v + filled(t)] });
    const part = log(text).log.parts.find((p) => p.kind === "refuelling")!;
    expect(Math.abs(part.from_s - 290)).toBeLessThan(4);
    expect(Math.abs(part.to_s - 350)).toBeLessThan(4);
    expect(noise(text).totalSd).toBeLessThan(1.2 * noise(driveText()).totalSd);
  });

  test("jitter of the clock shifts neither rate nor slosh", () => {
    const text = driveText({ cells: (i, t, v) => [t + 0.02 * Math.sin(7.1 * i), v] });
    expect(Math.abs(log(text).log.sampleRate_Hz / 20 - 1)).toBeLessThan(0.005);
    expect(Math.abs(noise(text).sloshFrequency_Hz! / slosh_Hz - 1)).toBeLessThan(0.05);
  });

  test("stamps of whole seconds are spread and said", () => {
    const found = log(driveText({ cells: (_i, t, v) => [Math.floor(t), v] }));
    expect(found.log.sampleRate_Hz).toBeCloseTo(20, 1);
    expect(found.cautions).toEqual(["drive-log/repeated-stamps note"]);
  });
});

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
  });

  test("zeros before the first answer are counted, and neither trend nor readings hold them", () => {
    const found = log(driveText({ cells: (i, t, v) => [t, i < 5 ? 0 : v] })).log;
    expect(found.counts.notYetAnswered).toBe(5);
    expect([...found.columns.reading.slice(0, 6)].map(Number.isNaN)).toEqual([true, true, true, true, true, false]);
    expect(Math.abs(found.from_L - log(driveText()).log.from_L)).toBeLessThan(0.05);
  });
});

describe("a part of a log", () => {
  /** The clock of this log says 1000 s at its start; it stands still from 200 to 300 s. */
  const text = driveText({ header: "time_s,sender_V,speed_kmh", cells: (_i, t, v) => [1000 + t, v] })
    .split("\n")
    .map((line, i) => (i === 0 ? line : `${line},${i / 20 >= 200 && i / 20 < 300 ? 0 : 50}`))
    .join("\n");
  const recording = readRecording(
    { name: "late.csv", kind: "drive", bytes: new TextEncoder().encode(text), sha256: "aa" },
    null,
  );
  if (recording.state !== "ready") throw new Error("the test's own file is unreadable");
  const counted = (parts: Parameters<typeof readDrive>[4]) => {
    const answer = readDrive([recording.value], curve, circuit, job, parts);
    if (answer.state !== "ready") return answer;
    return { state: answer.state, log: answer.value[0]!, says: textOf(driveLogFinding(answer.value).sentence) };
  };
  const whole = counted({});
  if (!("log" in whole)) throw new Error("not ready");

  test("stretches and figure count from the log's start, whatever its clock says there", () => {
    const kinds = whole.log.parts.map((p) => [p.kind, Math.round(p.from_s), Math.round(p.to_s)]);
    expect(kinds).toEqual([
      ["driving", 0, 200],
      ["parked", 200, 300],
      ["driving", 300, 600],
    ]);
    const figure = driveLogFigure(whole.log)!;
    const region = figure.panels[0]!.marks.find((m) => m.kind === "region");
    expect(region).toMatchObject({ text: "parked" });
    if (region?.kind === "region") expect([region.from, region.to].map((m) => m.toFixed(1))).toEqual(["3.3", "5.0"]);
    const working = driveLogWorking([whole.log]).find((l) => l.what === "Parts of late.csv")!;
    expect(textOf(working.figures)).toMatch(/^driving 8\.3\smin, parked 100\ss$/);
    expect(whole.says).toMatch(/^late\.csv: in 10\smin/);
  });

  test("a log that stands for a third of its time says over which minutes is counted, or that it moves too little for that; a sixth goes without a word", () => {
    const standing = (seconds: number, rows = 12000) =>
      log(
        driveText({ header: "time_s,sender_V,speed_kmh", rows })
          .split("\n")
          .map((line, i) => (i === 0 ? line : `${line},${i / 20 < seconds ? 0 : 50}`))
          .join("\n"),
      );
    expect(standing(100).cautions).toEqual([]);
    expect(standing(200).cautions).toEqual(["drive-log/partly-parked note"]);
    expect(standing(555).cautions).toEqual(["drive-log/parked doubtful"]);
    expect(standing(200, 4800).cautions).toContain("drive-log/partly-parked holds-if");
  });

  test("counts what lies in it, on the same time axis, and says which part of how much it is", () => {
    const part = counted({ aa: { from_s: 300, to_s: 540 } });
    if (!("log" in part)) throw new Error("not ready");
    expect(part.log.duration_s).toBeCloseTo(240, 6);
    expect([part.log.startsAt_s, part.log.whole_s]).toEqual([300, whole.log.duration_s]);
    expect(part.log.trace.time_s[0]).toBeCloseTo(300, 6);
    expect(part.log.parts.map((p) => p.kind)).toEqual(["driving"]);
    // The burn is steady: at five minutes half of it is gone.
    expect(part.log.from_L).toBeCloseTo((whole.log.from_L + whole.log.to_L) / 2, 0);
    expect(part.says).toMatch(/^late\.csv, from 5\.0\smin on, of its 10\smin: in 4\.0\smin/);
    // Another log's part is not this one's.
    const other = counted({ bb: { from_s: 300, to_s: 540 } });
    expect("log" in other && other.log.rows).toBe(whole.log.rows);
  });

  test("to the end where no end is said; nothing in it is told as the choice, not as the file", () => {
    const rest = counted({ aa: { from_s: 500, to_s: null } });
    expect("log" in rest && Math.round(rest.log.duration_s)).toBe(100);
    const none = counted({ aa: { from_s: 900, to_s: 1000 } });
    expect(none.state === "stuck" && "issue" in none && none.issue).toMatchObject({
      code: "drive-log/too-short",
      remedy: "Choose a longer part of it, or all.",
    });
  });
});
