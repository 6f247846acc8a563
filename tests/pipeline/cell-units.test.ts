/** Units inside cells: read where they agree with their column, refused by name where they do not. */

import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { unitsKept } from "../../src/csv";
import type { FileReading } from "../../src/pipeline/choices";
import { findSteps } from "../../src/pipeline/fill-run";
import { resolveJob } from "../../src/pipeline/job";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { published } from "../../src/said";

const answer = (text: string, kind: SourceFile["kind"] = "fill", by: FileReading | null = null) =>
  readRecording({ name: "run.csv", kind, bytes: new TextEncoder().encode(text), sha256: "0" }, by);
const read = (...given: Parameters<typeof answer>) => {
  const found = answer(...given);
  if (found.state !== "ready") throw new Error(found.state === "stuck" ? published(found.issue.says) : "waiting");
  return { ...found.value, cautions: found.cautions };
};
const refused = (...given: Parameters<typeof answer>) => {
  const found = answer(...given);
  if (found.state !== "stuck") throw new Error("was read");
  return found.issue;
};
const column = (r: ReturnType<typeof read>, role: string) => {
  const c = r.columns.find((one) => one.role === role)!;
  return { unit: c.unit, values: [...c.values], writtenStep: c.writtenStep };
};

describe("a number with its unit in the cell is read", () => {
  test("the cells give the column its unit where the header names none", () => {
    const r = read("poured;sender\n0 L;0,51 V\n5,0 L;1,13V\n5,0 L;1,55 V\n");
    expect(column(r, "volume")).toEqual({ unit: "L", values: [0, 5, 5], writtenStep: 0.1 });
    expect(column(r, "reading")).toEqual({ unit: "V", values: [0.51, 1.13, 1.55], writtenStep: 0.01 });
    expect(r.cautions).toEqual([]);
  });

  test("one such cell among plain numbers counts as they do, where it has their unit", () => {
    const r = read("volume_L,sender_V\n0,0.51\n5.0 L,1.13\n10.0,1.55 V\n");
    expect([column(r, "volume").values, column(r, "reading").values]).toEqual([
      [0, 5, 10],
      [0.51, 1.13, 1.55],
    ]);
    expect(r.oddLines).toEqual([]);
  });

  test("another prefix of the unit says the same quantity: a meter that changes its range", () => {
    const r = read("total L,sender\n0,510 mV\n5,1.13 V\n10,1.55 V\n");
    expect(column(r, "reading")).toEqual({ unit: "V", values: [0.51, 1.13, 1.55], writtenStep: 0.001 });
    const stated = read("total L,sender mV\n0,510\n5,1.13 V\n10,1550\n");
    expect(column(stated, "reading").values).toEqual([0.51, 1.13, 1.55]);
  });

  test("kilograms and percent become litres as the job says", () => {
    const steps = (text: string) => {
      const job = resolveJob({ tank: { capacity_L: 50 }, pour: { density_kg_per_L: 0.75 } });
      if (job.state !== "ready") throw new Error("the job is sound");
      const found = findSteps([read(text)], job.value);
      if (found.state !== "ready") throw new Error("no steps");
      return found.value.runs[0]!.steps.map((s) => s.volume_L);
    };
    expect(steps("total,sender\n0 kg,0.5 V\n12 kg,1.1 V\n24 kg,1.6 V\n")).toEqual([0, 16, 32]);
    expect(steps("total,sender\n0 %,0.5 V\n40 %,1.1 V\n80%,1.6 V\n")).toEqual([0, 20, 40]);
    expect(steps("added,sender\n0 g,0.5 V\n1500 g,1.1 V\n1500 g,1.6 V\n")).toEqual([0, 2, 4]);
  });

  test("blanks between the columns and before the units too", () => {
    const r = read("time volume sender\n10:00:00 0 L 0.51 V\n10:01:00 5.0 L 1.13 V\n10:02:00 10.0 L 1.55 V\n");
    expect([column(r, "volume").values, column(r, "reading").values]).toEqual([
      [0, 5, 10],
      [0.51, 1.13, 1.55],
    ]);
  });

  test("a unit stays with a number alone, not with a word that ends in one", () => {
    const isUnit = (word: string) => word === "L" || word === "V";
    expect(unitsKept("-5.0 L +1,25 V \u22123 V", isUnit)).toBe("-5.0\u00a0L +1,25\u00a0V \u22123\u00a0V");
    for (const words of ["x5 L", "A5 L", ":5 L", "(5 L"]) expect(unitsKept(words, isUnit)).toBe(words);
  });

  test("a drive log with units in every cell is the plain one, long as it is", () => {
    const rows = Array.from(
      { length: 12_000 },
      (_, i) => [(i / 10).toFixed(1), (1 + (i % 97) / 50).toFixed(2)] as const,
    );
    const withUnits = read(`time,sender\n${rows.map(([t, v]) => `${t} s,${v} V`).join("\n")}\n`, "drive");
    const plain = read(`time s,sender V\n${rows.map((r) => r.join(",")).join("\n")}\n`, "drive");
    expect(withUnits.rows).toBe(12_000);
    for (const role of ["time", "reading"]) expect(column(withUnits, role)).toEqual(column(plain, role));
  });

  test("settings in a preamble and amounts in remarks stay words", () => {
    const r = read("Interval=\t0.1 s\nRange=\t20 V\ntime\tsender\n0 s\t2.1 V\n0.1 s\t2.2 V\n0.2 s\t2.3 V\n", "drive");
    expect([r.decided.headerLine, column(r, "reading").values]).toEqual([3, [2.1, 2.2, 2.3]]);
    const remarks = read("time s,sender mV,remark\n0,510,\n1,520,5 L\n2,530,hose moved\n3,531,2 min\n", "drive");
    expect(remarks.columns[2]).toMatchObject({ role: null, unit: null });
    expect([...remarks.columns[2]!.valid]).toEqual([0, 0, 0, 0]);
  });
});

