import { expect, test } from "vitest";
import { trustOf } from "../../../src/answer";
import { noChoices } from "../../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../../src/pipeline/index";
import { published } from "../../../src/said";

test("what stands on a mended pour holds if that pour was what it is taken for", () => {
  const read = [2.56, 2.45, 2.34, 2.22, 2.1, 1.97, 1.83, 1.67, 1.51, 1.32, 1.12, 0.9, 0.65];
  const text = `poured L,sender V\n${read.map((v, k) => `${k === 0 ? 0 : k === 5 ? 50 : 5},${v}`).join("\n")}\n`;
  const { curve } = answersOf(
    createPipeline({
      job: { fill: { enteredAs: "added" } },
      files: {
        fills: [{ name: "run.csv", kind: "fill", bytes: new TextEncoder().encode(text), sha256: "run" }],
        drives: [],
      },
      readings: {},
      choices: noChoices,
    }),
  );
  const { trust, condition } = trustOf(curve);
  expect(trust).toBe("holds-if");
  expect(published(condition!).replaceAll("\u00a0", " ")).toBe("pour 5 was 5.0 L");
});
