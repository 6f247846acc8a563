import { readFileSync } from "node:fs";
import Ajv2020 from "ajv/dist/2020.js";
import { describe, expect, test } from "vitest";
import { type Analysis, analysisOf } from "../../src/pipeline/analysis";
import { analysisSchema, publishedSchema } from "../../src/pipeline/analysis-schema";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { exampleNames, runExample, sheet } from "./example-run";

const published = JSON.parse(
  readFileSync(new URL("../../src/pipeline/analysis.schema.json", import.meta.url), "utf8"),
) as object;
const validate = new Ajv2020({ allErrors: true }).compile(published);

/** Every leaf of a tree with its path. */
function* leaves(node: unknown, path = ""): Generator<[string, unknown]> {
  if (typeof node !== "object" || node === null) yield [path, node];
  else for (const [key, value] of Object.entries(node)) yield* leaves(value, path ? `${path}.${key}` : key);
}
const contract = [
  "circuit fillRuns curves chosenCurve residuals band serviceBand noise display ends table tableError_L twoPointError_L",
  "lowFuel rangeLeft trial settings verdict",
].flatMap((names) => names.split(" "));

const examples = exampleNames.map((name) => {
  const { answers, all } = runExample(name);
  return { name, answers, all, analysis: analysisOf(answers, all) };
});
const typed = (header: string) => {
  const rows = Array.from({ length: 12 }, (_, i): [number, number] => [4 * i, 10 + 15 * i + 0.4 * i * i]);
  const files = [sheet(header, rows)];
  const answers = answersOf(
    createPipeline({ job: {}, files: { fills: files, drives: [] }, readings: {}, choices: noChoices }),
  );
  return analysisOf(answers, files);
};

describe("the published schema", () => {
  test("the file is current: npm run schema writes it anew", () => {
    expect(published).toEqual(JSON.parse(JSON.stringify(publishedSchema())));
  });

  test.each(examples)(
    "$name is valid, every block of the contract is there, and nothing is left uncomputed",
    ({ analysis }) => {
      expect(validate(JSON.parse(JSON.stringify(analysis))), JSON.stringify(validate.errors?.slice(0, 5))).toBe(true);
      expect(contract.filter((block) => !(block in analysis))).toEqual([]);
      expect(analysis.notComputed).toEqual([]);
    },
  );

  test("refuses a field of the wrong type and a flag of another name", () => {
    const good = JSON.parse(JSON.stringify(examples[0]!.analysis)) as Analysis;
    for (const wrong of [
      { ...good, version: 2 },
      { ...good, readingUnit: "mV" },
      { ...good, verdict: { decision: "perhaps", probability: 0.5 } },
      { ...good, table: [{ volume_L: 1 }] },
      { ...good, inputs: [{ file: "a", sha256: "short", rows: 1 }] },
    ]) {
      expect(validate(wrong)).toBe(false);
      expect(analysisSchema.safeParse(wrong).success).toBe(false);
    }
  });
});

