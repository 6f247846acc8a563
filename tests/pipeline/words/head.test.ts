import { describe, expect, test } from "vitest";
import { textOf } from "../../../src/pipeline/words/all";
import { headOf } from "../../../src/pipeline/words/head";
import { runExample } from "../example-run";

const plain = (text: string) => text.replaceAll("\u00a0", " ");
const row = (head: ReturnType<typeof headOf>, name: string) =>
  plain((head.rows.find((r) => r.name === name)?.parts ?? []).map((p) => textOf(p.phrases)).join(" "));

describe("the head", () => {
  test("says what a number without a unit is, and leaves the words away where the unit says it", () => {
    expect(row(headOf(runExample("peat-hauler").answers), "Type in")).toMatch(/^Smoothing factor 0\.\d+, deadband /);
    expect(row(headOf(runExample("moor-runner").answers), "Type in")).toMatch(/^Smoothing \d+(\.\d)? s, deadband /);
  });

  test("what cannot be said yet is said with its chance, and with what is needed", () => {
    const { answers } = runExample("moor-runner");
    const verdict = answers.verdict.state === "ready" ? answers.verdict.value : null;
    const said = plain(textOf(headOf(answers).verdict));
    if (verdict?.decision === "cannot-be-said")
      expect(said).toMatch(
        /^Whether it is good enough cannot be said yet: right within ± 1\.6 L with a chance of \d+ %(, where \d+ % is needed to say so)?\.$/,
      );
    else expect(said).not.toContain("cannot be said");
  });

  test("a complaint's remedy leads to the leaf that it names", () => {
    const leafOf = (name: "fell-carrier" | "heath-dasher" | "reed-punt") =>
      headOf(runExample(name).answers).rows.find((r) => r.name === "Mend")!.parts[0]!;
    for (const [name, leaf] of [
      ["fell-carrier", "table"],
      ["heath-dasher", "display"],
      ["reed-punt", "trial"],
    ] as const) {
      const part = leafOf(name);
      expect(part.leaf?.name, textOf(part.phrases)).toBe(leaf);
    }
  });
});
