import { describe, expect, test } from "vitest";
import { figuresOf } from "../../../src/pipeline/figures/all";
import { figureInUnit } from "../../../src/pipeline/figures/in-unit";
import { renderReport } from "../../../src/pipeline/report";
import { summaryLines } from "../../../src/pipeline/summary";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
import { allSaid, type Phrase, type Quantity } from "../../../src/pipeline/words/finding";
import { headOf } from "../../../src/pipeline/words/head";
import {
  counted,
  litres,
  litresPair,
  litresSet,
  quantity,
  quantityWith,
  setting,
  sizeOf,
  whole,
  within,
  withoutUnit,
} from "../../../src/pipeline/words/quantity";
import { findingInUnit, inVolume, volumeSetText, volumeText, volumeWordsOf } from "../../../src/pipeline/words/volume";
import { inLitres, quantityInUnit, quantityOf, statedIn, type VolumeWords } from "../../../src/quantity";
import { LITRES_PER_USGAL } from "../../../src/units";
import { runExample } from "../example-run";

const gallons: VolumeWords = { sign: "US\u00a0gal", litres: LITRES_PER_USGAL, litresInBrackets: false };
const textIn = (q: Quantity, volume = gallons) => quantityInUnit(q, volume).text.replaceAll("\u00a0", " ");
/** Litres or litres an hour with a number before them; not L/100 km. */
const inL = /\d\u00a0?\s?L(?![\w/])|L\/h/;

describe("a quantity in litres in another unit", () => {
  test.each<[string, Quantity, string]>([
    // 38 L / 3.785411784 = 10.04 US gal
    ["to as many figures as it had", litres(null, 38), "10 US gal"],
    ["from its value, not from its rounded text", litres(null, 37.62), "9.9 US gal"],
    ["three where it had three", counted(null, 136.4, 0, "L"), "36.0 US gal"],
    ["with its ±", quantityWith(null, 7.94, 1.31, "L"), "2.10 ± 0.35 US gal"],
    ["an hour", quantityWith(null, 31.2, 16.1, "L/h"), "8.2 ± 4.3 US gal/h"],
    ["set, without noughts", litresSet(null, 3.5 * LITRES_PER_USGAL), "3.5 US gal"],
    ["set to one figure, but not rounded to one", setting(null, 6, "L"), "1.6 US gal"],
    ["set in gallons, as it was", setting(null, 1.25 * LITRES_PER_USGAL, "L", 2), "1.25 US gal"],
    ["too small to be told", litres(null, 0.01), "less than 0.01 US gal"],
    ["nothing", litres(null, 0), "0 US gal"],
    ["under zero", litres(null, -3.8), "\u22121.0 US gal"],
    ["with its unit beside the next one", withoutUnit(counted(null, 65.2, 0, "L")), "17"],
    ["as a half-width", within(litres(null, 8.8)), "± 2.3 US gal"],
    [
      "with words behind",
      quantityOf({ ...quantity(null, 24.4, "L/h"), rounding: { by: "decimals", decimals: 1 }, after: " or more" }),
      "6.45 US gal/h or more",
    ],
    ["as its size alone", sizeOf(litres(null, -3.8)), "1.0 US gal"],
    ["but not what is typed", { ...litres(null, 3.8), asTyped: true }, "3.8 L"],
    ["but no volts", quantity(null, 1.23, "V"), "1.23 V"],
  ])("%s", (_, q, text) => {
    expect(textIn(q)).toBe(text);
  });

  test("beside another one has the same decimals as that: those that the larger one asks for", () => {
    const pair = (decimals: number, a: number, b: number) =>
      litresPair(decimals, [null, a], [null, b]).map((q) => textIn(q));
    expect(pair(1, 9.5, 12.9)).toEqual(["2.51 US gal", "3.41 US gal"]);
    expect(pair(1, 12.9, 3.1)).toEqual(["3.41 US gal", "0.82 US gal"]);
    expect(pair(0, 0, 61)).toEqual(["0 US gal", "16 US gal"]);
    expect(litresPair(1, [null, 9.5], [null, 12.9]).map((q) => q.text)).toEqual(["9.5\u00a0L", "12.9\u00a0L"]);
  });

  test("says how many litres one of it holds, so that it can be held against the published number", () => {
    expect(quantityInUnit(litres("a.b_L", 38), gallons)).toMatchObject({
      path: "a.b_L",
      value: 38,
      times: LITRES_PER_USGAL,
    });
  });

  test("has litres in brackets where it is set and the device takes litres, and nowhere else", () => {
    const both = { ...gallons, litresInBrackets: true };
    expect(textIn(litresSet(null, 13.2), both)).toBe("3.49 US gal (13.2 L)");
    expect(textIn(litres(null, 13.2), both)).toBe("3.5 US gal");
  });

  test("in percent of the tank says so, an hour too, and leaves what the tank holds in litres", () => {
    const percent: VolumeWords = { sign: "% of the tank", litres: 1.44, litresInBrackets: false };
    expect(textIn(litres(null, 8.8), percent)).toBe("6.1 % of the tank");
    expect(textIn(quantityWith(null, 31.2, 16.1, "L/h"), percent)).toBe("22 ± 11 % of the tank an hour");
    expect(textIn(whole(setting("job.tank.capacity_L", 144, "L")), percent)).toBe("144 L");
  });

  test("is written alike in a figure and in a sentence", () => {
    for (const v of [0.003, 0.41, 5.83, 38.04, 136.4]) {
      expect(volumeText(v, gallons)).toBe(quantityInUnit(litres(null, v), gallons).text);
      expect(volumeSetText(v, gallons)).toBe(quantityInUnit(litresSet(null, v), gallons).text);
      expect(volumeText(v, inLitres)).toBe(litres(null, v).text);
    }
  });
});