describe("the analysis", () => {
  test.each(examples)(
    "$name survives being written as JSON: every number is finite, nothing is undefined",
    ({ analysis }) => {
      for (const [path, value] of leaves(analysis)) {
        expect(value, path).not.toBe(undefined);
        if (typeof value === "number") expect(Number.isFinite(value), path).toBe(true);
      }
      expect(JSON.parse(JSON.stringify(analysis))).toEqual(analysis);
    },
  );

  test.each(examples)("$name: what is stated twice is the same number", ({ analysis }) => {
    const a = analysis as Record<string, never>;
    const { rangeLeft, ends, settings, display, trial, table } = a as Record<string, Record<string, number>>;
    expect(rangeLeft!.holdBack_L).toBeCloseTo(rangeLeft!.usable_L! - rangeLeft!.usableLower_L!, 12);
    expect(ends!.emptyHidden_L).toBe((ends!.empty as unknown as Record<string, number>).hidden_L);
    expect(trial!.lag_s).toBe(display!.timeConstant_s);
    const rows = table as unknown as { typedReading: string; typedVolume: string }[];
    expect(
      (settings!.table as unknown as { reading: number; volume: number }[]).map((r) => [r.reading, r.volume]),
    ).toEqual(rows.map((r) => [Number(r.typedReading), Number(r.typedVolume)]));
  });

  test("readings carry their own unit, and volts are never invented", () => {
    for (const [header, unit] of [
      ["volume_L,sender_ohm", "ohm"],
      ["volume_L,sender_counts", "count"],
      ["volume_L,sender_V", "V"],
    ] as const) {
      const analysis = typed(header);
      expect(analysis.readingUnit).toBe(unit);
      const names = new Set([...leaves(analysis)].flatMap(([path]) => path.split(".")));
      expect(names.has(`reading_${unit}`) && names.has(`standardError_${unit}`)).toBe(true);
      for (const other of ["V", "ohm", "count"].filter((u) => u !== unit))
        for (const name of ["reading", "standardError", "emptyReading", "emptyMargin"])
          expect(names.has(`${name}_${other}`)).toBe(false);
      expect(validate(JSON.parse(JSON.stringify(analysis)))).toBe(true);
    }
  });

  test("what cannot be computed is absent, and named with its reason", () => {
    const analysis = typed("volume_L,sender_V");
    const named = new Map((analysis.notComputed as { what: string; why: string }[]).map((n) => [n.what, n.why]));
    for (const block of contract) expect(block in analysis, block).toBe(!named.has(block));
    expect(named.get("display")).toBe("There is no drive log yet.");
  });

  test("inputs carry hash and rows; decisions by rule count as not confirmed until they are", () => {
    const fen = examples.find((e) => e.name === "fen-skiff")!;
    expect(fen.analysis.inputs).toEqual([
      { file: "fill.csv", sha256: fen.all[0]!.sha256, rows: 15 },
      { file: "drive.csv", sha256: fen.all[1]!.sha256, rows: 18000 },
    ]);
    const run = (fen.analysis.fillRuns as Analysis[])[0]!;
    const events = run.events as { kind: string; step: number }[];
    expect(fen.analysis.decisionsNotConfirmed).toBe(events.length);
    expect(events.length).toBeGreaterThan(0);
    const steps = run.steps as { index: number; decidedBy: string | null }[];
    for (const e of events) expect(steps.find((s) => s.index === e.step)!.decidedBy).toBe("rule");

    const confirmed = runExample("fen-skiff", (s) => ({
      ...s,
      choices: {
        ...s.choices,
        steps: Object.fromEntries(
          events.map((e) => [
            `0:${e.step}`,
            e.kind === "wrong-reading"
              ? { treat: "set-aside" as const, reason: "read again" }
              : { treat: "put-in" as const, amount_L: 3, reason: "found on the photograph" },
          ]),
        ),
      },
    }));
    expect(analysisOf(confirmed.answers, confirmed.all).decisionsNotConfirmed).toBe(0);
  });

  test("cautions are published once each, with the line of the file they come from", () => {
    const file = sheet("volume_L,sender_V", [
      [0, 0.5],
      [4, 1.1],
      [8, 1.6],
      [12, 2],
      [16, 2.3],
    ]);
    const text = new TextDecoder().decode(file.bytes).replace("8,1.6", "8,?!");
    const files = [{ ...file, bytes: new TextEncoder().encode(text) }];
    const answers = answersOf(
      createPipeline({ job: {}, files: { fills: files, drives: [] }, readings: {}, choices: noChoices }),
    );
    const cautions = analysisOf(answers, files).cautions as { stage: string; code: string; where: unknown }[];
    expect(cautions.filter((c) => c.code === "recording/text-for-number")).toEqual([
      expect.objectContaining({
        stage: "fills",
        where: { file: "sheet.csv", row: 4, column: "sender_V", text: "8,?!" },
      }),
    ]);
  });

  test("the same seed gives the same analysis, another seed nearly the same range", () => {
    const once = examples.find((e) => e.name === "fen-skiff")!.analysis;
    const again = runExample("fen-skiff");
    expect(analysisOf(again.answers, again.all)).toEqual(once);
    const other = runExample("fen-skiff", (s) => ({ ...s, choices: { ...s.choices, seed: 7 } }));
    const lower = (a: Analysis) => (a.rangeLeft as { rangeLower: number }).rangeLower;
    const changed = analysisOf(other.answers, other.all, 7);
    expect(changed.seed).toBe(7);
    expect(Math.abs(lower(changed) / lower(once) - 1)).toBeLessThan(0.03);
  });
});

describe("a complaint with a drive log and no fill run", () => {
  test("is read through the table found in the device, and says what its litres are", () => {
    const { answers, all } = runExample("moor-runner", (s) => ({ ...s, files: { ...s.files, fills: [] } }));
    const analysis = analysisOf(answers, all);
    expect(validate(JSON.parse(JSON.stringify(analysis)))).toBe(true);
    expect(Object.keys(analysis)).toEqual(expect.arrayContaining(["noise", "display", "trial"]));
    expect((analysis.trial as { asFound: unknown }).asFound).not.toBeNull();
    expect((analysis.notComputed as { what: string }[]).map((n) => n.what)).toEqual(
      expect.arrayContaining(["fillRuns", "table", "verdict", "settings"]),
    );
    expect(
      (analysis.cautions as { code: string; weight: string }[]).find((c) => c.code === "as-found/own-litres"),
    ).toMatchObject({
      weight: "holds-if",
    });
  });

  test("without that table the drive cannot be read, and the reason is the missing table", () => {
    const { answers } = runExample("fen-skiff", (s) => ({ ...s, files: { ...s.files, fills: [] } }));
    expect(answers.driveLog).toMatchObject({ state: "stuck", issue: { code: "as-found/none" } });
  });
});
