/** What a call of the command line gives: its options, files, job settings, columns and notebook, and the two ways in which they can be wrong. */
import { createHash } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { basename } from "node:path";
import { type ParseArgsConfig, parseArgs } from "node:util";
import type { Issue } from "../answer";
import type { Notebook } from "../notebook/notebook";
import type { Choices, ColumnRole, FileReading } from "../pipeline/choices";
import type { Sources } from "../pipeline/index";
import type { JobInput } from "../pipeline/job";
import type { SourceFile } from "../pipeline/recording";
import { published } from "../said";
import { namedTwice } from "./twice-named";

/** Wrong words in the call: exit 2. */
export class UsageError extends Error {}
/** Data that cannot be used: exit 1, one line. */
export class DataError extends Error {}

/** Options and the rest of the words; what the command does not know is wrong usage. */
export function optionsIn<const O extends NonNullable<ParseArgsConfig["options"]>>(args: string[], options: O) {
  try {
    return parseArgs({ args, options, allowPositionals: true, strict: true });
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error));
  }
}

/** Writes a result; a folder that is not there is told in one line. */
export function writeOut(path: string, text: string | Uint8Array): void {
  try {
    writeFileSync(path, text);
  } catch (error) {
    throw new DataError(
      `${path}: the file cannot be written (${(error as NodeJS.ErrnoException).code ?? "unknown"}). Check that the folder is there.`,
    );
  }
}

/** One line: file, line, column first, then what is wrong and what mends it; nothing of it twice. */
export function lineOf(issue: Issue): string {
  const { file, row, column } = issue.where ?? {};
  const says = published(issue.says);
  const lead = file && says.startsWith(file) ? /^(?:,[^:]*)?: /.exec(says.slice(file.length))?.[0] : undefined;
  const said = lead === undefined ? says : says.slice(file!.length + lead.length);
  const place = [
    file && (lead !== undefined || !said.includes(file)) ? file : null,
    row ? `line ${row}` : null,
    column && !said.includes(column) ? `column ${column}` : null,
  ].filter(Boolean);
  const remedy = issue.remedyOnCommandLine ?? issue.remedy;
  const line = `${place.length > 0 ? `${place.join(", ")}: ` : ""}${said}${remedy ? ` ${published(remedy)}` : ""}`;
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

export function sourceOf(path: string, kind: SourceFile["kind"]): SourceFile {
  const bytes = bytesOf(path);
  return { name: basename(path), kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
}

export function readJob(path: string): JobInput {
  const text = new TextDecoder().decode(bytesOf(path));
  let job: JobInput;
  try {
    job = JSON.parse(text) as JobInput;
  } catch (error) {
    throw new DataError(
      `${path}: this is no JSON (${error instanceof Error ? error.message : error}). Mend the file at that place.`,
    );
  }
  const twice = namedTwice(text);
  if (twice)
    throw new DataError(
      `${path}, line ${twice.line}: “${twice.path}” is stated a second time. Take one of the two out.`,
    );
  return job;
}

/** `path.in.job=value`; the value is JSON if it can be read as such, else text. */
export function withSetting(job: JobInput, setting: string): JobInput {
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
export function withMap(sources: Sources, map: string): Record<string, FileReading> {
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

/** `[FILE:]FROM-TO` in seconds from the log's start, TO left out for its end: for one drive log by its name, or for all. */
export function withPart(sources: Sources, part: string): Choices["driveParts"] {
  const named = sources.files.drives.find((f) => part.startsWith(`${f.name}:`));
  const range = /^(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)?$/.exec(named ? part.slice(named.name.length + 1) : part);
  const [from_s, to_s] = [Number(range?.[1]), range?.[2] === undefined ? null : Number(range[2])];
  if (!range || sources.files.drives.length === 0 || (to_s !== null && !(to_s > from_s)))
    throw new UsageError(`--part takes [FILE:]FROM-TO in seconds of a drive log given, got "${part}"`);
  const logs = named ? [named] : sources.files.drives;
  return {
    ...sources.choices.driveParts,
    ...Object.fromEntries(logs.map((f) => [f.sha256, { from_s, to_s }])),
  };
}

export async function openNotebook(path: string): Promise<Notebook> {
  const { openNotebookText } = await import("../notebook/file");
  const opened = openNotebookText(new TextDecoder().decode(bytesOf(path)), (bytes) =>
    createHash("sha256").update(bytes).digest("hex"),
  );
  if (opened.state !== "ready")
    throw new DataError(opened.state === "stuck" ? `${path}: ${lineOf(opened.issue)}` : path);
  for (const caution of opened.cautions) process.stderr.write(`fillbook: ${path}: ${lineOf(caution)}\n`);
  return opened.value;
}
