import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { dividerVolts } from "../../src/math/divider";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { readRecording } from "../../src/pipeline/recording";
import { correctForSupply, supplyResidue } from "../../src/pipeline/supply-correction";
import { published } from "../../src/said";
import { sourceFile } from "./example-run";

const [pullUp, nominal, capacity] = [150, 13, 60];
const ohmsAt = (volume_L: number) => 10 + (170 * volume_L) / capacity;
const job: JobInput = {
  tank: { capacity_L: capacity },
  sender: { emptyOhms: 10, fullOhms: 180 },
  circuit: { kind: "pull-up", pullUpOhms: pullUp, supplyVolts: nominal, ratiometric: false },
  fill: { startedFrom: "drained", enteredAs: "cumulative" },
  pour: { errorPerPour_L: 0.02 },
};
const bytes = (rows: string[]) => new TextEncoder().encode(`${rows.join("\n")}\n`);
/** Supply of a vehicle that charges and discharges: slow waves and a little noise. */
const supplyAt = (t: number, noise: number) => 13.2 + 0.7 * Math.sin(t / 47) + 0.3 * Math.sin(t / 11) + 0.01 * noise;

/** Twenty minutes of quiet driving from 45 L on at 1 Hz, and what is really in the tank. */
function drive(supply: (t: number, noise: number) => number) {
  const random = createRandom(7);
  const volumes: number[] = [];
  const rows = ["time_s,sender_V,supply_V"];
  for (let t = 0; t < 1200; t++) {
    const volume = 45 - (6 * t) / 1200;
    const volts = supply(t, random.normal());
    volumes.push(volume);
    const v = dividerVolts(ohmsAt(volume), pullUp, volts) + 0.004 * random.normal();
    rows.push([t, v.toFixed(4), volts.toFixed(3)].join(","));
  }
  return { file: sourceFile("drive.csv", "drive", bytes(rows)), volumes };
}
/** Ten plateaus of a minute at 2 Hz, the engine started and stopped in between, so that each stands at another supply. */
function recordedFill(supply: (t: number, noise: number) => number) {
  const random = createRandom(8);
  const rows = ["time_s,sender_V,poured_L,supply_V"];
  for (let i = 0; i < 1200; i++) {
    const t = i / 2;
    const poured = 6 * Math.floor(t / 60);
    const volts = supply(t * 3, random.normal());
    rows.push(
      [
        t,
        (dividerVolts(ohmsAt(poured), pullUp, volts) + 0.002 * random.normal()).toFixed(4),
        poured,
        volts.toFixed(3),
      ].join(","),
    );
  }
  return sourceFile("fill.csv", "fill", bytes(rows));
}
const sheet = (() => {
  const rows = Array.from(
    { length: 11 },
    (_, i) => `${6 * i},${dividerVolts(ohmsAt(6 * i), pullUp, nominal).toFixed(4)}`,
  );
  return sourceFile("sheet.csv", "fill", bytes(["total_L,sender_V", ...rows]));
})();
const run = (
  fill: ReturnType<typeof recordedFill>,
  drives: ReturnType<typeof recordedFill>[],
  stated: JobInput = job,
) => {
  const answers = answersOf(
    createPipeline({ job: stated, files: { fills: [fill], drives }, readings: {}, choices: noChoices }),
  );
  return answers;
};
const rms = (log: Float64Array, truth: number[]) =>
  Math.sqrt(truth.reduce((s, v, i) => s + (log[i]! - v) ** 2, 0) / truth.length);
const codes = (answer: { cautions: { code: string }[] }) => answer.cautions.map((c) => c.code);
const readyOf = <T>(answer: { state: string }) => {
  if (answer.state !== "ready") throw new Error(JSON.stringify(answer));
  return answer as unknown as { value: T; cautions: { code: string; says: string; weight?: string }[] };
};

