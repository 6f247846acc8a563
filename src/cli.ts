/** Door 2, the command line: analyse, check, selfcheck, example. The same pipeline and the same numbers as the page. */
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type ParseArgsConfig, parseArgs } from "node:util";
import type { Issue } from "./answer";
import type { Notebook } from "./notebook/notebook";
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
        if (rest.length > 0) throw new UsageError(`selfcheck takes nothing, got "${rest[0]}"`);
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
      process.stderr.write(`fillbook: ${error.message.replace(/\s*[\r\n]+\s*/g, " ")}\n`);
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

/** Options and the rest of the words; what the command does not know is wrong usage. */
function optionsIn<const O extends NonNullable<ParseArgsConfig["options"]>>(args: string[], options: O) {
  try {
    return parseArgs({ args, options, allowPositionals: true, strict: true });
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error));
  }
}

/** Writes a result; a folder that is not there is told in one line. */
function writeOut(path: string, text: string | Uint8Array): void {
  try {
    writeFileSync(path, text);
  } catch (error) {
    throw new DataError(
      `${path}: the file cannot be written (${(error as NodeJS.ErrnoException).code ?? "unknown"}). Check that the folder is there.`,
    );
  }
}

async function analyse(args: string[]): Promise<number> {
  const { values, positionals } = optionsIn(args, optionsOf);
  if (positionals.length > 1) throw new UsageError(`one notebook at most, got ${positionals.length}`);
  const progress = (text: string) => {
    if (process.stderr.isTTY && !values.quiet) process.stderr.write(`\r\x1b[K${text}`);
  };
  let sources: Sources = positionals[0]
    ? (await import("./notebook/file")).sourcesOf(await openNotebook(positionals[0]))
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
  if (all.length === 0 && positionals.length === 0)
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
    // Without a fill run the drive log is all there is.
    [sources.files.fills.length === 0 && sources.files.drives.length > 0, answers.driveLog],
  ];
  for (const [asked, answer] of given)
    if (asked && answer.state === "stuck" && answer.issue) throw new DataError(lineOf(answer.issue));
  // A drive log that cannot be used takes nothing from what the fill run gives, but it is not passed over in silence.
  if (answers.driveLog.state === "stuck" && sources.files.drives.length > 0 && !values.quiet)
    process.stderr.write(`fillbook: ${lineOf(answers.driveLog.issue)}\n`);
  const analysis = analysisOf(answers, all, sources.choices.seed);
  if (values.json === "-") {
    process.stdout.write(`${JSON.stringify(analysis, null, 1)}\n`);
  } else if (values.json) writeOut(values.json, `${JSON.stringify(analysis, null, 1)}\n`);
  if (values.table) {
    if (answers.table.state !== "ready")
      throw new DataError(`no table to write: ${answers.table.state === "stuck" ? lineOf(answers.table.issue) : ""}`);
    const { writeCsv } = await import("./csv");
    const t = answers.table.value;
    writeOut(
      values.table,
      `${writeCsv([[`reading_${t.readingUnit}`, `volume_${t.volumeUnit}`], ...t.rows.map((r) => [r.typedReading, r.typedVolume])])}\n`,
    );
  }
  if (values.report) {
    const { renderReport } = await import("./pipeline/report");
    writeOut(
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

/** One line: file, line, column first, then what is wrong and what mends it; nothing of it twice. */
export function lineOf(issue: Issue): string {
  const { file, row, column } = issue.where ?? {};
  const lead =
    file && issue.says.startsWith(file) ? /^(?:,[^:]*)?: /.exec(issue.says.slice(file.length))?.[0] : undefined;
  const said = lead === undefined ? issue.says : issue.says.slice(file!.length + lead.length);
  const place = [
    file && (lead !== undefined || !said.includes(file)) ? file : null,
    row ? `line ${row}` : null,
    column && !said.includes(column) ? `column ${column}` : null,
  ].filter(Boolean);
  const remedy = issue.remedyOnCommandLine ?? issue.remedy;
  const line = `${place.length > 0 ? `${place.join(", ")}: ` : ""}${said}${remedy ? ` ${remedy}` : ""}`;
  return line.replace(/\s*[\r\n]+\s*/g, " ");
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
  // A row of a list is named by its number: asFound.table.0.volume_L.
  const put = (node: unknown, [key, ...rest]: string[]): unknown => {
    const inside = typeof node === "object" && node !== null ? (node as Record<string, unknown>)[key!] : undefined;
    const next = rest.length === 0 ? value : put(inside, rest);
    if (Array.isArray(node)) return Object.assign([...node], { [key!]: next });
    return { ...(typeof node === "object" ? node : {}), [key!]: next };
  };
  return put(job, path) as JobInput;
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

async function openNotebook(path: string): Promise<Notebook> {
  const { openNotebookText } = await import("./notebook/file");
  const opened = openNotebookText(new TextDecoder().decode(bytesOf(path)), (bytes) =>
    createHash("sha256").update(bytes).digest("hex"),
  );
  if (opened.state !== "ready")
    throw new DataError(opened.state === "stuck" ? `${path}: ${lineOf(opened.issue)}` : path);
  for (const caution of opened.cautions) process.stderr.write(`fillbook: ${path}: ${lineOf(caution)}\n`);
  return opened.value;
}

async function check(args: string[]): Promise<number> {
  const { values, positionals } = optionsIn(args, { drive: { type: "string", multiple: true } });
  const [path] = positionals;
  if (!path || positionals.length !== 1) throw new UsageError("check takes one notebook");
  const notebook = await openNotebook(path);
  const { sourcesOf } = await import("./notebook/file");
  const { createPipeline, answersOf } = await import("./pipeline/index");
  const brought = (values.drive ?? []).map((f) => sourceOf(f, "drive"));
  const sources = sourcesOf(notebook, new Map(brought.map((f) => [f.sha256, f.bytes])));
  const lines = [
    `${path}: a sound notebook, ${counted(sources.files.fills.length, "fill or drain run")}, ${counted(notebook.drives.length, "drive log")}.`,
  ];
  const stranger = brought.find((f) => !notebook.drives.some((d) => d.sha256 === f.sha256));
  if (stranger)
    throw new DataError(
      `${stranger.name}: this notebook names no drive log with these bytes. Bring the log it was made with.`,
    );
  const missing = notebook.drives.filter((d) => !sources.files.drives.some((f) => f.sha256 === d.sha256));
  for (const drive of missing)
    lines.push(
      `The drive log ${drive.name} is named by its hash only; what stands on it is not recomputed. Bring it with --drive.`,
    );
  const answers = answersOf(createPipeline(sources));
  for (const [name, answer] of Object.entries(answers))
    if (answer.state === "stuck" && answer.issue.code.endsWith("/internal"))
      lines.push(`${name}: ${lineOf(answer.issue)}`);
  let differs = false;
  const { issued } = notebook;
  if (issued && missing.length > 0)
    lines.push("Whether the settings handed over still hold cannot be said without that log.");
  else if (issued) {
    const now = answers.settings.state === "ready" ? answers.settings.value : null;
    const changes = differences(withoutLines(issued.settings), withoutLines(now));
    differs = changes.length > 0;
    lines.push(
      differs
        ? `The settings handed over on ${issued.at} are not what the data give now:`
        : `The settings handed over on ${issued.at} are what the data give now.`,
      ...changes.map((c) => `  ${c}`),
    );
  }
  const reasons = new Map<string, string[]>();
  for (const [name, answer] of Object.entries(answers))
    if (answer.state === "stuck") reasons.set(answer.issue.says, [...(reasons.get(answer.issue.says) ?? []), name]);
  for (const [why, names] of reasons) lines.push(`Not computed: ${names.join(", ")}. ${why}`);
  process.stdout.write(`${lines.join("\n")}\n`);
  return differs ? 1 : 0;
}

const counted = (n: number, what: string) => `${n} ${what}${n === 1 ? "" : "s"}`;

/** The card's lines repeat the settings in words. */
function withoutLines(settings: unknown): unknown {
  if (typeof settings !== "object" || settings === null) return settings;
  const { lines: _lines, ...rest } = settings as Record<string, unknown>;
  return rest;
}

/** Each value that differs, with its path; what only one side has counts as well. */
function differences(before: unknown, now: unknown, path = "settings"): string[] {
  const isNode = (v: unknown): v is Record<string, unknown> => typeof v === "object" && v !== null;
  if (isNode(before) && isNode(now)) {
    const keys = [...new Set([...Object.keys(before), ...Object.keys(now)])];
    return keys.flatMap((k) => differences(before[k] ?? null, now[k] ?? null, `${path}.${k}`));
  }
  return before === now ? [] : [`${path}: ${JSON.stringify(before)} then, ${JSON.stringify(now)} now`];
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
  const { values, positionals } = optionsIn(args, { out: { type: "string" } });
  if (positionals.length > 1) throw new UsageError(`example takes one name, got ${positionals.length}`);
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
            .find((l) => l.trim() && !l.startsWith("#"))
            ?.replace(/[*`]/g, "") ?? ""
        }\n`,
      );
    return 0;
  }
  if (!names.includes(name)) throw new UsageError(`there is no example "${name}"; there are ${names.join(", ")}`);
  if (!values.out) throw new UsageError("example NAME needs --out DIR");
  try {
    mkdirSync(values.out, { recursive: true });
  } catch (error) {
    throw new DataError(`${values.out}: the folder cannot be made (${(error as NodeJS.ErrnoException).code}).`);
  }
  for (const file of readdirSync(join(datasets, name))) {
    writeOut(join(values.out, file), readFileSync(join(datasets, name, file)));
    process.stdout.write(`${join(values.out, file)}\n`);
  }
  return 0;
}

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1])
  process.exitCode = await main(process.argv.slice(2));
