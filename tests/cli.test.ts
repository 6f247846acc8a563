import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, describe, expect, test, vi } from "vitest";
import { main } from "../src/cli";
import { lineOf } from "../src/cli/given";
import { apply } from "../src/notebook/edits";
import { writeNotebook } from "../src/notebook/file";
import { emptyNotebook, type Notebook } from "../src/notebook/notebook";
import { analysisOf } from "../src/pipeline/analysis";
import { complaintNames, exampleNames, pathOf, runExample, sourceFile } from "./pipeline/example-run";

const folder = mkdtempSync(join(tmpdir(), "fillbook-cli-"));
afterAll(() => rmSync(folder, { recursive: true }));
const write = (name: string, content: string) => {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
};
const read = (name: string) => readFileSync(join(folder, name), "utf8");
const top = fileURLToPath(new URL("..", import.meta.url));

/** The command in this process: its exit code and what it wrote. */
async function run(...args: string[]) {
  const out: string[] = [];
  const err: string[] = [];
  const spies = [
    vi.spyOn(process.stdout, "write").mockImplementation((text) => out.push(String(text)) > 0),
    vi.spyOn(process.stderr, "write").mockImplementation((text) => err.push(String(text)) > 0),
  ];
  try {
    const code = await main(args);
    return { code, out: out.join(""), err: err.join("") };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}
const fenArgs = ["--job", pathOf("fen-skiff", "job.json"), "--fill", pathOf("fen-skiff", "fill.csv")];
const goodSheet = "volume_L,sender_V\n0,0.5\n4,1.1\n8,1.6\n12,2.0\n16,2.3\n";

describe("analyse", () => {
  test("from a shell: the analysis alone on standard output, the same as the pipeline's own, exit 0", () => {
    const drive = pathOf("fen-skiff", "drive.csv");
    const out = execFileSync(
      "npm",
      ["run", "--silent", "fillbook", "--", "analyse", ...fenArgs, "--drive", drive, "--json", "-"],
      {
        cwd: top,
        encoding: "utf8",
        maxBuffer: 1e8,
      },
    );
    const { answers, all } = runExample("fen-skiff");
    expect(JSON.parse(out)).toEqual(analysisOf(answers, all));
  });

  test("from a shell: bad data exits with 1 and one line, wrong usage with 2", () => {
    const shell = (...args: string[]) =>
      spawnSync("npx", ["tsx", "src/cli.ts", ...args], { cwd: top, encoding: "utf8" });
    const bad = shell("analyse", "--fill", write("header.csv", "volume_L,sender_V\n"));
    expect([bad.status, bad.stdout]).toEqual([1, ""]);
    expect(bad.stderr.trim().split("\n")).toHaveLength(1);
    expect(shell("analyse").status).toBe(2);
  });

  test("without --json the leaves speak in plain words, one line each, cautions under them", async () => {
    const { code, out, err } = await run("analyse", "--fill", write("typo.csv", goodSheet.replace("8,1.6", "8,?!")));
    expect([code, err]).toEqual([0, ""]);
    expect(out).toMatch(/^fill run: +5 steps|^fill run: +4 steps/m);
    expect(out).toContain("! typo.csv, line 4, sender_V: “?!” is no number");
    expect(out).not.toContain("\u00a0");
  });

  test("--quiet says nothing, and files are written where they were asked for", async () => {
    const files = ["a.json", "t.csv", "r.html"].map((f) => join(folder, f));
    const { code, out, err } = await run(
      "analyse",
      ...fenArgs,
      "--quiet",
      ...["--json", files[0]!, "--table", files[1]!, "--report", files[2]!],
    );
    expect([code, out, err]).toEqual([0, "", ""]);
    const analysis = JSON.parse(read("a.json"));
    const rows = read("t.csv").trim().split("\n");
    expect(rows[0]).toBe("reading_V,volume_L");
    expect(rows.slice(1)).toEqual(
      analysis.table.map((r: { typedReading: string; typedVolume: string }) => `${r.typedReading},${r.typedVolume}`),
    );
    expect(read("r.html")).toMatch(/^<!doctype html>/i);
  });

  test.each([
    ["empty.csv", "", "empty.csv: the file is empty. Export it again."],
    ["one.csv", "volume_L,sender_V\n0,0.5\n", "one.csv has one step; a curve needs at least two volumes"],
    ["flat.csv", "volume_L,sender_V\n0,0.5\n4,0.5\n8,0.5\n", "stays at 0.5"],
    [
      "down.csv",
      "total_L,sender_V\n0,0.5\n4,1.1\n3,1.3\n8,1.6\n",
      "down.csv, line 4, column total_L: the volume goes down",
    ],
  ])("%s exits with 1 and one line that names the file", async (name, content, told) => {
    const { code, out, err } = await run("analyse", "--fill", write(name, content));
    expect([code, out]).toEqual([1, ""]);
    expect(err).toContain(told);
    expect(err).toContain(name);
    expect(err.trim().split("\n")).toHaveLength(1);
  });

  test("a job that is no JSON, or holds a field of the wrong kind, exits with 1 and its path", async () => {
    const fill = write("good.csv", goodSheet);
    expect((await run("analyse", "--fill", fill, "--job", write("cut.json", '{"tank": {'))).err).toContain("cut.json");
    const wrong = await run("analyse", "--fill", fill, "--set", "tank.capacity_L=plenty");
    expect(wrong.code).toBe(1);
    expect(wrong.err).toContain("tank.capacity_L");
    expect((await run("analyse", "--fill", fill, "--job", write("list.json", "[]"))).code).toBe(1);
    // The place is where it was written: the file, or the option.
    const inFile = await run(
      "analyse",
      "--fill",
      fill,
      "--job",
      write("wrong.json", '{"tank": {"capacity_L": "much"}}'),
    );
    expect(inFile.err).toMatch(/^fillbook: wrong\.json: In the job, tank\.capacity_L should be a number/);
    const inSet = await run(
      ...["analyse", "--fill", fill, "--job", write("fine.json", "{}"), "--set", "tank.capacity_L=x"],
    );
    expect(inSet.err).toMatch(/^fillbook: --set: In the job, tank\.capacity_L/);
  });

  test("the analysis says how each thing is mended on the page and in a call, of what was computed and of what was not", async () => {
    const log = Array.from({ length: 900 }, (_, i) => `${i},${(1 + (i % 7) / 100).toFixed(2)}`).join("\n");
    const fill = write("unsure.csv", "volume,sender_V\n0,0.5\n4,1.1\n8,1.6\n6,2.0\n16,2.3\n");
    const drive = write("untimed.csv", `number,sender_V\n${log.replace(/^\d+,/gm, "x,")}\n`);
    const { out } = await run(
      "analyse",
      "--fill",
      fill,
      "--drive",
      drive,
      "--set",
      "fill.enteredAs=added",
      "--json",
      "-",
    );
    const analysis = JSON.parse(out);
    const mends = (list: { remedy: string | null; remedyOnCommandLine: string | null }[]) =>
      list.map((c) => [c.remedy, c.remedyOnCommandLine]);
    const noDrive = analysis.notComputed.find((c: { what: string }) => c.what === "driveLogs");
    expect(noDrive.remedy).toContain("under “Read it another way”");
    expect(noDrive.remedyOnCommandLine).toContain("--map time=COLUMN");
    for (const [page, call] of mends([...analysis.cautions, ...analysis.notComputed])) {
      expect(call === null).toBe(page === null);
      expect(page ?? "").not.toContain("--");
      expect(call ?? "").not.toContain("under “Read it another way”");
    }
    expect(analysis.cautions.length).toBeGreaterThan(0);
  });

  test("--set reaches every field, lists by number, and nothing outside the job", async () => {
    const fill = write("good.csv", goodSheet);
    const set = async (...settings: string[]) => {
      const done = await run("analyse", "--fill", fill, "--json", "-", ...settings.flatMap((s) => ["--set", s]));
      return done.code === 0 ? JSON.parse(done.out) : done;
    };
    const analysis = await set(
      "tank.capacity_L=20",
      "sender.kind=capacitive",
      'asFound.table=[{"reading_V":1,"volume_L":2}]',
      "asFound.table.0.volume_L=3",
    );
    expect(analysis.job.tank.capacity_L).toBe(20);
    expect(analysis.job.sender.kind).toBe("capacitive");
    expect(analysis.job.asFound.table).toEqual([{ reading: 1, volume_L: 3 }]);
    for (const bad of ["tank.capacity_L", "__proto__.x=1", "tank..x=1", "=1"]) expect((await set(bad)).code).toBe(2);
    expect(({} as Record<string, unknown>).x).toBeUndefined();
  });

  test("--map overrides what the reader decided, for one file or for all", async () => {
    const fill = write("odd.csv", "a,b,c\n0,9,0.5\n4,8,1.1\n8,9,1.6\n12,7,2.0\n16,9,2.3\n");
    const mapped = await run("analyse", "--fill", fill, "--map", "odd.csv:volume=a,reading=3", "--json", "-");
    const steps = JSON.parse(mapped.out).fillRuns[0].steps as { reading_V: number }[];
    expect(steps.map((s) => s.reading_V)).toEqual([0.5, 1.1, 1.6, 2, 2.3]);
    const missing = await run("analyse", "--fill", fill, "--map", "reading=sender");
    expect([missing.code, missing.err]).toEqual([
      1,
      "fillbook: odd.csv, line 1: there is no column “sender” for the reading; there are “a”, “b”, “c”. Name one of these, or its number from the left.\n",
    ]);
    expect((await run("analyse", "--fill", fill, "--map", "sender=b")).code).toBe(2);
    expect((await run("analyse", "--fill", fill, "--seed", "one")).code).toBe(2);
    expect((await run("analyse", "--fill", fill, "--colour", "red")).code).toBe(2);
  });

  test("several drive logs are taken together, and each stands in the analysis by itself", async () => {
    const lines = readFileSync(pathOf("fen-skiff", "drive.csv"), "utf8").split("\n");
    const calm = write("calm.csv", `${lines.slice(0, 9000).join("\n")}\n`);
    const drive = pathOf("fen-skiff", "drive.csv");
    const { code, out } = await run("analyse", ...fenArgs, "--drive", drive, "--drive", calm, "--json", "-");
    expect(code).toBe(0);
    const analysis = JSON.parse(out);
    expect(analysis.driveLogs.map((l: { file: string }) => l.file)).toEqual(["drive.csv", "calm.csv"]);
    expect(analysis.inputs).toHaveLength(3);
    expect(analysis.display.byLog.map((l: { file: string }) => l.file)).toEqual(["drive.csv", "calm.csv"]);
    expect(analysis.trial.byLog[analysis.trial.worstLog].file).toMatch(/^(drive|calm)\.csv$/);
  });

  test("--part counts a part of a drive log, by seconds from its start, and says so", async () => {
    const drive = pathOf("fen-skiff", "drive.csv");
    const part = await run("analyse", ...fenArgs, "--drive", drive, "--part", "drive.csv:300-1200", "--json", "-");
    const [log] = JSON.parse(part.out).driveLogs;
    expect([log.startsAt_s, Math.round(log.duration_s), Math.round(log.whole_s)]).toEqual([300, 900, 1800]);
    const short = await run("analyse", ...fenArgs, "--drive", drive, "--part", "100-104", "--quiet");
    expect(short.code).toBe(0);
    const said = await run("analyse", ...fenArgs, "--drive", drive, "--part", "100-104");
    expect(said.err).toContain("The part of drive.csv that was chosen, 100 s to 104 s, lasts 4.0 s");
    for (const bad of ["9-3", "a-b", "other.csv:1-2", "5"])
      expect((await run("analyse", ...fenArgs, "--drive", drive, "--part", bad)).code).toBe(2);
    expect((await run("analyse", ...fenArgs, "--part", "1-2")).code).toBe(2);
  });

  test("a drive log that cannot be used is told, and the fill run is analysed all the same", async () => {
    const drive = write("short.csv", "time_s,sender_V\n0,1\n1,1.1\n2,1.2\n");
    const { code, out, err } = await run("analyse", ...fenArgs, "--drive", drive);
    expect(code).toBe(0);
    expect(err).toMatch(/^fillbook: short\.csv: holds 3 usable rows|^fillbook: short\.csv holds 3 usable rows/);
    expect(out).toMatch(/^table: +\d+ rows/m);
  });

  test("a complaint needs a drive log and the table found in the device", async () => {
    const moor = (file: string) => pathOf("moor-runner", file);
    const found = await run("analyse", "--job", moor("job.json"), "--drive", moor("drive.csv"));
    expect(found.code).toBe(0);
    expect(found.out).toMatch(/^trial: .*As found it turned round/m);
    const nothing = await run("analyse", "--drive", moor("drive.csv"));
    expect([nothing.code, nothing.out]).toEqual([1, ""]);
    expect(nothing.err).toContain("no table that was found in the device");
  });

  test("a result that cannot be written is told in one line", async () => {
    const { code, err } = await run("analyse", ...fenArgs, "--json", join(folder, "no", "such", "folder.json"));
    expect(code).toBe(1);
    expect(err).toContain("cannot be written (ENOENT)");
  });
});

describe("check", () => {
  const bytes = new Uint8Array(readFileSync(pathOf("fen-skiff", "fill.csv")));
  const fill = sourceFile("fill.csv", "fill", bytes);
  const notebook: Notebook = {
    ...emptyNotebook,
    title: "Fen skiff",
    job: JSON.parse(readFileSync(pathOf("fen-skiff", "job.json"), "utf8")),
    fills: [fill],
  };
  const issue = (n: Notebook, settings: unknown) =>
    apply(n, { edit: "hand over", settings }, "2026-11-25T10:00:00.000Z");
  const settingsNow = () => {
    const { settings } = runExample("fen-skiff", (s) => ({ ...s, files: { ...s.files, drives: [] } })).answers;
    if (settings.state !== "ready") throw new Error("settings are there without a drive");
    return settings.value;
  };

  test("a sound notebook is analysed like its files", async () => {
    const path = write("fen.fillbook.json", writeNotebook(notebook));
    const checked = await run("check", path);
    expect([checked.code, checked.err]).toEqual([0, ""]);
    expect(checked.out).toContain("a sound notebook, 1 fill or drain run, 0 drive logs.");
    const fromBook = await run("analyse", path, "--json", "-");
    const fromFiles = await run("analyse", ...fenArgs, "--json", "-");
    expect(JSON.parse(fromBook.out)).toEqual(JSON.parse(fromFiles.out));
  });

  test("settings handed over that the data still give: exit 0; one digit changed: exit 1 and the path of it", async () => {
    const settings = settingsNow();
    const same = await run("check", write("same.json", writeNotebook(issue(notebook, settings))));
    expect([same.code, same.out]).toEqual([0, expect.stringContaining("are what the data give now")]);
    const table = settings.table.map((r, i) => (i === 1 ? { ...r, volume: r.volume + 0.1 } : r));
    const other = await run("check", write("other.json", writeNotebook(issue(notebook, { ...settings, table }))));
    expect(other.code).toBe(1);
    expect(other.out).toMatch(/ {2}settings\.table\.1\.volume: [\d.]+ then, [\d.]+ now/);
    expect(other.out.match(/ then, /g)).toHaveLength(1);
  });

  test("a drive log that is named by its hash is asked for, taken when brought, and refused when it is another", async () => {
    const driveBytes = new Uint8Array(readFileSync(pathOf("fen-skiff", "drive.csv")));
    const { sha256 } = sourceFile("drive.csv", "drive", driveBytes);
    const withDrive: Notebook = { ...notebook, drives: [{ name: "drive.csv", sha256, bytes: driveBytes.length }] };
    const { settings } = runExample("fen-skiff").answers;
    if (settings.state !== "ready") throw new Error("settings are there");
    const path = write("drive.json", writeNotebook(issue(withDrive, settings.value)));
    const without = await run("check", path);
    expect(without.code).toBe(0);
    expect(without.out).toContain("Bring it with --drive.");
    expect(without.out).toContain("cannot be said without that log");
    const brought = await run("check", path, "--drive", pathOf("fen-skiff", "drive.csv"));
    expect([brought.code, brought.out]).toEqual([0, expect.stringContaining("are what the data give now")]);
    expect((await run("check", path, "--drive", pathOf("moor-runner", "drive.csv"))).code).toBe(1);
  });

  test("a notebook that is cut short, newer, or no notebook exits with 1 and says which", async () => {
    const text = writeNotebook(notebook);
    for (const [content, told] of [
      [text.slice(0, text.length >> 1), "cut short"],
      [text.replace('"version": 1', '"version": 99'), "newer version"],
      ["{}", "no notebook"],
      ["added_L,sender_V\n0,0.5\n", "no notebook file. Open a file that was saved here"],
      [text.replace(/"title": "[^"]*"/, '"title": 5'), "In the notebook file, title should be text, and is 5. Correct"],
    ] as const) {
      const { code, err } = await run("check", write("bad.json", content));
      expect(code).toBe(1);
      expect(err).toContain(told);
      expect(err.trim().split("\n")).toHaveLength(1);
    }
  });

  test("a fill run that was changed inside the notebook is told", async () => {
    const changed = { ...notebook, fills: [{ ...fill, bytes: bytes.slice(0, -8) }] };
    expect((await run("check", write("changed.json", writeNotebook(changed)))).err).toContain(
      "its SHA-256 no longer fits",
    );
  });
});

describe("example, selfcheck, usage", () => {
  test("example lists the jobs, and writes the files of one, byte for byte", async () => {
    const listed = await run("example");
    expect(
      listed.out
        .trim()
        .split("\n")
        .map((l) => l.split(":")[0])
        .sort(),
    ).toEqual([...exampleNames, ...complaintNames].sort());
    expect(listed.out).toMatch(/Invented/);
    const out = join(folder, "deep", "er");
    expect((await run("example", "fen-skiff", "--out", out)).code).toBe(0);
    for (const file of readdirSync(out))
      expect(readFileSync(join(out, file))).toEqual(readFileSync(pathOf("fen-skiff", file)));
    expect(readdirSync(out)).toEqual(expect.arrayContaining(["fill.csv", "drive.csv", "job.json"]));
  });

  test("selfcheck prints one line a check with its source, and exits with 0 when all hold", async () => {
    const { code, out } = await run("selfcheck");
    const lines = out.trim().split("\n");
    expect([code, lines.at(-1)]).toEqual([0, "all checks hold"]);
    for (const line of lines.slice(0, -1)) expect(line).toMatch(/^ok {3}.+ — .+ \[.+\]$/);
  });

  test("asked how it is used, it says so and is content", async () => {
    for (const word of ["help", "--help", "-h"]) {
      const { code, out, err } = await run(word);
      expect([code, err]).toEqual([0, ""]);
      expect(out).toContain("fillbook analyse [NOTEBOOK.json]");
    }
  });

  test("what is no command exits with 2 and shows how it is used", async () => {
    for (const args of [
      [],
      ["calibrate"],
      ["check"],
      ["check", "a", "b"],
      ["example", "nope"],
      ["example", "fen-skiff"],
      ["example", "--red"],
      ["selfcheck", "x"],
    ]) {
      const { code, out, err } = await run(...args);
      expect([code, out]).toEqual([2, ""]);
      expect(err).toContain("fillbook analyse [NOTEBOOK.json]");
    }
  });
});

describe("lineOf", () => {
  test("says file, line and column once, in front, whatever the sentence itself says", () => {
    const where = { file: "a.csv", row: 3, column: "sender_V" };
    expect(lineOf({ code: "x", says: "a.csv, line 3, sender_V: “?” is no number.", remedy: "Mend it.", where })).toBe(
      "a.csv, line 3, column sender_V: “?” is no number. Mend it.",
    );
    expect(lineOf({ code: "x", says: "a.csv: it is empty.", where: { file: "a.csv" } })).toBe("a.csv: it is empty.");
    expect(lineOf({ code: "x", says: "the file a.csv\nis odd.", where: { file: "a.csv", row: 2 } })).toBe(
      "line 2: the file a.csv is odd.",
    );
    expect(lineOf({ code: "x", says: "Nothing is there." })).toBe("Nothing is there.");
  });
});
