import { describe, expect, test } from "vitest";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import type { SourceFile } from "../../src/pipeline/recording";
import { readAs } from "../../src/pipeline/unlike-runs";
import { allFindings } from "../../src/pipeline/words/all";
import { published } from "../../src/said";

const plain = (text: string) => text.replaceAll("\u00a0", " ");
const volts = (litres: number) => 2.6 - 0.03 * litres - 0.0001 * litres * litres;
const sheet = (of: (litres: number, k: number) => string, header: string): string =>
  `${header}\n${Array.from({ length: 13 }, (_, k) => of(5 * k, k)).join("\n")}\n`;
const first = sheet((l, k) => `${k === 0 ? 0 : 5},${volts(l).toFixed(3)},12.6${k % 2}`, "poured L,sender V,other V");
const second = sheet(
  (l, k) => `${k === 0 ? 0 : 5},${(volts(l) + 0.004).toFixed(3)},12.6${k % 3}`,
  "poured L,sender V,other V",
);
const drawn = sheet(
  (l, k) => `${k === 0 ? 0 : 5},${(volts(60 - l) - 0.01).toFixed(3)},12.61`,
  "drawn L,sender V,other V",
);
const fileOf = (name: string, kind: "fill" | "drain", text: string): SourceFile => ({
  name,
  kind,
  bytes: new TextEncoder().encode(text),
  sha256: name,
});

function fillLeaf(files: SourceFile[], readings: Parameters<typeof createPipeline>[0]["readings"] = {}) {
  const answers = answersOf(
    createPipeline({
      job: { fill: { enteredAs: "added" } },
      files: { fills: files, drives: [] },
      readings,
      choices: noChoices,
    }),
  );
  const leaf = allFindings(answers).find((l) => l.name === "fill-run")!;
  if (leaf.answer.state !== "ready") throw new Error("the fill run should be there");
  const told = leaf.answer.cautions.find((c) => c.code === "several-runs/unlike");
  return { told, says: told ? plain(published(told.says)) : "", leaf };
}
const both = [fileOf("one.csv", "fill", first), fileOf("two.csv", "fill", second)];

describe("runs that cannot be of one sender in one tank", () => {
  test("runs that agree, and a drain beside them, are not doubted", () => {
    expect(fillLeaf(both).told).toBeUndefined();
    expect(fillLeaf([...both, fileOf("drain.csv", "drain", drawn)]).told).toBeUndefined();
  });
  test("a column that is not the sender's is a doubt on the fill-run leaf, with what either run was read as and what mends it", () => {
    const { told, says, leaf } = fillLeaf(both, { "two.csv": { columns: { reading: "other V" } } });
    expect(told?.weight).toBe("doubtful");
    expect(says).toMatch(
      /^two\.csv has 13 steps, 60\.0 L in all, from 12\.6 V to 12\.6 V, where one\.csv has 13 steps/,
    );
    expect(told!.remedy).toContain("Read it another way");
    expect(told!.remedyOnCommandLine).toContain("--map reading=COLUMN");
    // What such runs differ by is no figure of this tank.
    expect(JSON.stringify(leaf.finding)).not.toContain("differ as a whole");
  });
  test("volumes read the other way are a doubt too", () => {
    const totals = sheet((l, k) => `${l},${(volts(l) + 0.004).toFixed(3)},12.6${k % 3}`, "total L,sender V,other V");
    const files = [both[0]!, fileOf("two.csv", "fill", totals)];
    expect(fillLeaf(files, { "two.csv": { enteredAs: "cumulative" } }).told).toBeUndefined();
    const { told, says } = fillLeaf(files, { "two.csv": { enteredAs: "added" } });
    expect(told?.weight).toBe("doubtful");
    expect(says).toMatch(/^two\.csv has 13 steps, 390 L in all, from 2\.60 V to 0\.444 V/);
  });
  test("a drain is told in the order in which it was drawn", () => {
    const { says } = fillLeaf([both[0]!, fileOf("drain.csv", "drain", drawn)], {
      "drain.csv": { columns: { reading: "other V" } },
    });
    expect(says).toMatch(/^drain\.csv has 13 steps, 60\.0 L in all, from 12\.6 V/);
    // Alone it is kept turned round, and still told as it was drawn; beside a fill run it counts down from full.
    for (const files of [[], [both[0]!]]) {
      const answer = answersOf(
        createPipeline({
          job: { fill: { enteredAs: "added" } },
          files: { fills: [...files, fileOf("drain.csv", "drain", drawn)], drives: [] },
          readings: {},
          choices: noChoices,
        }),
      ).fillRun;
      if (answer.state !== "ready") throw new Error("the drain should be read");
      expect(plain(published(readAs(answer.value.runs.at(-1)!, "V")))).toBe(
        "13 steps, 60.0 L in all, from 0.430 V to 2.59 V",
      );
    }
  });
});

test("many steps on one rail are told as one cause, a few by their line", () => {
  const onSupply = (from: number, to: number) =>
    fillLeafCautions(
      sheet(
        (l, k) => `${k === 0 ? 0 : 5},${k >= from && k < to ? (5 - 0.001 * k).toFixed(3) : volts(60 - l).toFixed(3)}`,
        "poured L,sender V",
      ),
    );
  const many = onSupply(4, 13);
  expect(many).toHaveLength(1);
  expect(many[0]).toMatch(
    /9 of 13 steps, from step 4 \(line 6\) on, read 4\.99 V to 5\.00 V: each stands at the supply/,
  );
  expect(onSupply(5, 7)).toHaveLength(2);
});

function fillLeafCautions(text: string): string[] {
  const answers = answersOf(
    createPipeline({
      job: { fill: { enteredAs: "added" }, circuit: { kind: "pull-up", pullUpOhms: 220, supplyVolts: 5 } },
      files: { fills: [fileOf("run.csv", "fill", text)], drives: [] },
      readings: {},
      choices: noChoices,
    }),
  );
  const answer = answers.fillRun;
  if (answer.state !== "ready") throw new Error("the fill run should be there");
  return answer.cautions.filter((c) => c.code === "fill-run/on-a-rail").map((c) => plain(published(c.says)));
}