describe("a logged supply brings the readings to the stated one", () => {
  test("a drive on a wandering supply is off by its noise alone, and the line says by how many litres it was off before", () => {
    const log = drive(supplyAt);
    const corrected = readyOf<{ columns: { volume_L: Float64Array } }[]>(run(sheet, [log.file]).driveLog);
    const ratiometric = { ...job, circuit: { ...job.circuit, ratiometric: true } };
    const raw = readyOf<{ columns: { volume_L: Float64Array } }[]>(run(sheet, [log.file], ratiometric).driveLog);
    const after = rms(corrected.value[0]!.columns.volume_L, log.volumes);
    const before = rms(raw.value[0]!.columns.volume_L, log.volumes);
    // 4 mV of noise where a volt is worth (R + Rp)²/(Vs·Rp)·60/170 L: about 0.07 L; the supply alone makes litres.
    expect(after).toBeLessThan(0.12);
    expect(before).toBeGreaterThan(2);
    const line = corrected.cautions.find((c) => c.code === "circuit/supply-corrected")!;
    const said = Number(/: ([\d.]+)\sL root mean square/u.exec(published(line.says))![1]);
    expect(Math.abs(said / before - 1)).toBeLessThan(0.1);
    expect(codes(raw)).not.toContain("circuit/supply-corrected");
  });

  test("steps recorded at different supplies lie on the curve of the stated one", () => {
    const steps = readyOf<{ runs: { steps: { volume_L: number; reading: number }[] }[] }>(
      run(recordedFill(supplyAt), []).fillRun,
    );
    const list = steps.value.runs[0]!.steps;
    expect(list).toHaveLength(10);
    for (const s of list)
      expect(Math.abs(s.reading - dividerVolts(ohmsAt(s.volume_L), pullUp, nominal))).toBeLessThan(0.004);
    expect(codes(steps)).toContain("circuit/supply-corrected");
  });

  test("the budget of one reading then holds only what the log's step leaves, and the service day the whole supply", () => {
    type Part = { part: string; standard_V: number; standard_L: number; why: string };
    const supplyIn = (fill: ReturnType<typeof recordedFill>) =>
      readyOf<{ budget: Part[] }>(run(fill, []).circuit).value.budget.find((b) => b.part === "supply")!;
    const [logged, unlogged] = [supplyIn(recordedFill(supplyAt)), supplyIn(sheet)];
    // The supply is written to a millivolt.
    expect(logged.standard_V / dividerVolts(ohmsAt(30), pullUp, nominal)).toBeCloseTo(
      0.001 / Math.sqrt(12) / nominal,
      8,
    );
    expect(unlogged.standard_L / logged.standard_L).toBeCloseTo(
      0.1 / Math.sqrt(3) / (0.001 / Math.sqrt(12) / nominal),
      0,
    );
    const service = (fill: ReturnType<typeof recordedFill>) =>
      readyOf<{ budget: Part[] }>(run(fill, []).curve).value.budget.find((b) => b.part === "supply of the sender")!;
    // At mid range, 27 L of the recording and 30 L of the sheet: R·(R + Rp) of both.
    const moved = (volume_L: number) => ohmsAt(volume_L) * (ohmsAt(volume_L) + pullUp);
    const ratio = service(recordedFill(supplyAt)).standard_L / service(sheet).standard_L;
    expect(ratio / (moved(27) / moved(30))).toBeCloseTo(1, 1);
  });

  test("cranking is blanked, not corrected", () => {
    const log = drive((t, n) => (t >= 600 && t < 604 ? 7.5 : supplyAt(t, n)));
    const read = readyOf<{ counts: { blank: number } }[]>(run(sheet, [log.file]).driveLog);
    expect(read.value[0]!.counts.blank).toBe(4);
    expect(published(read.cautions.find((c) => c.code === "circuit/supply-corrected")!.says)).toContain("4 rows");
  });

  test("a supply that is not the sender's own is left alone, and that is said", () => {
    const five = { ...job, circuit: { ...job.circuit, supplyVolts: 5 } };
    const read = readyOf(run(sheet, [drive(supplyAt).file], five).driveLog);
    expect(codes(read)).toContain("circuit/supply-not-used");
    expect(codes(read)).not.toContain("circuit/supply-corrected");
    for (const volts of [0, -12]) {
      const none = readyOf(run(sheet, [drive(() => volts).file]).driveLog);
      expect(none.cautions.find((c) => c.code === "circuit/supply-not-used")?.says).toContain(
        "nothing or less on every row",
      );
    }
  });

  test("where nobody said that the converter does not follow the supply, the correction holds only if", () => {
    const { ratiometric: _, ...circuit } = job.circuit!;
    const read = readyOf(run(sheet, [drive(supplyAt).file], { ...job, circuit }).driveLog);
    expect(read.cautions.find((c) => c.code === "circuit/supply-corrected")!.weight).toBe("holds-if");
  });
});

