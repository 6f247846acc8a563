import { describe, expect, test } from "vitest";
import { ready, stuck } from "../../../src/answer";
import { allFindings, textOf } from "../../../src/pipeline/words/all";
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

  test("a warning that is typed as the display counts it has beside it what is usable then, and its leaf says why", () => {
    const shows = (shown: "usable" | "since-start") => {
      const { answers } = runExample("moor-runner", (s) => ({
        ...s,
        job: { ...s.job, fill: { ...s.job.fill, startedFrom: "drained" }, device: { ...s.job.device, shows: shown } },
      }));
      const leaf = allFindings(answers).find((l) => l.name === "low-fuel")!.finding!;
      return { typed: row(headOf(answers), "Type in"), says: plain(textOf(leaf.condition)) };
    };
    const all = shows("since-start");
    expect(all.typed).toMatch(/warn at \d+ L as it shows, [\d.]+ L usable\.$/);
    expect(all.says).toMatch(/^Typed 1\.2 L higher: the device shows what is not usable too\./);
    const usable = shows("usable");
    expect(usable.typed).toMatch(/warn at \d+ L\.$/);
    expect(usable.says).not.toContain("not usable");
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

  test("what is not good enough is said beside what is allowed", () => {
    const { answers } = runExample("moor-runner");
    const verdict = answers.verdict.state === "ready" ? answers.verdict.value : null;
    const worse = { ...verdict!, decision: "does-not-conform" as const, largest_L: 3.14, tolerance_L: 1.6 };
    expect(plain(textOf(headOf({ ...answers, verdict: ready(worse) }).verdict))).toBe(
      "Not good enough yet: the largest error is likely 3.1 L, where ± 1.6 L is allowed.",
    );
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

  test("where the search for a complaint's cause broke off, that is said first, and among what is missing", () => {
    const { answers } = runExample("reed-punt");
    const issue = { code: "complaint/internal", says: "A computation (complaint) failed on your data: too deep." };
    const head = headOf({ ...answers, complaint: stuck(issue) });
    expect(textOf(head.verdict)).toMatch(/^What causes the complaint could not be looked for/);
    expect(row(head, "Missing")).toContain(issue.says);
  });

  test("more doubts than the head has room for are counted", () => {
    const { answers } = runExample("moor-runner");
    const curve = answers.curve.state === "ready" ? answers.curve.value : null;
    const doubts = (n: number) =>
      Array.from({ length: n }, (_, i) => ({
        code: `curve/made-up-${i}`,
        says: `Doubt ${i}.`,
        weight: "doubtful" as const,
      }));
    const doubtful = (n: number) => row(headOf({ ...answers, curve: ready(curve!, doubts(n)) }), "Doubtful");
    const own = headOf(answers).rows.find((r) => r.name === "Doubtful")?.parts.length ?? 0;
    expect(doubtful(6 - own)).not.toContain("said on their leaves");
    expect(doubtful(9 - own)).toContain("And four more, said on their leaves.");
  });
});
