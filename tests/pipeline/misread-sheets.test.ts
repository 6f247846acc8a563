/** Sheets that are read another way than they were written: refused or doubted, with what mends them. */
import { describe, expect, test } from "vitest";
import type { JobInput } from "../../src/pipeline/job";
import { published } from "../../src/said";
import { answerOf, runsOf, sheet } from "./typed-sheets";

describe("a sheet that is read another way than it was written", () => {
  const tank = { tank: { capacity_L: 30 } };
  const said = (texts: string | [string, "fill" | "drain"][], input: JobInput) => {
    const answer = answerOf(texts, input);
    if (answer.state === "stuck")
      return `${answer.issue.code} ${published(answer.issue.says)} ${published(answer.issue.remedyOnCommandLine ?? answer.issue.remedy ?? "")}`;
    return answer.state === "ready"
      ? answer.cautions
          .map((c) => `${c.code} ${published(c.says)} ${published(c.remedyOnCommandLine ?? c.remedy ?? "")}`)
          .join("\n")
      : answer.state;
  };
  const each: [number, number][] = [[0, 0.5], [5, 0.9], [5, 1.35], [5, 1.7], [5, 2.2], [5, 2.61]]; // biome-ignore format: a sheet

  test("equal pours that are said to be counted up are refused with the row and what mends it; a copied row or two are not", () => {
    expect(said(sheet(each), { ...tank, fill: { enteredAs: "cumulative" } })).toMatch(
      /^fill-run\/pours-as-totals .*line 4: the volume stands at 5.00.L in nearly every row while the reading goes on.*each row seems to be one pour\. If so, say it: with --set fill\.enteredAs=added\./,
    );
    expect(
      said([[sheet([[0, 0.5], [5, 0.9], [10, 1.35], [15, 1.7], [20, 2.2], [25, 2.61]], "total_L,sender_V"), "fill"], [sheet(each.map(([v], k) => [v, each[5 - k]![1]])), "drain"]], { ...tank, fill: { enteredAs: "cumulative" } }), // biome-ignore format: two sheets
    ).toMatch(/pours-as-totals .*each row seems to be one draw/);
    const twice = sheet([[0, 0.5], [5, 0.9], [5, 1.1], [10, 1.35], [15, 1.7], [20, 2.2]], "total_L,sender_V"); // biome-ignore format: a sheet
    expect(said(twice, { ...tank, fill: { enteredAs: "cumulative" } })).not.toContain("pours-as-totals");
    // Six readings at each of four levels, to and fro: a level that was read often is no sheet of pours.
    const often = Array.from({ length: 24 }, (_, k): [number, number] => [
      5 * Math.floor(k / 6),
      0.5 + 0.4 * Math.floor(k / 6) + [0, 0.03, -0.02, 0.01, -0.03, 0.02][k % 6]!,
    ]);
    const readOften = said(sheet(often, "total_L,sender_V"), { ...tank, fill: { enteredAs: "cumulative" } });
    expect(readOften).not.toContain("pours-as-totals");
  });

  test("totals that are read as pours are told as such where they pass the tank's capacity", () => {
    const totals = sheet([[0, 0.5], [5, 0.9], [10, 1.35], [15, 1.7], [20, 2.2], [25, 2.61]]); // biome-ignore format: a sheet
    expect(said(totals, { ...tank, fill: { enteredAs: "added" } })).toMatch(
      /over-capacity The pours add up to 75.0.L.*each row is more than the one before, up to 25.0.L: they seem to be counted up.*--set fill\.enteredAs=cumulative/,
    );
    const doubled = sheet([...each, [10, 2.9]]);
    expect(said(doubled, { tank: { capacity_L: 30 }, fill: { enteredAs: "added" } })).toMatch(
      /written too large or twice, or a unit/,
    );
  });

  test("a run that fills hardly any of the stated tank is doubted: a unit or a decimal mark", () => {
    const small = sheet(each.map(([v, r]) => [v / 1000, r]));
    expect(said(small, tank)).toMatch(/little-of-the-tank The pours add up to 0.0250.L, a small part of the 30.0.L/);
    expect(said(sheet(each), tank)).not.toContain("little-of-the-tank");
  });

  test("millivolts without their unit are refused with what they look like; readings a little over the supply are told in one line", () => {
    const circuit = { pullUpOhms: 240, supplyVolts: 5, adcBits: 12 };
    const milli = sheet(each.map(([v, r]) => [v, 1000 * r]));
    expect(said(milli, { circuit, readingUnit: "V" })).toMatch(
      /^fill-run\/not-volts .*line 2: the readings run from 500.V to 2610.V where the supply is 5.00.V: they are not volts, and look like millivolts or counts of the converter\. Write the unit/,
    );
    const high = said(sheet(each.map(([v, r]) => [v, 2.4 * r])), { circuit, readingUnit: "V" });
    expect(high).toMatch(/over-the-supply .*line 7: 2 of 6 readings are over the 5.00.V of the supply, up to 6.26.V/);
    expect(high).not.toContain("on-a-rail");
  });

  test("cells that are no numbers are named where they leave too few steps", () => {
    expect(said("volume ml;sender V\n0;0,51\n5.000;1,13\n10.000;1,55\n15.000;1,9\n", {})).toMatch(
      /^fill-run\/one-step fill.csv, line 3, volume ml: “5.000” has a decimal point where the file has a decimal comma.*leaves one step/,
    );
  });

  test("a second run under the first is told by the header between them", () => {
    const rows = "0,0.5\n5,0.9\n10,1.35\n15,1.7\n";
    expect(said(`total_L,sender_V\n${rows}total_L,sender_V\n${rows}`, {})).toMatch(
      /volume-goes-down fill.csv, line 7.*Line 6 names the columns anew: if a further run begins there, give it a file of its own\./,
    );
  });

  test("readings in percent are told as what they are taken for, and what sets the table's step", () => {
    const percent = "total_L,% of supply\n0,50.02\n5,48.16\n10,46.14\n15,43.9\n20,41.64\n";
    expect(said(percent, {})).toMatch(
      /fill-run\/percent .*taken as the device’s own counts.*--set device\.tableReadingStep=0\.1/,
    );
    expect(runsOf(percent).value.inPercent).toBe(true);
  });

  test("readings below nothing are told in one line, with the leads of the meter", () => {
    const circuit = { pullUpOhms: 240, supplyVolts: 5 };
    const below = said(sheet(each.map(([v, r]) => [v, -r])), { circuit, readingUnit: "V" });
    expect(below).toMatch(
      /below-nothing fill.csv, line 7: 6 of 6 readings are below nothing, down to −2.61.V: .*leads of the meter/,
    );
    expect(below).not.toContain("on-a-rail");
  });

  test("a reading that stays at zero behind a pull-up names the missing pull-up too", () => {
    const flat = sheet(each.map(([v]) => [v, 0]));
    const circuit = { pullUpOhms: 240, supplyVolts: 5 };
    expect(said(flat, { circuit, readingUnit: "V" })).toMatch(
      /shorted to ground or the supply is off, or the pull-up is missing/,
    );
    expect(said(sheet(each.map(([v]) => [v, 2.5])), { circuit, readingUnit: "V" })).not.toContain("pull-up");
  });
});
