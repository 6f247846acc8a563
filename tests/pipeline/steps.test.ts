import { describe, expect, test } from "vitest";
import { findSteps } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { placeOfLine, readRecording, typedNames } from "../../src/pipeline/recording";
import { published } from "../../src/said";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../../src/units";
import { sheet } from "./example-run";

const stepsOf = (header: string, rows: [number, number][], input: JobInput = {}) => {
  const job = resolveJob(input);
  const recording = readRecording(sheet(header, rows), null);
  if (job.state !== "ready" || recording.state !== "ready") throw new Error("job and sheet are sound");
  return findSteps([recording.value], job.value);
};
const lastVolume_L = (answer: ReturnType<typeof stepsOf>) =>
  answer.state === "ready" ? answer.value.runs[0]!.steps.at(-1)!.volume_L : null;
const codes = (answer: ReturnType<typeof stepsOf>) =>
  answer.state === "ready" ? answer.cautions.map((c) => c.code) : [answer.state === "stuck" ? answer.issue.code : ""];
const rising = (volumes: number[]) => volumes.map((v, i): [number, number] => [v, 0.5 + 0.4 * i]);

describe("a typed sheet", () => {
  test("gallons are those that the job says, else US gallons, and that is said", () => {
    const rows = rising([0, 1, 2, 3]);
    const unsaid = stepsOf("total_gal,sender_V", rows);
    expect(lastVolume_L(unsaid)).toBeCloseTo(3 * LITRES_PER_USGAL, 9);
    expect(codes(unsaid)).toContain("fill-run/which-gallon");
    const said = stepsOf("total_gal,sender_V", rows, { volumeUnit: "impgal" });
    expect(lastVolume_L(said)).toBeCloseTo(3 * LITRES_PER_IMPGAL, 9);
    expect(codes(said)).not.toContain("fill-run/which-gallon");
  });

  test("readings of unsaid unit over the supply are what the converter counts, or the sender's ohms; else volts", () => {
    const unitOf = (readings: number[], input: JobInput) => {
      const answer = stepsOf(
        "total_L,reading",
        readings.map((r, i): [number, number] => [5 * i, r]),
        input,
      );
      return answer.state === "ready" ? [answer.value.readingUnit, ...codes(answer)] : codes(answer);
    };
    const circuit = { kind: "pull-up" as const, supplyVolts: 5, adcBits: 12 };
    expect(unitOf([410, 822, 1179, 1519, 1849], { circuit })).toEqual(
      expect.arrayContaining(["count", "fill-run/reading-unit"]),
    );
    const sender = { emptyOhms: 10, fullOhms: 180 };
    expect(unitOf([12, 40, 81, 130, 178], { circuit, sender })[0]).toBe("ohm");
    expect(unitOf([12, 40, 81, 130, 178], { circuit: { kind: "none" } })[0]).toBe("ohm");
    expect(unitOf([12, 40, 81, 130, 178], {})[0]).toBe("ohm");
    expect(unitOf([0.5, 1.1, 2.2, 3.1, 4.5], {})[0]).toBe("V");
    expect(unitOf([0.5, 1.1, 2.2, 3.1, 4.5], { circuit, sender })[0]).toBe("V");
    expect(unitOf([0.5, 1.1, 2.2, 3.1, 9.5], { circuit })[0]).toBe("V");
  });

  test("a sender whose stated end is 0 ohm reads zero there without a short being claimed; elsewhere it is", () => {
    const circuit = { kind: "pull-up" as const, supplyVolts: 5, pullUpOhms: 150, adcBits: 12 };
    const rows = (readings: number[]) => readings.map((r, i): [number, number] => [5 * i, r]);
    const rising = rows([0.003, 0.4, 0.9, 1.3, 1.6, 1.9]);
    const stated = { circuit, sender: { emptyOhms: 0, fullOhms: 90 } };
    expect(codes(stepsOf("total_L,sender_V", rising, stated))).not.toContain("fill-run/on-a-rail");
    expect(codes(stepsOf("total_L,sender_V", rising, { circuit }))).toContain("fill-run/on-a-rail");
    const falling = rows([1.9, 1.6, 1.3, 0.9, 0.4, 0.003]);
    expect(codes(stepsOf("total_L,sender_V", falling, stated))).toContain("fill-run/on-a-rail");
    const turned = { circuit, sender: { emptyOhms: 90, fullOhms: 0 } };
    expect(codes(stepsOf("total_L,sender_V", falling, turned))).not.toContain("fill-run/on-a-rail");
    const dip = stepsOf("total_L,sender_V", rows([0.003, 0.4, 0.0033544871, 1.3, 1.6, 1.9]), stated);
    const caution = dip.state === "ready" && dip.cautions.find((c) => c.code === "fill-run/on-a-rail");
    expect(caution).toMatchObject({ says: expect.stringMatching(/step 2 reads 0\.00335\u00a0V: it stands at zero/) });
  });

  test("volumes that could be pours or a count are taken as the likelier, on that condition", () => {
    const rows = rising([0, 4, 8, 6, 16]);
    const unsaid = stepsOf("volume_L,sender_V", rows);
    expect(lastVolume_L(unsaid)).toBe(34);
    expect(codes(unsaid)).toContain("fill-run/added-or-counted");
    expect(codes(stepsOf("volume_L,sender_V", rows, { fill: { enteredAs: "added" } }))).not.toContain(
      "fill-run/added-or-counted",
    );
    expect(codes(stepsOf("volume_L,sender_V", rows, { fill: { enteredAs: "cumulative" } }))).toEqual([
      "fill-run/volume-goes-down",
    ]);
    expect(codes(stepsOf("volume_L,sender_V", rising([0, 4, 8, 12, 16])))).not.toContain("fill-run/added-or-counted");
  });

  test("a file is pointed into by its line, the sheet typed on the page by its step", () => {
    const down = rising([0, 4, 8, 6, 12]);
    const said = (name: string) => {
      const job = resolveJob({ fill: { enteredAs: "cumulative" } });
      const read = readRecording({ ...sheet("total_L,sender_V", down), name }, null);
      if (job.state !== "ready" || read.state !== "ready") throw new Error("job and sheet are sound");
      const answer = findSteps([read.value], job.value);
      return answer.state === "stuck" ? published(answer.issue.says) : "";
    };
    expect(said("a.csv")).toMatch(/^a\.csv, line 5: the volume goes down, from 8/);
    expect(said(typedNames.fill)).toMatch(/^Step 3: the volume goes down, from 8/);
    const slip = (volumes: number[], kind = "total_L,sender_V") => {
      const job = resolveJob({ fill: { enteredAs: "cumulative" } });
      const read = readRecording({ ...sheet(kind, rising(volumes)), name: "a.csv" }, null);
      if (job.state !== "ready" || read.state !== "ready") throw new Error("job and sheet are sound");
      const answer = findSteps([read.value], job.value);
      return answer.state === "stuck" ? published(answer.issue.says) : "";
    };
    // The row with a slip in it is named, not the sound one below it.
    expect(slip([0, 4, 80, 12, 16])).toMatch(/^a\.csv, line 4: 80\.00\sL lies over the rows before it and after it/);
    expect(slip([0, 4, 8, 1.2, 16])).toMatch(/^a\.csv, line 5: the volume goes down, from 8/);
    expect(slip([0, 4, 8, 1.2, 7])).toMatch(/^a\.csv, line 5: the volume goes down, from 8/);
    expect(placeOfLine(typedNames.fill, 2)).toBe("The start");
    expect([2, 5].map((line) => placeOfLine(typedNames.drain, line))).toEqual(["The full tank", "Draw 3"]);
  });

  test("thousands of typed steps are no sheet: the message says what they may be instead", () => {
    const rows = Array.from({ length: 2100 }, (_, i): [number, number] => [(i * 7919) % 61, 1 + (i % 100) / 100]);
    const answer = stepsOf("added_L,sender_V", rows);
    expect(codes(answer)).toEqual(["fill-run/too-many-steps"]);
  });
});