describe("correctForSupply", () => {
  const corrected = (circuit: JobInput["circuit"], rows: string[]) => {
    const stated = resolveJob({ ...job, circuit: { ...job.circuit, ...circuit } });
    const recording = readRecording(sourceFile("d.csv", "drive", bytes(["time_s,sender_V,supply_V", ...rows])), null);
    if (stated.state !== "ready" || recording.state !== "ready") throw new Error("not ready");
    return { recording: recording.value, done: correctForSupply(recording.value, stated.value) };
  };
  test("any sender, pull-up, supply and ground: the reading that the stated supply would give", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 5, max: 400, noNaN: true }),
        fc.double({ min: 50, max: 1000, noNaN: true }),
        fc.double({ min: 11, max: 15, noNaN: true }),
        fc.double({ min: -0.3, max: 0.5, noNaN: true }),
        (ohms, p, supply, ground) => {
          const row = [0, dividerVolts(ohms, p, supply, ground).toFixed(9), supply.toFixed(9)].join(",");
          const { done } = corrected({ pullUpOhms: p, groundOffsetVolts: ground }, [row, row]);
          const reading = done.recording.columns.find((c) => c.role === "reading")!;
          expect(reading.values[0]).toBeCloseTo(dividerVolts(ohms, p, nominal, ground), 6);
        },
      ),
      { numRuns: 40 },
    );
  });
  test.each([{ ratiometric: true }, { kind: "converter" as const }])("%o hands on the very recording", (circuit) => {
    const { recording, done } = corrected(circuit, ["0,5,13", "1,5.1,13.2"]);
    expect(done.recording).toBe(recording);
    expect(done.asRead).toBeNull();
  });
  test("a row without a supply takes the last one before it", () => {
    const { done } = corrected({}, ["0,5,14", "1,5,", "2,5,13"]);
    const { values } = done.recording.columns.find((c) => c.role === "reading")!;
    expect(Array.from(values)).toEqual([(5 * 13) / 14, (5 * 13) / 14, 5].map((v) => expect.closeTo(v, 12)));
  });
});

test("a supply of as many values as a long log has leaves the least of their distances", () => {
  const n = 200_000;
  const values = Float64Array.from({ length: n }, (_, i) => 12 + ((i * 7919) % n) * 1e-5);
  const supply = { header: "supply_V", role: "supply", values, valid: new Uint8Array(n).fill(1), writtenStep: 1e-5 };
  const recording = { columns: [supply] };
  const resolved = resolveJob(job);
  if (resolved.state !== "ready") throw new Error("the job should resolve");
  const left = supplyResidue([{ recording, asRead: recording }] as never, resolved.value);
  expect(left! * nominal * Math.sqrt(12)).toBeCloseTo(1e-5, 9);
});

describe("a converter that is said to follow the supply", () => {
  const sheet = (follows: boolean) => {
    const volts = (k: number) => (k < 6 ? 12.4 : 13.9);
    const rows = Array.from({ length: 13 }, (_, k) =>
      [5 * k, dividerVolts(ohmsAt(5 * k), pullUp, follows ? nominal : volts(k)).toFixed(3), volts(k)].join(","),
    );
    const file = sourceFile("fill.csv", "fill", bytes(["volume_L,sender_V,supply_V", ...rows]));
    const { fillRun } = answersOf(
      createPipeline({
        job: { ...job, circuit: { ...job.circuit, ratiometric: true } },
        files: { fills: [file], drives: [] },
        readings: {},
        choices: noChoices,
      }),
    );
    if (fillRun.state !== "ready") throw new Error("the test's own sheet is not read");
    return fillRun.cautions.filter((c) => c.code === "circuit/supply-not-used");
  };

  test("readings that move with the supply speak against that: a doubt, not a second room in silence", () => {
    const [said] = sheet(false);
    expect(said?.weight).toBe("doubtful");
    expect(published(said!.says)).toContain("the readings move with the supply logged beside them");
  });

  test("readings that do not move with it are as the job says", () => {
    expect(sheet(true)).toEqual([]);
  });
});

describe("a sheet with its supply beside each reading", () => {
  const typed = (supplies: (k: number) => string) =>
    sourceFile(
      "fill.csv",
      "fill",
      bytes([
        "total_L,sender_V,supply_V",
        ...Array.from({ length: 11 }, (_, k) =>
          [6 * k, dividerVolts(ohmsAt(6 * k), pullUp, Number(supplies(k)) || 12.4).toFixed(3), supplies(k)].join(","),
        ),
      ]),
    );
  const answers = (supplies: (k: number) => string) =>
    answersOf(
      createPipeline({
        job: { ...job, circuit: { ...job.circuit, supplyVolts: 12.4 } },
        files: { fills: [typed(supplies)], drives: [] },
        readings: {},
        choices: noChoices,
      }),
    );

  test("leaves the last digit of the supply, not the distance between the few values that were seen", () => {
    const { fillRun } = answers((k) => (k < 5 ? "12.4" : "13.9"));
    if (fillRun.state !== "ready") throw new Error("the sheet should be readable");
    expect(fillRun.value.supplyResidue).toBeCloseTo(0.1 / Math.sqrt(12) / 12.4, 9);
  });

  test("names a row whose supply is written as nothing by that, and does not call its reading missing", () => {
    const { fillRun } = answers((k) => (k === 3 ? "0" : k < 5 ? "12.4" : "13.9"));
    if (fillRun.state !== "ready") throw new Error("the sheet should be readable");
    const half = fillRun.cautions.find((c) => c.code === "fill-run/half-row")!;
    expect(published(half.says)).toMatch(
      /^fill.csv, line 5: the logged supply stands at 0.V, too low to believe the reading/,
    );
    expect(published(fillRun.cautions.find((c) => c.code === "circuit/supply-corrected")!.says)).toContain(
      "one row with too low a supply is blanked",
    );
  });
});
