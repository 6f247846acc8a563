import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { exampleNames, makeExample } from "../datasets/examples";
import { jobInputSchema } from "../src/pipeline/job";

describe("example jobs", () => {
  it.each(exampleNames)("%s stands in its folder as its seed makes it", (name) => {
    for (const file of makeExample(name)) {
      const stands = readFileSync(new URL(`../datasets/${name}/${file.name}`, import.meta.url), "utf8");
      // Compared as a yes or no, so that a difference does not print a megabyte.
      expect(stands === file.text, `${name}/${file.name}: run npm run datasets`).toBe(true);
    }
  });

  it.each(exampleNames)("%s says that it is invented, and its job is one that the notebook takes", (name) => {
    const files = Object.fromEntries(makeExample(name).map((f) => [f.name, f.text]));
    expect(files["about.md"]).toContain("**Invented.**");
    expect(JSON.parse(files["truth.json"]!).invented).toBe(true);
    expect(jobInputSchema.safeParse(JSON.parse(files["job.json"]!)).success).toBe(true);
  });

  it("the skiff's sheet misses a pour at step 6 and holds a bad reading at step 10", () => {
    const truth = JSON.parse(makeExample("fen-skiff").find((f) => f.name === "truth.json")!.text);
    expect(truth.faults.map((f: { kind: string; step: number }) => [f.kind, f.step])).toEqual([
      ["missed-pour", 6],
      ["wrong-reading", 10],
    ]);
  });
});
