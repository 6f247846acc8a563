/** Door 2, the command line: analyse, check, selfcheck, example. The same pipeline and the same numbers as the page. */
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import type { Issue } from "./answer";
import { type ColumnRole, type FileReading, noChoices } from "./pipeline/choices";
import type { Sources } from "./pipeline/index";
import type { JobInput } from "./pipeline/job";
import type { SourceFile } from "./pipeline/recording";

const usage = `fillbook analyse [NOTEBOOK.json] [--job job.json] [--fill FILE.csv]... [--drain FILE.csv]... [--drive FILE.csv]...
                 [--map [FILE:]role=COLUMN,...]... [--set path=value]... [--json OUT.json] [--table OUT.csv] [--report OUT.html] [--seed N] [--quiet]
fillbook check NOTEBOOK.json
fillbook selfcheck
fillbook example [NAME --out DIR]`;

/** Wrong words in the call: exit 2. */
class UsageError extends Error {}
/** Data that cannot be used: exit 1, one line. */
class DataError extends Error {}

const datasets = fileURLToPath(new URL("../datasets/", import.meta.url));

export async function main(args: string[]): Promise<number> {
  try {
    const [command, ...rest] = args;
    switch (command) {
      case "analyse":
        return await analyse(rest);
      case "check":
        return await check(rest);
      case "selfcheck":
        return await selfcheck();
      case "example":
        return example(rest);
      default:
        throw new UsageError(command ? `there is no command "${command}"` : "no command given");
    }
  } catch (error) {
    if (error instanceof UsageError) {
      process.stderr.write(`fillbook: ${error.message}\n${usage}\n`);
      return 2;
    }
    if (error instanceof DataError) {
      process.stderr.write(`fillbook: ${error.message.replace(/\s*\n\s*/g, " ")}\n`);
      return 1;
    }
    throw error;
  }
}

const optionsOf = {
  job: { type: "string" },
  fill: { type: "string", multiple: true },
  drain: { type: "string", multiple: true },
  drive: { type: "string", multiple: true },
  map: { type: "string", multiple: true },
  set: { type: "string", multiple: true },
  json: { type: "string" },
  table: { type: "string" },
  report: { type: "string" },
  seed: { type: "string" },
  quiet: { type: "boolean" },
} as const;

async function analyse(args: string[]): Promise<number> {
  let parsed: ReturnType<typeof parseArgs<{ options: typeof optionsOf; allowPositionals: true; args: string[] }>>;
  try {
    parsed = parseArgs({ args, options: optionsOf, allowPositionals: true });
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error));
  }
  const { values, positionals } = parsed;
  if (positionals.length > 1) throw new UsageError(`one notebook at most, got ${positionals.length}`);
  const progress = (text: string) => {
    if (process.stderr.isTTY && !values.quiet) process.stderr.write(`\r\x1b[K${text}`);
  };
  let sources: Sources = positionals[0]
    ? await notebookSources(positionals[0])
    : { job: {}, files: { fills: [], drives: [] }, readings: {}, choices: noChoices };
  if (values.job) sources = { ...sources, job: readJob(values.job) };
  for (const setting of values.set ?? []) sources = { ...sources, job: withSetting(sources.job, setting) };
  const fills = [
    ...(values.fill ?? []).map((f) => sourceOf(f, "fill")),
    ...(values.drain ?? []).map((f) => sourceOf(f, "drain")),
  ];
  const drives = (values.drive ?? []).map((f) => sourceOf(f, "drive"));
  sources = {
    ...sources,
    files: { fills: [...sources.files.fills, ...fills], drives: [...sources.files.drives, ...drives] },
  };
  for (const map of values.map ?? []) sources = { ...sources, readings: withMap(sources, map) };
  if (values.seed !== undefined) {
    const seed = Number(values.seed);
    if (!Number.isInteger(seed)) throw new UsageError(`--seed takes a whole number, got "${values.seed}"`);
    sources = { ...sources, choices: { ...sources.choices, seed } };
  }
  const all = [...sources.files.fills, ...sources.files.drives];
  if (all.length === 0)
    throw new UsageError("nothing to analyse: give a fill run, a notebook, or a drive log with the settings found");

  const [{ createPipeline, answersOf }, { analysisOf }] = await Promise.all([
    import("./pipeline/index"),
    import("./pipeline/analysis"),
  ]);
  const pipeline = createPipeline(sources);
  for (const [name, stage] of Object.entries(pipeline.stages)) {
    progress(`computing ${name} …`);
    stage.read();
  }
  progress("");
  const answers = answersOf(pipeline);
  const given: [boolean, { state: string; issue?: Issue }][] = [
    [true, answers.job],
    [sources.files.fills.length > 0, answers.fills],
    [sources.files.drives.length > 0, answers.drives],
    [sources.files.fills.length > 0, answers.fillRun],
    [sources.files.fills.length > 0, answers.curve],
  ];
  for (const [asked, answer] of given)
    if (asked && answer.state === "stuck" && answer.issue) throw new DataError(lineOf(answer.issue));
  const analysis = analysisOf(answers, all, sources.choices.seed);
  if (values.json === "-") {
    process.stdout.write(`${JSON.stringify(analysis, null, 1)}\n`);
  } else if (values.json) writeFileSync(values.json, `${JSON.stringify(analysis, null, 1)}\n`);
  if (values.table) {
    if (answers.table.state !== "ready")
      throw new DataError(`no table to write: ${answers.table.state === "stuck" ? lineOf(answers.table.issue) : ""}`);
    const { writeCsv } = await import("./csv");
    const t = answers.table.value;
    writeFileSync(
      values.table,
      `${writeCsv([[`reading_${t.readingUnit}`, `volume_${t.volumeUnit}`], ...t.rows.map((r) => [r.typedReading, r.typedVolume])])}\n`,
    );
  }
  if (values.report) {
    const { renderReport } = await import("./pipeline/report");
    writeFileSync(
      values.report,
      renderReport(answers, { files: all, choices: sources.choices, notebook: null, issuedAt: null }),
    );
  }
  if (values.json !== "-" && !values.quiet) {
    const { summaryLines } = await import("./pipeline/summary");
    process.stdout.write(`${summaryLines(answers).join("\n")}\n`);
  }
  return 0;
}