describe("a unit that cannot be is refused with its line, its column and what mends it", () => {
  test("two units in one column: the cell that stands alone is named", () => {
    expect(refused("volume,sender\n0 L,0.51 V\n5.0 gal,1.13 V\n10 L,1.55 V\n")).toMatchObject({
      code: "recording/units-differ",
      says: "run.csv, line 3, volume: “5.0 gal” has another unit: “0 L” stands in line 2 of the same column.",
      remedy: "Correct the cell, or write all cells of the column in one unit.",
      where: { file: "run.csv", row: 3, column: "volume", text: "5.0 gal,1.13 V" },
    });
  });

  test("a unit against the header's", () => {
    expect(refused("volume_L,sender_V\n0,0.51\n5.0,1.13\n10,155 ohm\n")).toMatchObject({
      says: "run.csv, line 4, sender_V: “155 ohm” has another unit: the column is in V.",
      where: { row: 4, column: "sender_V" },
    });
  });

  test("a unit of another quantity than the column's name, or than the role given by hand", () => {
    expect(refused("volume,sender\n0 V,0.51 V\n5 V,1.13 V\n10 V,1.55 V\n").says).toBe(
      "run.csv, line 2, volume: “0 V” is in V, which is no unit of a volume.",
    );
    expect(refused("a,b\n0 mm,1 V\n4 mm,2 V\n", "fill", { columns: { volume: "a", reading: "b" } })).toMatchObject({
      code: "recording/unit-of-another-quantity",
      where: { row: 2, column: "a" },
    });
  });

  test("a unit stated by hand against the one in the file", () => {
    expect(refused("a;b\n0 L;510 mV\n4 L;720 mV\n", "fill", { units: { reading: "V" } })).toMatchObject({
      code: "recording/stated-unit",
      says: "run.csv, line 2, b: V is stated as the unit, and “510 mV” stands in the file.",
    });
    expect(
      column(read("a;b\n0 L;510 mV\n4 L;720 mV\n", "fill", { units: { reading: "mV" } }), "reading").values,
    ).toEqual([0.51, 0.72]);
  });

  test("the wrong decimal mark is named with its unit too", () => {
    const r = read("volume_L;sender_V\n0;0.51\n4;1,13 V\n8;1.55\n12;1.9\n");
    expect(r.oddLines[0]).toMatchObject({ code: "recording/mixed-decimals", where: { row: 3 } });
  });

  test("commas that part columns and numbers alike are still seen between units", () => {
    expect(refused("volume,sender\n0 L,0,51 V\n5,0 L,1,13 V\n10,0 L,1,55 V\n").code).toBe("recording/split-decimals");
  });
});

const words = { L: ["L", "l", "litres"], V: ["V", "volt"], mV: ["mV"], kg: ["kg"], ohm: ["Ω", "ohm"] } as const;

test("one foreign unit anywhere in a column of units is refused at its own line, never read", () => {
  const pair = fc.constantFrom(["L", "kg"], ["kg", "L"], ["V", "ohm"], ["mV", "ohm"], ["ohm", "V"]);
  fc.assert(
    fc.property(pair, fc.integer({ min: 3, max: 20 }), fc.nat(), fc.boolean(), ([own, foreign], n, at, inHeader) => {
      const isVolume = own === "L" || own === "kg";
      const odd = at % n;
      const cells = Array.from({ length: n }, (_, i) => {
        const unit = words[(i === odd ? foreign : own) as keyof typeof words];
        return `${(i + 1.5).toFixed(1)} ${unit[i % unit.length]}`;
      });
      const other = (i: number) => (isVolume ? `${i}.5 V` : `${i} L`);
      const head = `${isVolume ? "volume" : "sender"}${inHeader ? ` (${own})` : ""}`;
      const rows = cells.map((c, i) => `${c};${other(i)}`);
      const issue = refused(`${head};${isVolume ? "sender" : "volume"}\n${rows.join("\n")}\n`);
      expect(issue).toMatchObject({ code: "recording/units-differ", where: { row: odd + 2, column: head } });
    }),
    { numRuns: 200 },
  );
});
