/** What mends an issue has a form for the page and one for the command line, each of which can be followed where it is read. */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { lineOf } from "../../src/cli/given";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import type { SourceFile } from "../../src/pipeline/recording";
import { summaryLines } from "../../src/pipeline/summary";
import { byColumn, mendedBy } from "../../src/pipeline/ways";

const file = (kind: SourceFile["kind"], text: string): SourceFile => ({
  name: `${kind}.csv`,
  kind,
  bytes: new TextEncoder().encode(text),
  sha256: kind,
});
const answers = (...files: SourceFile[]) =>
  answersOf(
    createPipeline({
      job: {},
      files: { fills: files.filter((f) => f.kind !== "drive"), drives: files.filter((f) => f.kind === "drive") },
      readings: {},
      choices: noChoices,
    }),
  );
const steps = (head: string) =>
  `${head}\n${Array.from({ length: 12 }, (_, i) => `${i === 0 ? 0 : 5},${(0.5 + i / 5).toFixed(2)},${(3 - i / 5).toFixed(2)}`).join("\n")}\n`;

describe("one sentence, two ways", () => {
  test("differs only in the way", () => {
    expect(mendedBy(byColumn("reading", "time"), (way) => `Name them ${way}.`)).toEqual({
      remedy: "Name them under “Read it another way”.",
      remedyOnCommandLine: "Name them with --map reading=COLUMN,time=COLUMN.",
    });
  });

  test("a file that cannot be read says on the page where to choose, and on the command line which option", () => {
    const stuckOn = (given: SourceFile) => {
      const { fills, fillRun } = answers(given);
      const stuck = fills.state === "stuck" ? fills : fillRun;
      if (stuck.state !== "stuck") throw new Error("was read");
      return [stuck.issue.remedy, lineOf(stuck.issue)];
    };
    const [page, line] = stuckOn(file("fill", steps("added_L,sender_V,sender_V")));
    expect(page).toBe("Choose the column by its number under “Read it another way”.");
    expect(line).toMatch(/Choose the column by its number with --map reading=COLUMN\.$/);
    const [, down] = stuckOn(file("fill", "total_L,sender_V\n0,0.5\n5,1\n10,1.5\n4,2\n"));
    expect(down).toContain("name the file with --drain");
  });

  test("nothing that the command line prints sends its reader to a place on the page", () => {
    const drain = file("drain", steps("total_L,sender_V,level_V"));
    const printed = [
      summaryLines(answers(drain)),
      summaryLines(answers(file("fill", steps("poured,sender,level")))),
      summaryLines(answers()),
    ].flat();
    expect(printed.some((line) => line.includes("--map reading=COLUMN"))).toBe(true);
    expect(printed.filter((line) => /another way”|drained until”|^Drop |into the grid/.test(line))).toEqual([]);
  });

  test("no stage names a place of the page without the other form", () => {
    const folder = new URL("../../src/pipeline/", import.meta.url);
    const alone = readdirSync(folder)
      .filter((name) => name.endsWith(".ts"))
      .flatMap((name) =>
        readFileSync(new URL(name, folder), "utf8")
          .split("\n")
          .filter((line) => /remedy:.*(another way”|drained until”|odd steps”|Drop |the grid)/.test(line))
          .map((line) => `${name}: ${line.trim()}`),
      );
    expect(alone).toEqual([]);
  });
});
