/** Fill run: a sheet, a drain and several runs become steps; what is wrong with one is told with its line. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { noChoices } from "../../src/pipeline/choices";
import { type FillRuns, findSteps } from "../../src/pipeline/fill-run";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { pourCovariance } from "../../src/pipeline/pour-errors";
import { allFindings } from "../../src/pipeline/words/all";
import { published } from "../../src/said";
import { answerOf, jobOf, plain, runsOf, sheet, stuckCode } from "./typed-sheets";

describe("findSteps on a sheet", () => {
  test("sums pours from the start, which is step 0 at 0 L", () => {
    const { value } = runsOf(plain);
    expect(value.runs[0]!.steps.map((s) => [s.index, s.volume_L, s.added_L, s.reading])).toEqual([
      [0, 0, 0, 0.5],
      [1, 5, 5, 0.9],
      [2, 10, 5, 1.35],
      [3, 15, 5, 1.7],
      [4, 20, 5, 2.2],
      [5, 25, 5, 2.61],
    ]);
    expect([value.total_L, value.sense]).toEqual([25, 1]);
  });

  test("gives the same steps from volumes counted up, and in gallons to within the written digits", () => {
    const up = sheet(
      [
        [0, 0.5],
        [5, 0.9],
        [10, 1.35],
        [15, 1.7],
        [20, 2.2],
        [25, 2.61],
      ],
      "total_L,sender_V",
    );
    const volumes = (v: FillRuns) => v.runs[0]!.steps.map((s) => s.volume_L);
    expect(volumes(runsOf(up).value)).toEqual(volumes(runsOf(plain).value));
    const gallons = sheet(
      [0, 5, 10, 15, 20, 25].map((v, i) => [(v / 3.785411784).toFixed(3), [0.5, 0.9, 1.35, 1.7, 2.2, 2.61][i]!]),
      "total_USgal,sender_V",
    );
    for (const [i, v] of volumes(runsOf(gallons).value).entries()) expect(Math.abs(v - 5 * i)).toBeLessThan(0.002);
  });

  test("kilograms need a density, percent a capacity", () => {
    const kg = plain.replace("added_L", "added_kg");
    expect(stuckCode(kg)).toBe("fill-run/unit-needs-more");
    const { value } = runsOf(kg, { pour: { density_kg_per_L: 0.75 } });
    expect(value.total_L).toBeCloseTo(25 / 0.75, 9);
  });

  test("without a start row the first row is step 1, and that is said", () => {
    const { value, codes } = runsOf(plain.replace("0,0.5\n", ""), { fill: { enteredAs: "added" } });
    expect(value.runs[0]!.steps[0]).toMatchObject({ index: 1, volume_L: 5, added_L: 5 });
    expect(codes).toContain("fill-run/no-start");
  });

  test("a row without a reading still counts as a pour for every later volume and number", () => {
    const { value, codes } = runsOf(plain.replace("5,1.35", "5,"), { fill: { enteredAs: "added" } });
    expect(value.runs[0]!.steps.map((s) => [s.index, s.volume_L])).toEqual([
      [0, 0],
      [1, 5],
      [3, 15],
      [4, 20],
      [5, 25],
    ]);
    expect(codes).toContain("fill-run/half-row");
  });

  test("a cell that holds no number is told with what stands in it, on the leaf of the run, and never as missing", () => {
    const rows = ["step,added_L,reading_V"];
    for (let i = 0; i <= 12; i++)
      rows.push(`${i},${i === 6 ? "four" : i ? 4 : 0},${i === 3 ? "0.9O1" : 0.5 + 0.15 * i}`);
    const bytes = new TextEncoder().encode(`${rows.join("\n")}\n`);
    const files = { fills: [{ name: "bad.csv", kind: "fill" as const, bytes, sha256: "b" }], drives: [] };
    const answers = answersOf(createPipeline({ job: {}, files, readings: {}, choices: noChoices }));
    const { answer } = allFindings(answers).find((l) => l.name === "fill-run")!;
    const told = answer.state === "ready" ? answer.cautions.map((c) => published(c.says)) : [];
    expect(told.filter((t) => t.includes("line 5"))).toEqual([
      "bad.csv, line 5, reading_V: “0.9O1” is no number, so that cell is left out.",
    ]);
    expect(told.filter((t) => t.includes("line 8"))).toEqual([
      "bad.csv, line 8, added_L: “four” is no number, so that cell is left out.",
      "bad.csv, line 8: the volume cannot be read, so this row gives no step.",
    ]);
    expect(told.join()).not.toContain("missing");
  });

  test("volumes that go down in a fill name the line", () => {
    const answer = answerOf("total_L,sender_V\n0,0.5\n5,0.9\n15,1.35\n10,1.7\n20,2.2\n25,2.6\n30,3\n");
    expect(answer.state === "stuck" && [answer.issue.code, answer.issue.where?.row]).toEqual([
      "fill-run/volume-goes-down",
      5,
    ]);
  });

  test("nothing, one step, no volume and a reading that stands still are issues", () => {
    const none = findSteps([], jobOf({}));
    expect(none.state === "stuck" && none.issue.code).toBe("fill-run/none");
    expect(stuckCode(sheet([[0, 0.5]]))).toBe("fill-run/one-step");
    expect(
      stuckCode(
        sheet([
          [0, 0.5],
          [5, 0.5],
          [5, 0.5],
        ]),
      ),
    ).toBe("fill-run/flat-reading");
  });

  test("a reading that stands at the supply is named as an open wire", () => {
    const rows = [0, 5, 5, 5].map((v) => [v, "4.99"]);
    const answer = answerOf(sheet(rows), { circuit: { supplyVolts: 5 } });
    expect(answer.state === "stuck" && published(answer.issue.says)).toContain("open or off");
  });

  test("a rail in the middle of a run, equal readings and more than the tank holds are cautions", () => {
    const rail = runsOf(plain.replace("1.7", "5.0"), { circuit: { supplyVolts: 5 } });
    expect(rail.codes).toContain("fill-run/on-a-rail");
    expect(runsOf(plain.replace("1.35", "0.9")).codes).toContain("fill-run/equal-readings");
    expect(runsOf(plain, { tank: { capacity_L: 20 } }).codes).toContain("fill-run/over-capacity");
  });

  test("two equal readings at the full end are a dead zone with the litres that it hides", () => {
    const { value } = runsOf(
      sheet([
        [0, 0.5],
        [5, 0.9],
        [5, 1.35],
        [5, 1.7],
        [5, 2.2],
        [5, 2.6],
        [5, 2.6],
        [5, 2.6],
      ]),
    );
    expect(value.deadZones).toHaveLength(1);
    expect(value.deadZones[0]).toMatchObject({ end: "full", hidden_L: 10, steps: [5, 6, 7] });
    expect(value.deadZones[0]!.slopeUpper).toBeGreaterThan(0);
    expect(value.runs[0]!.steps.filter((s) => s.atStop === "full").map((s) => s.index)).toEqual([5, 6, 7]);
  });

  test("a ladder's levels are found with their height", () => {
    const rows = Array.from({ length: 17 }, (_, k) => [k === 0 ? 0 : 2, (0.5 + 0.4 * Math.floor(k / 2)).toFixed(2)]);
    const { value } = runsOf(sheet(rows));
    expect(value.fixedSteps!.levels).toHaveLength(9);
    expect(value.fixedSteps!.height_L).toBeCloseTo(4, 0);
  });

  test("what was not stated is a named default: one pour 1 %, marks limit/√3, an unknown start", () => {
    const { value, codes } = runsOf(plain, { pour: { scaleErrorLimit: 0.006 } });
    expect(value.runs[0]!.pourStandard_L).toBeCloseTo(0.05, 12);
    expect(value.scaleStandard).toBeCloseTo(0.006 / Math.sqrt(3), 12);
    expect(value.startStandard_L).toBeCloseTo((0.005 * 25) / Math.sqrt(3), 12);
    expect(codes).toEqual(expect.arrayContaining(["fill-run/pour-error-assumed", "fill-run/start-unknown"]));
    expect(runsOf(plain, { fill: { startedFrom: "drained" } }).value.startStandard_L).toBe(0);
  });

  test("turning the sender round turns its sense and nothing else", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 5, max: 60 }), { minLength: 5, maxLength: 20 }), (moves) => {
        let at = 100;
        const rows = [
          [0, "1.00"],
          ...moves.map((m) => {
            at += m;
            return [3, (at / 100).toFixed(2)];
          }),
        ];
        const turned = rows.map(([v, r]) => [v!, (20 - Number(r)).toFixed(2)]);
        const one = runsOf(sheet(rows)).value;
        const two = runsOf(sheet(turned)).value;
        expect(two.sense).toBe(-one.sense);
        expect(two.runs[0]!.steps.map((s) => [s.index, s.volume_L, s.standardError])).toEqual(
          one.runs[0]!.steps.map((s) => [s.index, s.volume_L, s.standardError]),
        );
        expect(two.deadZones.map((z) => z.steps)).toEqual(one.deadZones.map((z) => z.steps));
      }),
      { seed: 8, numRuns: 60 },
    );
  });
});

describe("several runs", () => {
  const drain = "drawn_L,sender_V\n0,2.61\n5,2.25\n5,1.75\n5,1.4\n5,0.95\n5,0.55\n";
  test("a drain run counts down from the full mark, and its loop is measured", () => {
    const { value } = runsOf(
      [
        [plain, "fill"],
        [drain, "drain"],
      ],
      { fill: { enteredAs: "added" }, pour: { errorPerPour_L: 0.05 } },
    );
    expect(value.runs[1]!.steps.map((s) => s.volume_L)).toEqual([25, 20, 15, 10, 5, 0]);
    // 0.05 V more at each level on the way down, at about 12 L a volt.
    expect(value.hysteresis_L!.mean_L).toBeGreaterThan(0.3);
    expect(value.hysteresis_L!.mean_L).toBeLessThan(0.9);
  });

  test("its covariance holds all pours of the fill and the draws so far", () => {
    const { value } = runsOf(
      [
        [plain, "fill"],
        [drain, "drain"],
      ],
      { fill: { enteredAs: "added" }, pour: { errorPerPour_L: 0.1 } },
    );
    expect(pourCovariance(value.runs[0]!)[2]![4]).toBeCloseTo(2 * 0.01, 12);
    expect(pourCovariance(value.runs[1]!)[2]![4]).toBeCloseTo((5 + 2) * 0.01, 12);
  });

  test("repeatability and between-run spread are the two-way layout's", () => {
    const again = (shift: number, twist: number) =>
      sheet(
        [0.5, 0.9, 1.35, 1.7, 2.2, 2.61].map((r, k) => [
          k === 0 ? 0 : 5,
          (r + shift + twist * (k % 2 === 0 ? 1 : -1)).toFixed(4),
        ]),
      );
    const { value } = runsOf(
      [
        [again(0, 0), "fill"],
        [again(0.03, 0.01), "fill"],
      ],
      { fill: { enteredAs: "added" } },
    );
    // Differences are 0.03 ± 0.01: half of each is an offset of ∓0.015, the rest 2·(0.005)² at each of six volumes, 5 degrees of freedom.
    expect(value.repeatability).toBeCloseTo(Math.sqrt((12 * 0.005 ** 2) / 5), 9);
    expect(value.betweenRuns).toBeCloseTo(Math.sqrt(2 * 0.015 ** 2 - (12 * 0.005 ** 2) / 30), 9);
    expect(runsOf(plain).value.repeatability).toBeNull();
  });
});

test("readings of a running total have independent errors, pours add up", () => {
  const pours = pourCovariance(runsOf(plain, { pour: { errorPerPour_L: 0.1 } }).value.runs[0]!);
  expect(pours.map((row) => row.map((c) => Number((c / 0.01).toFixed(9))))).toEqual([
    [0, 0, 0, 0, 0, 0],
    [0, 1, 1, 1, 1, 1],
    [0, 1, 2, 2, 2, 2],
    [0, 1, 2, 3, 3, 3],
    [0, 1, 2, 3, 4, 4],
    [0, 1, 2, 3, 4, 5],
  ]);
  const total = pourCovariance(runsOf(plain, { pour: { errorPerPour_L: 0.1, runningTotal: true } }).value.runs[0]!);
  expect(total[3]!.map((c) => Number((c / 0.01).toFixed(9)))).toEqual([0, 0, 0, 1, 0, 0]);
});

describe("two runs that go opposite ways", () => {
  const level = (i: number) => 0.5 + 0.4 * i;
  const up = sheet([0, 1, 2, 3, 4, 5].map((i) => [i === 0 ? 0 : 5, level(i)]));
  const down = sheet([0, 1, 2, 3, 4, 5].map((i) => [i === 0 ? 0 : 5, level(5 - i)]));

  test("are no pair: a fill brought as a drain, or a drain as a fill, is refused", () => {
    const bring = (text: string, kind: "fill" | "drain") =>
      stuckCode([
        [up, "fill"],
        [text, kind],
      ]);
    expect(bring(down, "drain")).toBe("ready");
    expect(bring(up, "fill")).toBe("ready");
    expect(bring(up, "drain")).toBe("fill-run/opposite");
    expect(bring(down, "fill")).toBe("fill-run/opposite");
  });
});