describe("the job's unit", () => {
  const job = (
    volumeUnit: "L" | "USgal" | "impgal" | "kg" | "percent" | null,
    density: number | null,
    capacity_L: number | null,
  ) =>
    ({
      volumeUnit,
      pour: { density_kg_per_L: density },
      tank: { capacity_L },
      device: { tableVolumeUnit: "L", displayUnit: "percent" },
    }) as unknown as Parameters<typeof volumeWordsOf>[0];
  test("is taken where the job says what it needs, else litres", () => {
    expect(volumeWordsOf(job("USgal", null, null))).toMatchObject({ litres: LITRES_PER_USGAL, litresInBrackets: true });
    expect(volumeWordsOf(job("kg", 0.75, null))).toMatchObject({ sign: "kg", litres: 1 / 0.75 });
    expect(volumeWordsOf(job("percent", null, 60))).toMatchObject({ sign: "% of the tank", litres: 0.6 });
    for (const j of [job("kg", null, 60), job("percent", 0.75, null), job(null, 0.75, 60), job("L", null, 60), null])
      expect(volumeWordsOf(j)).toEqual(inLitres);
  });

  test("the contents have room for one unit: what the device takes in litres has no brackets there", () => {
    const set = [litresSet(null, 13.2)];
    const finding = { question: "", sentence: set, short: set, condition: [], caution: null };
    const said = findingInUnit(finding, { ...gallons, litresInBrackets: true });
    expect(textOf(said.sentence).replaceAll("\u00a0", " ")).toBe("3.49 US gal (13.2 L)");
    expect(textOf(said.short).replaceAll("\u00a0", " ")).toBe("3.49 US gal");
  });

  test("states gallons in fields, and a whole gallon comes back whole; what stands on density or capacity stays in litres", () => {
    expect(inVolume(38 * LITRES_PER_USGAL, statedIn(volumeWordsOf(job("USgal", null, null))))).toBe(38);
    expect(inVolume(38.125 * LITRES_PER_USGAL, gallons)).toBe(38.125);
    expect(inVolume(0.8, gallons)).toBe(0.2113);
    expect(statedIn(volumeWordsOf(job("percent", null, 60)))).toEqual(inLitres);
  });
});

describe("peat-hauler, whose job is in US gallons", () => {
  const { answers, sources } = runExample("peat-hauler");
  const inLitresOf = (phrases: Phrase[]) => phrases.filter((p) => typeof p !== "string" && inL.test(p.text));

  test("says every finding, condition and head line in them", () => {
    for (const { name, finding } of allFindings(answers)) {
      const said = finding ? [...allSaid(finding), ...finding.short, ...finding.condition] : [];
      expect(inLitresOf(said), name).toEqual([]);
      expect(inL.test(textOf(said)), name).toBe(false);
    }
    expect(textOf(allFindings(answers).find((l) => l.name === "curve")!.finding!.sentence)).toContain("US\u00a0gal");
    const { verdict, rows } = headOf(answers);
    expect(inL.test(textOf(verdict))).toBe(false);
    for (const row of rows)
      if (row.name !== "Doubtful" && row.name !== "Missing")
        for (const p of row.parts) expect(inL.test(textOf(p.phrases))).toBe(false);
  });

  test("draws every figure in them, and the figures are those in litres on another scale", () => {
    const drawn = figuresOf(answers);
    for (const figures of Object.values(drawn))
      for (const f of figures) {
        const words = [
          f.finding,
          ...f.key.map((k) => k.text),
          ...f.panels.flatMap((p) => [p.y.label, ...p.marks.map((m) => m.text), ...p.series.map((s) => s.name)]),
        ];
        expect(
          words.filter((w) => inL.test(w)),
          f.id,
        ).toEqual([]);
        expect([f.x.unit, ...f.panels.map((p) => p.y.unit)], f.id).not.toContain("L");
        expect(
          f.table.columns.filter((c) => /, L$|litres/.test(c)),
          f.id,
        ).toEqual([]);
      }
    const curve = drawn.curve![0]!.panels[0]!.series.find((s) => s.kind === "line" && s.role === "curve")!;
    const last_L = answers.curve.state === "ready" ? answers.curve.value.grid.at(-1)!.volume_L : Number.NaN;
    if (curve.kind === "line") expect(curve.y.at(-1)! * LITRES_PER_USGAL).toBeCloseTo(last_L, 9);
  });

  test("says the same in the report and on the command line", () => {
    const report = renderReport(answers, { files: [], choices: sources.choices, notebook: null, issuedAt: null });
    const finding = allFindings(answers).find((l) => l.name === "curve")!.finding!;
    const off = finding.sentence.find((p) => typeof p !== "string" && p.path?.endsWith("twoPointError_L")) as Quantity;
    expect(off.text).toBe("10\u00a0US\u00a0gal");
    expect(report).toContain(`>${off.text}</b> off`);
    expect(report).toContain(`${off.text} off, with half a level`);
    expect(summaryLines(answers).join("\n")).toContain("10 US gal off");
  });
});

test("a figure in litres is the same object for a job in litres", () => {
  const figure = figuresOf(runExample("moor-runner").answers).curve![0]!;
  expect(figureInUnit(figure, inLitres)).toBe(figure);
});

test("what the command line prints is in one unit, cautions too", () => {
  const { answers } = runExample("fen-skiff", (s) => ({ ...s, job: { ...s.job, volumeUnit: "USgal" } }));
  const cautions = summaryLines(answers).filter((line) => line.trimStart().startsWith("!"));
  expect(cautions.join("\n")).toMatch(/sits [\d.]+ ± [\d.]+ US gal low/);
  expect(cautions.filter((line) => /\d L\b/.test(line))).toEqual([]);
});
