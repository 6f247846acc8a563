import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { deviceScale } from "../../src/pipeline/device-unit";
import { type ConverterJob, logScale } from "../../src/pipeline/log-units";
import type { SourceFile } from "../../src/pipeline/recording";
import { runExample } from "./example-run";

const stated: ConverterJob = {
  kind: "pull-up",
  supplyVolts: 5,
  adcBits: 12,
  pullUpOhms: 100,
  groundOffsetVolts: null,
};
const read = (unit: string, wanted: "V" | "ohm" | "count", circuit: Partial<ConverterJob> = {}) =>
  logScale("drive.csv", unit, wanted, { circuit: { ...stated, ...circuit } }, []);
const issueOf = (...asked: Parameters<typeof read>) => {
  const answer = read(...asked);
  return answer.state === "stuck" ? `${answer.issue.says} ${answer.issue.remedy}` : answer.state;
};
const turned = (reading: number, ...asked: Parameters<typeof read>): number => {
  const scale = valueIn(read(...asked));
  return scale ? scale(reading) : reading;
};

describe("ohms and volts", () => {
  test("meet over the stated pull-up and supply, each way, over counts too, and with a stated ground", () => {
    // 100 Ω over 300 Ω of 5 V: the sender stands at 3.75 V.
    expect(turned(300, "ohm", "V")).toBeCloseTo(3.75, 9);
    expect(turned(3.75, "V", "ohm")).toBeCloseTo(300, 9);
    expect(turned(300, "ohm", "count")).toBeCloseTo((3.75 * 4095) / 5, 9);
    expect(turned((3.75 * 4095) / 5, "count", "ohm")).toBeCloseTo(300, 9);
    expect(turned(300, "ohm", "V", { groundOffsetVolts: 0.2 })).toBeCloseTo(0.2 + 4.8 * 0.75, 9);
    expect(turned(0.2 + 4.8 * 0.75, "V", "ohm", { groundOffsetVolts: 0.2 })).toBeCloseTo(300, 9);
  });

  test("what a lifted ground adds to a log comes off again where the trial replays it in the device's volts", () => {
    const circuit = { ...stated, pullUpOhms: 100, groundOffsetVolts: 0.2 };
    const back = deviceScale("ohm", "V", { circuit })!.scale.to;
    for (const volts of [0.3, 1.7, 4.2])
      expect(back(turned(volts, "V", "ohm", { groundOffsetVolts: 0.2 }))).toBeCloseTo(volts, 9);
  });

  test("an open wire stays far over any sender, a short one at nothing, a blank a blank", () => {
    expect(turned(5, "V", "ohm")).toBe(100_000);
    expect(turned(5.2, "V", "ohm")).toBe(100_000);
    expect(turned(-0.01, "V", "ohm")).toBe(0);
    expect(turned(Number.NaN, "V", "ohm")).toBeNaN();
  });

  test("are asked about where the job does not state what lies between them, and nothing is asked that it states", () => {
    const ask = (what: string) =>
      `drive.csv is in ohms, the curve in volts, and the job does not say how one becomes the other. Log through the same circuit as the fill run, or state ${what} in the job.`;
    expect(issueOf("ohm", "V", { pullUpOhms: null })).toBe(ask("the pull-up"));
    expect(issueOf("ohm", "V", { supplyVolts: null })).toBe(ask("the supply"));
    expect(issueOf("ohm", "V", { supplyVolts: null, pullUpOhms: null })).toBe(ask("the pull-up and the supply"));
    expect(issueOf("ohm", "count", { adcBits: null })).toContain("state the converter’s bits in the job");
    expect(issueOf("ohm", "V", { kind: "converter" })).toBe(
      "drive.csv is in ohms, the curve in volts: a log in ohms is not turned into volts. Log through the same circuit and in the same unit as the fill run.",
    );
  });
});

test("counts become volts where supply and bits are stated, and ask for them where they are not", () => {
  expect(turned(4095, "count", "V")).toBeCloseTo(5, 9);
  expect(turned(5, "V", "count")).toBeCloseTo(4095, 9);
  expect(issueOf("count", "V", { adcBits: null })).toBe(
    "drive.csv is in counts, the curve in volts, and the job does not say how one becomes the other. Log through the same circuit as the fill run, or state the converter’s bits in the job.",
  );
  expect(issueOf("percent", "V")).toContain("a log in percent is not turned into volts");
});

/** Volts in the second column of a recording, as the ohms that make them. */
const asOhms = (file: SourceFile): SourceFile => {
  const lines = new TextDecoder().decode(file.bytes).trimEnd().split("\n");
  const rows = lines.slice(1).map((line) => {
    const [time, volts, ...rest] = line.split(",");
    // A meter shows the open wire of a drop-out as its largest number.
    const ohms =
      volts === "" ? "" : Math.min(1e5, (150 * Number(volts)) / Math.max(1e-9, 5 - Number(volts))).toFixed(3);
    return [time, ohms, ...rest].join(",");
  });
  const bytes = new TextEncoder().encode(`${lines[0]!.replace("sender_V", "sender_ohm")}\n${rows.join("\n")}\n`);
  return { ...file, bytes, sha256: `${file.name} in ohms` };
};

test("a drive logged in ohms, for a fill run in volts, says what the same drive in volts says, and that it stands on pull-up and supply", () => {
  const inVolts = runExample("moor-runner").answers;
  const inOhms = runExample("moor-runner", (s) => ({
    ...s,
    files: { ...s.files, drives: s.files.drives.map(asOhms) },
  })).answers;
  const [a, b] = [valueIn(inVolts.driveLog)![0]!, valueIn(inOhms.driveLog)![0]!];
  expect(b.burn_L_per_h).toBeCloseTo(a.burn_L_per_h, 2);
  expect([b.from_L, b.to_L]).toEqual([expect.closeTo(a.from_L, 2), expect.closeTo(a.to_L, 2)]);
  expect(b.counts.dropouts).toBe(a.counts.dropouts);
  const [c, d] = [valueIn(inVolts.display)!, valueIn(inOhms.display)!];
  expect([d.timeConstant_s, d.deadband_L]).toEqual([c.timeConstant_s, c.deadband_L]);
  const conditions = (answer: typeof inOhms.driveLog) =>
    answer.state === "ready" ? answer.cautions.flatMap((i) => i.condition ?? []) : [];
  expect(conditions(inOhms.driveLog)).toContain("pull-up and supply are as the job states them");
  expect(conditions(inVolts.driveLog)).not.toContain("pull-up and supply are as the job states them");
});

test("a fill run in ohms finds the same wrong with a table found in volts, which is straight in volts between its rows", () => {
  const { complaint, trial } = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, complaint: "wrong-in-the-middle" },
  })).answers;
  const ohms = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, readingUnit: "ohm", complaint: "wrong-in-the-middle" },
    files: { ...s.files, fills: s.files.fills.map(asOhms) },
  })).answers;
  const [a, b] = [valueIn(trial)!.asFound!, valueIn(ohms.trial)!.asFound!];
  expect(b.rmsError_L).toBeCloseTo(a.rmsError_L, 1);
  expect(Math.abs(b.reversalsPerMinute / a.reversalsPerMinute - 1)).toBeLessThan(0.1);
  const [c, d] = [valueIn(complaint)!.causes[0]!, valueIn(ohms.complaint)!.causes[0]!];
  expect([c.cause, d.cause]).toEqual(["straight-line", "straight-line"]);
  expect(Math.abs(Number(d.figures.error_L) - Number(c.figures.error_L))).toBeLessThan(0.3);
});