function lineOf(issue: Issue): string {
  const where = issue.where ?? {};
  const place = [
    where.file && !issue.says.includes(where.file) ? where.file : null,
    where.row && !issue.says.includes(`line ${where.row}`) ? `line ${where.row}` : null,
    where.column && !issue.says.includes(where.column) ? `column ${where.column}` : null,
  ]
    .filter(Boolean)
    .join(", ");
  return `${place ? `${place}: ` : ""}${issue.says}${issue.remedy ? ` ${issue.remedy}` : ""}`;
}

function bytesOf(path: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(path));
  } catch (error) {
    throw new DataError(
      `${path}: the file cannot be read (${(error as NodeJS.ErrnoException).code ?? "unknown"}). Check the path.`,
    );
  }
}

function sourceOf(path: string, kind: SourceFile["kind"]): SourceFile {
  const bytes = bytesOf(path);
  return { name: basename(path), kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
}

function readJob(path: string): JobInput {
  try {
    return JSON.parse(new TextDecoder().decode(bytesOf(path))) as JobInput;
  } catch (error) {
    if (error instanceof DataError) throw error;
    throw new DataError(
      `${path}: this is no JSON (${error instanceof Error ? error.message : error}). Mend the file at that place.`,
    );
  }
}

/** `path.in.job=value`; the value is JSON if it can be read as such, else text. */
function withSetting(job: JobInput, setting: string): JobInput {
  const at = setting.indexOf("=");
  if (at < 1) throw new UsageError(`--set takes path=value, got "${setting}"`);
  const path = setting.slice(0, at).split(".");
  if (path.some((p) => p === "__proto__" || p === "constructor" || p === "prototype" || p === ""))
    throw new UsageError(`--set cannot set "${setting.slice(0, at)}"`);
  const raw = setting.slice(at + 1);
  let value: unknown = raw;
  try {
    value = JSON.parse(raw);
  } catch {
    value = raw;
  }
  const put = (object: Record<string, unknown>, [key, ...rest]: string[]): Record<string, unknown> => ({
    ...object,
    [key!]: rest.length === 0 ? value : put((object[key!] as Record<string, unknown>) ?? {}, rest),
  });
  return put(job as Record<string, unknown>, path) as JobInput;
}

const roles: ColumnRole[] = ["volume", "reading", "time", "across", "along", "speed", "flow", "supply", "marker"];

/** `[FILE:]role=COLUMN,…`: for one file by its name, or for all. */
function withMap(sources: Sources, map: string): Record<string, FileReading> {
  const files = [...sources.files.fills, ...sources.files.drives];
  const named = files.find((f) => map.startsWith(`${f.name}:`));
  const body = named ? map.slice(named.name.length + 1) : map;
  const columns: Partial<Record<ColumnRole, string>> = {};
  for (const pair of body.split(",")) {
    const at = pair.indexOf("=");
    const role = pair.slice(0, at) as ColumnRole;
    if (at < 1 || !roles.includes(role))
      throw new UsageError(`--map takes role=COLUMN with a role of ${roles.join(", ")}; got "${pair}"`);
    columns[role] = pair.slice(at + 1);
  }
  const readings = { ...sources.readings };
  for (const f of named ? [named] : files)
    readings[f.sha256] = { ...readings[f.sha256], columns: { ...readings[f.sha256]?.columns, ...columns } };
  return readings;
}

async function notebookSources(path: string): Promise<Sources> {
  const { openNotebookText, sourcesOf } = await import("./notebook/file");
  const opened = openNotebookText(new TextDecoder().decode(bytesOf(path)));
  if (opened.state !== "ready")
    throw new DataError(opened.state === "stuck" ? `${path}: ${lineOf(opened.issue)}` : path);
  return sourcesOf(opened.value);
}

async function check(args: string[]): Promise<number> {
  const path = args[0];
  if (!path || args.length !== 1) throw new UsageError("check takes one notebook");
  const { openNotebookText, sourcesOf } = await import("./notebook/file");
  const opened = openNotebookText(new TextDecoder().decode(bytesOf(path)));
  if (opened.state !== "ready")
    throw new DataError(opened.state === "stuck" ? `${path}: ${lineOf(opened.issue)}` : path);
  const [{ createPipeline, answersOf }, { analysisOf }] = await Promise.all([
    import("./pipeline/index"),
    import("./pipeline/analysis"),
  ]);
  const sources = sourcesOf(opened.value);
  const answers = answersOf(createPipeline(sources));
  const analysis = analysisOf(answers, [...sources.files.fills, ...sources.files.drives], sources.choices.seed);
  const issued = opened.value.issued;
  const lines = [
    `${path}: a sound notebook, ${sources.files.fills.length} fill and drain files, ${opened.value.drives.length} drive logs.`,
  ];
  for (const missing of opened.value.drives.filter((d) => !sources.files.drives.some((f) => f.sha256 === d.sha256)))
    lines.push(`The drive log ${missing.name} is named by its hash only; what stands on it is not recomputed here.`);
  let differs = false;
  if (issued) {
    const now = JSON.stringify(analysis.settings ?? null);
    differs = now !== JSON.stringify(issued.settings ?? null);
    lines.push(
      differs
        ? "The settings that were handed over differ from what the data give now."
        : "The settings that were handed over are what the data give now.",
    );
  }
  for (const n of analysis.notComputed as { what: string; why: string }[])
    lines.push(`Not computed: ${n.what}. ${n.why}`);
  process.stdout.write(`${lines.join("\n")}\n`);
  return differs ? 1 : 0;
}

async function selfcheck(): Promise<number> {
  const { runSelfcheck } = await import("./selfcheck/index");
  let failed = 0;
  for (const r of runSelfcheck()) {
    if (!r.passed) failed++;
    process.stdout.write(`${r.passed ? "ok  " : "FAIL"} ${r.title} — ${r.detail} [${r.source}]\n`);
  }
  process.stdout.write(failed ? `${failed} checks failed\n` : "all checks hold\n");
  return failed ? 1 : 0;
}

function example(args: string[]): number {
  const { values, positionals } = parseArgs({ args, options: { out: { type: "string" } }, allowPositionals: true });
  const names = readdirSync(datasets, { withFileTypes: true })
    .filter((d) => d.isDirectory() && d.name !== "world")
    .map((d) => d.name);
  const name = positionals[0];
  if (!name) {
    for (const n of names)
      process.stdout.write(
        `${n}: ${
          readFileSync(join(datasets, n, "about.md"), "utf8")
            .split("\n")
            .find((l) => l.trim() && !l.startsWith("#")) ?? ""
        }\n`,
      );
    return 0;
  }
  if (!names.includes(name)) throw new UsageError(`there is no example "${name}"; there are ${names.join(", ")}`);
  if (!values.out) throw new UsageError("example NAME needs --out DIR");
  mkdirSync(values.out, { recursive: true });
  for (const file of readdirSync(join(datasets, name))) {
    writeFileSync(join(values.out, file), readFileSync(join(datasets, name, file)));
    process.stdout.write(`${join(values.out, file)}\n`);
  }
  return 0;
}

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1])
  process.exitCode = await main(process.argv.slice(2));
