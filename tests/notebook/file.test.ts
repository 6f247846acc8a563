import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { apply } from "../../src/notebook/edits";
import { openNotebookText, writeNotebook } from "../../src/notebook/file";
import { emptyNotebook } from "../../src/notebook/notebook";
import { anyEdit } from "./any-edit";

const issueOf = (text: string) => {
  const opened = openNotebookText(text);
  if (opened.state !== "stuck") throw new Error("it was opened");
  return opened.issue;
};

describe("the notebook file", () => {
  test("opens as it was saved, after any edits", () => {
    fc.assert(
      fc.property(fc.array(anyEdit, { maxLength: 10 }), (edits) => {
        const notebook = edits.reduce((n, e) => apply(n, e, "2026-01-02T03:04:05.000Z"), emptyNotebook);
        expect(openNotebookText(writeNotebook(notebook))).toEqual({ state: "ready", value: notebook, cautions: [] });
      }),
      { seed: 5, numRuns: 200 },
    );
  });

  test("cut short anywhere is refused, and never opened as something else", () => {
    const whole = writeNotebook({ ...emptyNotebook, title: "A } in the title" });
    fc.assert(
      fc.property(fc.integer({ min: 0, max: whole.trimEnd().length - 1 }), (length) => {
        expect(issueOf(whole.slice(0, length)).code).toBe("notebook/cut-short");
      }),
      { seed: 3, numRuns: 100 },
    );
  });

  test("of a newer version, another kind, or with a wrong field says which", () => {
    const whole = writeNotebook(emptyNotebook);
    expect(issueOf(whole.replace('"version": 1', '"version": 2')).code).toBe("notebook/newer");
    expect(issueOf("{}").code).toBe("notebook/other-file");
    expect(issueOf("[1]").code).toBe("notebook/other-file");
    const wrong = issueOf(whole.replace('"job": {}', '"job": {"tank": {"capacity_L": "full"}}'));
    expect(wrong).toMatchObject({ code: "notebook/invalid", where: { column: "job.tank.capacity_L" } });
  });

  test("of an older hand with fields missing gets the empty ones", () => {
    const { looseNotes: _l, folded: _f, ...older } = JSON.parse(writeNotebook(emptyNotebook));
    expect(openNotebookText(JSON.stringify(older))).toMatchObject({
      state: "ready",
      value: { looseNotes: [], folded: [] },
    });
  });

  test("with keys that would reach into every object reaches into none", () => {
    const text = writeNotebook(emptyNotebook).replace(
      "{",
      '{"__proto__": {"polluted": 1}, "constructor": {"prototype": {"polluted": 1}},',
    );
    expect(openNotebookText(text).state).toBe("ready");
    expect("polluted" in {}).toBe(false);
  });

  test("whose fill run was changed by hand is refused by its hash", () => {
    const file = { name: "fill.csv", kind: "fill" as const, bytes: new Uint8Array([97]), sha256: "0".repeat(64) };
    expect(openNotebookText(writeNotebook({ ...emptyNotebook, fills: [file] }), () => "1".repeat(64))).toMatchObject({
      state: "ready",
      cautions: [{ code: "notebook/changed-file", weight: "doubtful" }],
    });
  });
});
