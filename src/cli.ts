/** Door 2, the command line: analyse, check, selfcheck, example. The same pipeline and the same numbers as the page. */
import { basename } from "node:path";
import { fileURLToPath } from "node:url";
import type { Issue } from "./answer";
import { check } from "./cli/check";
import { example } from "./cli/example";
import {
  DataError,
  lineOf,
  openNotebook,
  optionsIn,
  readJob,
  sourceOf,
  UsageError,
  withMap,
  withPart,
  withSetting,
  writeOut,
} from "./cli/given";
import { noChoices } from "./pipeline/choices";
import type { Sources } from "./pipeline/index";

const usage = `fillbook analyse [NOTEBOOK.json] [--job job.json] [--fill FILE.csv]... [--drain FILE.csv]... [--drive FILE.csv]...
                 [--map [FILE:]role=COLUMN,...]... [--part [FILE:]FROM-TO]... [--set path=value]... [--json OUT.json] [--table OUT.csv] [--report OUT.html] [--seed N] [--quiet]
fillbook check NOTEBOOK.json
fillbook selfcheck
fillbook example [NAME --out DIR]`;

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
      case "help":
      case "--help":
      case "-h":
        process.stdout.write(`${usage}\n`);
        return 0;
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
  part: { type: "string", multiple: true },
  set: { type: "string", multiple: true },
  json: { type: "string" },
  table: { type: "string" },
  report: { type: "string" },
  seed: { type: "string" },
  quiet: { type: "boolean" },
} as const;

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
  for (const part of values.part ?? [])
    sources = { ...sources, choices: { ...sources.choices, driveParts: withPart(sources, part) } };
  if (values.seed !== undefined) {
    const seed = Number(values.seed);
    if (values.seed.trim() === "" || !Number.isInteger(seed))
      throw new UsageError(`--seed takes a whole number, got "${values.seed}"`);
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
    if (asked && answer.state === "stuck" && answer.issue)
      throw new DataError(lineOf(withJobFile(answer.issue, values.job, values.set ?? [])));
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

/** What is wrong with a field of the job, with the place where it was written: the file, or the option that set it. */
function withJobFile(issue: Issue, job: string | undefined, settings: string[]): Issue {
  if (issue.code !== "job/invalid") return issue;
  const field = issue.where?.column ?? "";
  const set = settings.some((s) => field === s.split("=")[0] || field.startsWith(`${s.split("=")[0]}.`));
  const file = set ? "--set" : job && basename(job);
  return file ? { ...issue, where: { ...issue.where, file } } : issue;
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

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1])
  process.exitCode = await main(process.argv.slice(2));
