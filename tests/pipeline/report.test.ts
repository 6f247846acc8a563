import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { tied } from "../../src/format";
import { noChoices } from "../../src/pipeline/choices";
import { figuresOf } from "../../src/pipeline/figures/all";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import type { SourceFile } from "../../src/pipeline/recording";
import { escapeHtml, escapeJson, renderReport } from "../../src/pipeline/report";

const folder = new URL("../../datasets/fen-skiff/", import.meta.url);
const fill: SourceFile = {
  name: "<img src=x onerror=alert(1)>.csv",
  kind: "fill",
  bytes: new Uint8Array(readFileSync(new URL("fill.csv", folder))),
  sha256: "ab".repeat(32),
};
const job = JSON.parse(readFileSync(new URL("job.json", folder), "utf8"));

function report(notebook: unknown): string {
  const answers = answersOf(
    createPipeline({ job, files: { fills: [fill], drives: [] }, readings: {}, choices: noChoices }),
  );
  return renderReport(answers, { files: [fill], choices: noChoices, notebook, issuedAt: "2026-11-21T14:26:00.000Z" });
}
const hostile = `</script><script>alert(1)</script><b onclick="x">&`;
const notebook = {
  title: hostile,
  about: hostile,
  notes: { curve: { text: hostile, at: "2026-11-21T14:20:00.000Z" } },
  looseNotes: [
    { id: "a", after: "curve", text: "The second key is with the owner.", at: "2026-11-21T14:21:00.000Z" },
    { id: "b", after: "curve", text: " ", at: "2026-11-21T14:22:00.000Z" },
  ],
  decisions: [{ what: hostile, why: hostile, at: "2026-11-21T14:26:00.000Z" }],
};
const html = report(notebook);

describe("renderReport", () => {
  it("holds no script that runs, and asks nothing of any network", () => {
    const scripts = [...html.matchAll(/<script([^>]*)>/g)].map((m) => m[1]);
    expect(scripts).toEqual([' type="application/json" id="notebook"']);
    expect(html).not.toMatch(/\b(?:src|href)="?https?:/);
    expect(html).not.toMatch(/@import|url\((?!#)/);
  });

  it("escapes title, notes, reasons and file names", () => {
    expect(html).not.toContain("<b onclick");
    expect(html).not.toContain("<img");
    expect(html).toContain(escapeHtml(hostile));
  });

  it("shows a note between leaves behind the leaf that it follows, and no empty one", () => {
    const notes = [...html.matchAll(/<p class="note loose">([^<]*)<\/p>/g)];
    expect(notes.map((n) => n[1])).toEqual(["The second key is with the owner."]);
    const questions = [...html.matchAll(/<p class="question">([^<]*)</g)];
    const before = questions.filter((q) => q.index < notes[0]!.index).at(-1)!;
    expect(before[1]).toBe("Which volume does a reading mean?");
  });

  it("carries the notebook as data that opens to the very same object", () => {
    const data = /<script type="application\/json" id="notebook">([\s\S]*?)<\/script>/.exec(html)![1]!;
    expect(JSON.parse(data)).toEqual(notebook);
  });

  it("tells the hash of every file that was brought in, and the date as it was issued", () => {
    expect(html).toContain(fill.sha256);
    expect(html).toContain("2026-11-21 14:26 UTC");
  });

  it("sets the rows of a long table in lines that a sheet of paper holds, each row once and in order", () => {
    const long = { ...job, device: { ...job.device, maxTablePoints: 20 } };
    const answers = answersOf(
      createPipeline({
        job: long,
        files: { fills: [fill], drives: [] },
        readings: {},
        choices: { ...noChoices, table: { points: 16 } },
      }),
    );
    if (answers.table.state !== "ready") throw new Error("the table should be ready");
    const rows = answers.table.value.rows;
    expect(rows).toHaveLength(16);
    const page = renderReport(answers, { files: [fill], choices: noChoices, notebook: null, issuedAt: null });
    const head = /<table class="type-in">(.*?)<\/table>/s.exec(page)![1]!;
    const lines = [...head.matchAll(/<tr><th scope="row">(\w+)[^<]*<\/th>(.*?)<\/tr>/gs)].map((m) => ({
      what: m[1],
      cells: [...m[2]!.matchAll(/<td class="number">(.*?)<\/td>/g)].map((c) => c[1]!),
    }));
    expect(lines).toHaveLength(6);
    for (const line of lines) expect(line.cells).toHaveLength(6);
    const typed = (what: string) =>
      lines.filter((l) => l.what === what).flatMap((l) => l.cells.filter((c) => c !== ""));
    expect(typed("Reading")).toEqual(rows.map((r) => r.typedReading));
    expect(typed("Volume")).toEqual(rows.map((r) => r.typedVolume));
  });

  it("lists the settings digit by digit, and draws every figure that there is", () => {
    const answers = answersOf(
      createPipeline({ job, files: { fills: [fill], drives: [] }, readings: {}, choices: noChoices }),
    );
    for (const figure of Object.values(figuresOf(answers)).flat())
      for (const k of figure.key) expect(html, `${figure.id}: the key`).toContain(`${escapeHtml(tied(k.text))}</span>`);
    expect(answers.settings.state).toBe("ready");
    if (answers.settings.state !== "ready") return;
    for (const line of answers.settings.value.lines) expect(html).toContain(`>${escapeHtml(line.digits)}<`);
    expect(html.match(/<svg xmlns/g)!.length).toBeGreaterThanOrEqual(4);
    expect(html).not.toMatch(/NaN|undefined|\[object/);
  });

  it("says what is missing where a drive log was not brought", () => {
    expect(html).toContain("This cannot be said.");
    expect(html).toContain(">Missing<");
  });

  it("stands without a notebook too", () => {
    expect(report(null)).toContain('id="notebook">null</script>');
    expect(report(null)).not.toContain("The notebook lies in this file");
  });
});

describe("escapeJson", () => {
  it("lets nothing end the block that it stands in", () => {
    const text = escapeJson({ a: "</script><!-- &" });
    expect(text).not.toMatch(/[<>&]/);
    expect(JSON.parse(text)).toEqual({ a: "</script><!-- &" });
  });
});
